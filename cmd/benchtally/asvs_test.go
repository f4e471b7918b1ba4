package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// sources reads every Go file of the repository, by its name.
func sources(t *testing.T, tests bool) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir("../..", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(name) != ".go" || strings.HasSuffix(name, "_test.go") != tests {
			return err
		}
		text, err := os.ReadFile(name)
		out[name] = string(text)
		return err
	}))
	return out
}

// The list of what the ASVS asks names tests; each of them is there, and every
// row has one or says why not.
func TestTheTestsOfTheASVSAreThere(t *testing.T) {
	list, err := os.ReadFile("../../testdata/trust/asvs.md")
	require.NoError(t, err)
	there := map[string]bool{}
	for _, text := range sources(t, true) {
		for _, m := range regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`).FindAllStringSubmatch(text, -1) {
			there[m[1]] = true
		}
	}
	rows := regexp.MustCompile(`(?m)^\| (\d+\.\d+\.\d+) \| .+ \| .+ \| (.+) \|$`).FindAllStringSubmatch(string(list), -1)
	require.Equal(t, strings.Count(string(list), "\n| 1")+strings.Count(string(list), "\n| 3")+strings.Count(string(list), "\n| 5"), len(rows), "a row that cannot be read")
	for _, row := range rows {
		if row[2] == "–" {
			assert.Regexp(t, `nothing of the kind|not done|constants|of its own`, row[0])
			continue
		}
		for _, name := range strings.Split(row[2], ", ") {
			assert.True(t, there[name], "%s names %s, and there is no such test", row[1], name)
		}
	}
}

// Nothing that anybody sends makes the server ask another one, with the one
// exception that it answers for its name on the shop's network.
func TestTheServerAsksNobody(t *testing.T) {
	asks := regexp.MustCompile(`http\.(Get|Post|PostForm|Head|DefaultClient|NewRequest\w*|Client\{)|net\.(Dial\w*|Dialer)|tls\.Dial|smtp\.`)
	allowed := map[string]string{
		"../../cmd/benchtally/network.go": `net.Dial("udp4", "203.0.113.1:9")`, // nothing is sent, see there
	}
	for name, text := range sources(t, false) {
		text = strings.ReplaceAll(text, allowed[name], "")
		assert.Empty(t, asks.FindAllString(text, -1), name)
	}
}
