package main

import (
	"encoding/json"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
)

// smallDisk is a disk of so many kilobytes, as the folder it is mounted on.
func smallDisk(t *testing.T, kilobytes string) string {
	t.Helper()
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+kilobytes+"k", "tmpfs", dir).CombinedOutput(); err != nil {
		shoptest.SkipOrFail(t, "only root may mount a small disk: "+string(out))
	}
	t.Cleanup(func() { exec.Command("umount", "-l", dir).Run() })
	return dir
}

// conditions are the codes of what is wrong, as a program reads them.
func (p *process) conditions(token string) (codes []string) {
	p.Helper()
	req, err := http.NewRequest("GET", p.address+"/api/v1/floor", nil)
	require.NoError(p, err)
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := http.DefaultClient.Do(req)
	require.NoError(p, err)
	defer resp.Body.Close()
	require.Equal(p, http.StatusOK, resp.StatusCode, "what is known can still be read")
	var floor struct{ Conditions []struct{ Code string } }
	require.NoError(p, json.NewDecoder(resp.Body).Decode(&floor))
	for _, c := range floor.Conditions {
		codes = append(codes, c.Code)
	}
	return codes
}

// A disk that is full is said, loses nothing, and is done with as soon as
// there is room, without anybody scanning for it.
func TestDiskFull(t *testing.T) {
	disk := smallDisk(t, "8192")
	db := filepath.Join(disk, "shop.db")
	fine(t, "import", "-db", db, "-job", "Tern Point benches", write(t, "list.csv", "qty,part,length,width,thickness,material\n64,Shelf,30,10,3/4,white oak\n"))
	c := crewOf(t, db, 8)
	token := c.members[0].token
	p := launches(t, program(t), "serve", "-db", db, "-addr", "127.0.0.1:0", "-name=")
	require.Empty(t, p.conditions(token))
	filler := filepath.Join(disk, "filler")
	fillDisk(t, filler, 200<<10)

	stop, over := make(chan struct{}), make(chan struct{})
	go func() { c.work(p.address, stop); close(over) }()
	require.Eventually(t, func() bool { return len(p.conditions(token)) > 0 }, time.Minute, 20*time.Millisecond)
	require.Equal(t, []string{"disk-full"}, p.conditions(token))
	time.Sleep(500 * time.Millisecond) // they keep trying
	require.Equal(t, []string{"disk-full"}, p.conditions(token))
	close(stop)
	<-over
	c.nothingRefused(t)
	acked := c.onceEach(t, db)
	require.Positive(t, acked)

	require.NoError(t, os.Remove(filler))
	require.Eventually(t, func() bool { return len(p.conditions(token)) == 0 }, 30*time.Second, 100*time.Millisecond, "there is room again")
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(t, p.ends(), "%s", p.stderr)
	require.Contains(t, fine(t, "check", "-db", db), " 0 differences.")
	c.finishes(t, program(t), db)
}

// fillDisk leaves so many bytes free.
func fillDisk(t *testing.T, file string, free int64) {
	t.Helper()
	var disk syscall.Statfs_t
	require.NoError(t, syscall.Statfs(filepath.Dir(file), &disk))
	require.NoError(t, os.WriteFile(file, make([]byte, int64(disk.Bavail)*disk.Bsize-free), 0o644))
}

func TestReadOnlyDisk(t *testing.T) {
	disk := smallDisk(t, "8192")
	db := filepath.Join(disk, "shop.db")
	fine(t, "import", "-db", db, "-job", "Tern Point benches", write(t, "list.csv", shoptest.FramesList))
	require.NoError(t, exec.Command("mount", "-o", "remount,ro", disk).Run())
	s := runs(t, "serve", "-db", db, "-addr", "127.0.0.1:0")
	require.Equal(t, exitProblem, s.code)
	require.Contains(t, s.err, "The shop's file cannot be written: it or its disk is read-only.")
}
