package main

import (
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

func TestBackupAndRestore(t *testing.T) {
	db := newShop(t)
	copied := filepath.Join(t.TempDir(), "monday.db")
	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-db", db)
	require.Equal(t, copied+": 16 marks, 16 events, checked.\n", fine(t, "backup", "-db", db, "-out", copied), "while the server runs")
	again := runs(t, "backup", "-db", db, "-out", copied)
	require.Equal(t, exitProblem, again.code)
	require.Contains(t, again.err, "There is a file "+copied+" already.")
	refused := runs(t, "restore", "-db", db, "-from", copied, "-replace")
	require.Equal(t, exitProblem, refused.code)
	require.Contains(t, refused.err, "The server is running")
	r.stops()

	fine(t, "import", "-db", db, "-job", "Bench backs", write(t, "list.csv", shoptest.FramesList))
	refused = runs(t, "restore", "-db", db, "-from", copied)
	require.Equal(t, exitProblem, refused.code)
	require.Contains(t, refused.err, "Say -replace")
	said := fine(t, "restore", "-db", db, "-from", copied, "-replace")
	require.Contains(t, said, db+" is as it was in "+copied+": 16 marks, 16 events, checked.\n")
	require.Contains(t, said, "whoever was taken out since is in again")
	require.Contains(t, said, "The file that was there is now "+db+".before-restore-")
	require.Equal(t, "All is well: 16 marks, 16 events, 0 differences.\n", fine(t, "check", "-db", db))
	require.Contains(t, fine(t, "restore", "-db", filepath.Join(t.TempDir(), "new.db"), "-from", copied), "16 events, checked.\n")
}

func TestADamagedFileIsSaid(t *testing.T) {
	db := newShop(t)
	data, err := os.ReadFile(db)
	require.NoError(t, err)
	for name, spoilt := range map[string][]byte{"half": data[:len(data)/2], "no head": append(make([]byte, 100), data[100:]...), "noise": []byte(strings.Repeat("oak ", 4096))} {
		t.Run(name, func(t *testing.T) {
			file := write(t, "shop.db", string(spoilt))
			for _, command := range [][]string{{"check"}, {"serve", "-addr", "127.0.0.1:0"}} {
				s := runs(t, append(command, "-db", file)...)
				require.Equal(t, exitProblem, s.code)
				require.Contains(t, s.err, "damaged")
				require.Contains(t, s.err, "backup")
			}
			whole, err := os.ReadFile(file)
			require.NoError(t, err)
			require.Equal(t, string(spoilt), string(whole), "nothing more was written into it")
		})
	}
}

// A disk that changes the file under a running server: what lies in such a page
// is not shown, and what is said of the shop is why.
func TestADamagedPageIsNotServed(t *testing.T) {
	db := newShop(t)
	b, err := bench.Open(t.Context(), db, bench.Options{Alone: true})
	require.NoError(t, err)
	job, err := b.Job(t.Context(), "TERN-POINT-LOCKERS")
	require.NoError(t, err)
	require.NoError(t, b.Close())
	mark := string(job.States[0].Part)
	token := strings.TrimSpace(fine(t, "token", "-db", db, "-scope", "read"))
	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-db", db)
	get := func(path string) (int, string) { return r.ask("GET", path, token, "") }
	data, err := os.ReadFile(db)
	require.NoError(t, err)
	f, err := os.OpenFile(db, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	for at := 4096 + 2000; at < len(data); at += 4096 { // a bit of each page but the first
		_, err := f.WriteAt([]byte{data[at] ^ 16}, int64(at))
		require.NoError(t, err)
	}
	status, body := get("/api/v1/parts/" + mark + "/events")
	require.Equal(t, http.StatusServiceUnavailable, status, "%s", body)
	require.Contains(t, body, `"code":"file-damaged"`)
	_, body = get("/healthz")
	require.Contains(t, body, "damaged")
	said := runs(t, "check", "-db", db)
	require.Equal(t, exitProblem, said.code)
	require.Contains(t, said.err, "damaged")
}

func TestHowOftenIsSaidInWords(t *testing.T) {
	for given, words := range map[string]string{"1d": "day", "24h": "day", "2d": "2 days", "1h": "hour", "90m": "90 minutes", "8h": "8 hours", "61s": "1m1s"} {
		var p backups
		require.NoError(t, p.often(given))
		require.Equal(t, words, spoken(p.every))
	}
}

// The first backup comes soon after the start if there is none young enough,
// and the oldest ones go.
func TestBackupsByThemselves(t *testing.T) {
	db, folder := newShop(t), filepath.Join(t.TempDir(), "backups")
	require.NoError(t, os.MkdirAll(folder, 0o755))
	for _, name := range []string{"shop-20200101T000000Z.db", "shop-20200102T000000Z.db", "mine.db"} {
		fine(t, "backup", "-db", db, "-out", filepath.Join(folder, name))
	}
	names := func() (names []string) {
		entries, err := os.ReadDir(folder)
		require.NoError(t, err)
		for _, e := range entries {
			names = append(names, e.Name())
		}
		return names
	}
	serve := []string{"serve", "-addr", "127.0.0.1:0", "-db", db, "-backup", folder, "-backup-every", "1d", "-keep", "2"}
	r := starts(t, serve...)
	require.Eventually(t, func() bool { n := names(); return len(n) == 3 && n[1] != "shop-20200101T000000Z.db" }, 20*time.Second, 10*time.Millisecond)
	r.stops()
	require.Contains(t, r.told, folder+", every day, the newest 2 stay\n")
	require.Contains(t, r.told, "on the same disk as the shop")
	made := names()
	require.Equal(t, []string{"mine.db", "shop-20200102T000000Z.db"}, made[:2], "the oldest of its own went, and what others wrote stays")
	require.Equal(t, "All is well: 16 marks, 16 events, 0 differences.\n", fine(t, "check", "-db", filepath.Join(folder, made[2])))

	r = starts(t, serve...)
	r.stops()
	require.Subset(t, names(), made, "the newest is young enough: nothing more is made")

	require.NoError(t, os.WriteFile(db, []byte(strings.Repeat("oak ", 4096)), 0o644))
	refused := runs(t, serve...)
	require.Equal(t, exitProblem, refused.code)
	newest := filepath.Join(folder, made[2])
	require.Contains(t, refused.err, "benchtally restore -db "+db+" -from "+newest+" -replace", "a line to be typed")
	fine(t, "restore", "-db", db, "-from", newest, "-replace")
	require.Equal(t, "All is well: 16 marks, 16 events, 0 differences.\n", fine(t, "check", "-db", db))
}
