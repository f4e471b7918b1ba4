package static

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The folders that hold nothing but the work of others.
var foreign = []string{"labels/fonts", "static/scan/zxing", "static/uplot", "testdata/axe", "testdata/openapi"}

// beside are the files that say what the others are.
var beside = regexp.MustCompile(`^(LICENSE.*|README\.txt)$`)

// Each file of others is as it was published, and has its licence beside it.
func TestTheWorkOfOthersIsListed(t *testing.T) {
	listed := map[string]string{}
	row := regexp.MustCompile(`(?m)^\| (\S+) \| .+ \| .+ \| (.+) \| ([0-9a-f]{64}) \|$`)
	for _, m := range row.FindAllStringSubmatch(ThirdParty(), -1) {
		listed[m[1]] = m[3]
		for _, licence := range strings.Split(m[2], ", ") {
			near := filepath.Join("..", licence)
			if !strings.Contains(licence, "/") && licence != "LICENSE" {
				near = filepath.Join("..", filepath.Dir(m[1]), licence)
			}
			assert.FileExists(t, near)
		}
	}
	for _, dir := range foreign {
		files, err := os.ReadDir(filepath.Join("..", dir))
		require.NoError(t, err)
		for _, f := range files {
			name := dir + "/" + f.Name()
			if beside.MatchString(f.Name()) {
				continue
			}
			data, err := os.ReadFile(filepath.Join("..", name))
			require.NoError(t, err)
			sum := sha256.Sum256(data)
			assert.Equal(t, hex.EncodeToString(sum[:]), listed[name], "%s: list it in THIRD_PARTY.md with its licence", name)
			delete(listed, name)
		}
	}
	assert.Empty(t, listed, "listed, and not there")
}

// Every module that is linked into the program is listed, and no other.
func TestTheModulesAreListed(t *testing.T) {
	cmd := exec.Command("go", "list", "-deps", "-f", "{{with .Module}}{{.Path}}{{end}}", "benchtally/cmd/benchtally")
	cmd.Stderr = t.Output()
	out, err := cmd.Output()
	require.NoError(t, err)
	linked := map[string]bool{}
	for lines := bufio.NewScanner(bytes.NewReader(out)); lines.Scan(); {
		if lines.Text() != "" && lines.Text() != "benchtally" {
			linked[lines.Text()] = true
		}
	}
	require.Greater(t, len(linked), 20)
	listed := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^\| (\S+) \| (MIT|ISC|Apache-2\.0|BSD-[23]-Clause|MPL-2\.0) \|$`).FindAllStringSubmatch(ThirdParty(), -1) {
		listed[m[1]] = true
	}
	assert.Equal(t, linked, listed, "put the module and its licence into THIRD_PARTY.md, or take it out")
}

func TestTheLicencesAreInTheProgram(t *testing.T) {
	all, err := Licences()
	require.NoError(t, err)
	assert.Contains(t, all["uplot/LICENSE"], "MIT")
	assert.Contains(t, all["scan/zxing/LICENSE-core.txt"], "Apache License")
	assert.Contains(t, all["scan/zxing/LICENSE.txt"], "MIT License")
}
