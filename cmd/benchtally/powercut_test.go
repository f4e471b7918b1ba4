package main

import (
	"encoding/json"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// A kill loses nothing that the system was given, so a power cut is played:
// every write, sync and answer of the real server is recorded in its order,
// cut at a random moment, and what no sync had covered by then is kept or lost
// at random. What is left must open, be sound, and hold every scan that was
// answered before the cut.
func TestPowerCut(t *testing.T) {
	cuts, random := seeds(t, 40, 200)
	r := record(t, program(t))
	for n := range cuts {
		left := r.cut(t, random(n))
		require.Empty(t, left.missing, "cut %d: acknowledged scans are lost", n)
		require.False(t, left.told, "cut %d: a power cut is no damage", n)
	}
}

// The same test finds the scans that are lost when a commit is not synced: it
// is played with a program that differs in this one word. The word is changed
// in a copy that only the compiler sees, so the product has no way to set it.
func TestPowerCutIsARealTest(t *testing.T) {
	const full, normal = "_synchronous=FULL", "_synchronous=NORMAL"
	file, err := filepath.Abs("../../parts/store/store.go")
	require.NoError(t, err)
	source, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, 1, strings.Count(string(source), full))
	overlay, err := json.Marshal(map[string]any{"Replace": map[string]string{file: write(t, "store.go", strings.Replace(string(source), full, normal, 1))}})
	require.NoError(t, err)

	cuts, random := seeds(t, 20, 20)
	r := record(t, program(t, "-overlay", write(t, "overlay.json", string(overlay))))
	lossy, n := 0, 0
	for ; n < cuts && lossy < 3; n++ {
		if left := r.cut(t, random(n)); left.told || len(left.missing) > 0 {
			lossy++
		}
	}
	t.Logf("without the sync %d of %d cuts lose scans", lossy, n)
	require.Equal(t, 3, lossy)
}

// recording is what a server did to its files, and what it answered.
type recording struct {
	db     string
	before map[string][]byte // the files at the start, by name
	calls  []call
	acks   []ack
}

// ack is an answer that left the server before call number at.
type ack struct {
	id parts.CommandID
	at int
}

// record runs the server under load with its system calls recorded, and lets
// it stop in good order, so that the last checkpoint is in the record too.
func record(t *testing.T, bin string) *recording {
	t.Helper()
	if _, err := exec.LookPath("strace"); err != nil {
		shoptest.SkipOrFail(t, "strace (Debian: strace) records the server's writes")
	}
	db := largeShop(t, 600)
	c := crewOf(t, db, clients)
	r := &recording{db: db, before: map[string][]byte{}}
	entries, err := os.ReadDir(filepath.Dir(db))
	require.NoError(t, err)
	for _, e := range entries {
		r.before[e.Name()], err = os.ReadFile(filepath.Join(filepath.Dir(db), e.Name()))
		require.NoError(t, err)
	}
	trace := filepath.Join(t.TempDir(), "trace")
	// -D: the server stays the test's own process, and the tracer stands beside it.
	p := launches(t, "strace", "-D", "-f", "--seccomp-bpf", "-qq", "-yy", "-xx", "-s", "2000000", "-o", trace, "-e", "signal=none",
		"-e", "trace=openat,write,pwrite64,fsync,fdatasync,ftruncate,unlink,unlinkat,rename,renameat,renameat2",
		bin, "serve", "-db", db, "-addr", "127.0.0.1:0", "-name=")
	stop := make(chan struct{})
	time.AfterFunc(2500*time.Millisecond, func() { close(stop) })
	c.work(p.address, stop)
	require.NoError(t, p.cmd.Process.Signal(syscall.SIGTERM))
	require.NoError(t, p.ends(), "%s", p.stderr)
	c.nothingRefused(t)
	r.calls = readTrace(t, trace, filepath.Dir(db))
	r.findAcks(c.all())
	t.Logf("%d calls, %d answers to %d deeds", len(r.calls), len(r.acks), len(c.all()))
	require.Greater(t, len(r.acks), 300, "enough was answered to lose some of it")
	require.Equal(t, len(c.all()), len(r.acks), "every answer is in the record")

	return r
}

// findAcks finds the answers to deeds among the writes to sockets.
func (r *recording) findAcks(sent map[parts.CommandID]*sending) {
	for i, c := range r.calls {
		if c.kind != "answer" {
			continue
		}
		for _, m := range commandInAnswer.FindAllStringSubmatch(string(c.data), -1) {
			id, err := parts.ParseCommandID(m[1])
			if _, ours := sent[id]; err == nil && ours {
				r.acks = append(r.acks, ack{id, i})
			}
		}
	}
}

// remains is what a power cut left.
type remains struct {
	missing []parts.CommandID // answered, and not there
	acked   int
	told    bool // the file is said to be damaged; then nothing was looked for
}

// cut cuts the power at a random call after the first answer, opens what is
// left, and looks for what was answered before.
func (r *recording) cut(t *testing.T, random *rand.Rand) remains {
	t.Helper()
	at := r.acks[0].at + 1 + random.IntN(len(r.calls)-r.acks[0].at)
	dir := t.TempDir()
	defer os.RemoveAll(dir)
	for name, data := range r.diskAt(at, random) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), data, 0o644))
	}
	db := filepath.Join(dir, filepath.Base(r.db))
	var left remains
	checked := runs(t, "check", "-db", db)
	if left.told = strings.Contains(checked.err, " is damaged"); left.told {
		return left
	}
	require.Contains(t, checked.out, " 0 differences.", "cut before call %d: %s", at, checked.err)
	recorded := recordedIn(t, db)
	for _, a := range r.acks {
		if a.at >= at {
			break
		}
		left.acked++
		require.LessOrEqual(t, recorded[a.id], 1)
		if recorded[a.id] == 0 {
			left.missing = append(left.missing, a.id)
		}
	}
	return left
}
