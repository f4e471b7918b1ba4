package main

import (
	"bufio"
	"bytes"
	"debug/elf"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
)

// releaseLine is the line of the README that builds the program.
func releaseLine(t *testing.T) string {
	t.Helper()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	line := regexp.MustCompile(`(?m)^ +(CGO_ENABLED=1 go build .*)$`).FindSubmatch(readme)
	require.NotNil(t, line, "the README says how the program is built")
	return string(line[1])
}

// The program that is built as the README says is one file that needs no
// other: it starts where there is nothing else, and answers.
func TestTheReleaseIsOneFileThatStarts(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the release is for Linux")
	}
	if !shoptest.All() {
		t.Skip("set BENCHTALLY_TEST_ALL=1: it builds SQLite again, which takes minutes")
	}
	program := filepath.Join(t.TempDir(), "benchtally")
	line := strings.Replace(releaseLine(t), "-o benchtally ", "-o "+program+" ", 1)
	require.Contains(t, line, program)
	build := exec.Command("sh", "-c", line)
	build.Dir = "../.."
	out, err := build.CombinedOutput()
	require.NoError(t, err, string(out))
	assert.NotContains(t, string(out), "warning", "nothing in it asks for a library of the machine it was built on")

	file, err := elf.Open(program)
	require.NoError(t, err)
	defer file.Close()
	libraries, err := file.ImportedLibraries()
	require.NoError(t, err)
	assert.Empty(t, libraries, "it is static")
	assert.Nil(t, file.Section(".interp"), "no loader is asked for")

	info, err := os.Stat(program)
	require.NoError(t, err)
	t.Logf("%.1f MB", float64(info.Size())/(1<<20))
	startsAlone(t, program)
}

// startsAlone runs the demo of a program in an empty folder, without anything
// of this computer in its surroundings, and opens a page.
func startsAlone(t *testing.T, program string) {
	run := exec.Command(program, "demo", "-addr", "127.0.0.1:0")
	run.Dir, run.Env = t.TempDir(), []string{"HOME=" + t.TempDir()}
	var log bytes.Buffer
	run.Stderr = &log
	told, err := run.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, run.Start())
	late := time.AfterFunc(2*time.Minute, func() { run.Process.Kill() })
	defer late.Stop()
	lines, at := bufio.NewScanner(told), ""
	for at == "" && lines.Scan() {
		at = regexp.MustCompile(`http://127\.0\.0\.1:\d+`).FindString(lines.Text())
	}
	if at == "" {
		run.Wait() // the log is whole then
		t.Fatalf("it did not say where it is: %s", log.String())
	}
	go io.Copy(io.Discard, told)
	for _, path := range []string{"/", "/healthz"} {
		res, err := http.Get(at + path)
		require.NoError(t, err)
		res.Body.Close()
		assert.Equal(t, 200, res.StatusCode, path)
	}
	require.NoError(t, run.Process.Signal(os.Interrupt))
	err = run.Wait()
	assert.NoError(t, err, log.String())
}

// The line of the README's unit is one that the program understands.
func TestTheUnitStartsWhatThereIs(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	line := regexp.MustCompile(`ExecStart=\S+/benchtally serve (.*)`).FindSubmatch(readme)
	require.NotNil(t, line)
	help := fine(t, "serve", "-h")
	for _, flag := range regexp.MustCompile(`(?:^| )(-[a-z-]+)`).FindAllStringSubmatch(string(line[1]), -1) {
		assert.Contains(t, help, "  "+flag[1]+" ")
	}
	if verify, err := exec.LookPath("systemd-analyze"); err == nil {
		unit := filepath.Join(t.TempDir(), "benchtally.service")
		text := regexp.MustCompile(`(?ms)^    \[Unit\]$.*?multi-user\.target$`).Find(readme)
		text = regexp.MustCompile(`(?m)^    `).ReplaceAll(text, nil)
		text = regexp.MustCompile(`/usr/local/bin/benchtally`).ReplaceAll(text, []byte("/bin/true"))
		require.NoError(t, os.WriteFile(unit, text, 0o644))
		out, _ := exec.Command(verify, "verify", unit).CombinedOutput()
		assert.NotContains(t, string(out), "Unknown", "systemd knows each line")
	}
}
