package store_test

import (
	"database/sql"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
	"benchtally/parts/store/pagesum"
)

// saved is where a database of every released version lies. A new one is
// written by
//
//	go test ./parts/store -run TestSavedDatabases -update
//
// and an old one is never written again.
const saved = "../../testdata/store"

// thisVersion is the file that this program's version would write.
const thisVersion = "v5.db"

func TestSavedDatabases(t *testing.T) {
	shoptest.NeedSQLite(t, "a saved database is a file")
	if shoptest.Update() {
		saveDatabase(t, filepath.Join(saved, thisVersion))
	}
	files, err := filepath.Glob(filepath.Join(saved, "*.db"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			require.NoError(t, err)
			assert.Less(t, len(data), 300_000)
			dsn := filepath.Join(t.TempDir(), "shop.db")
			require.NoError(t, os.WriteFile(dsn, data, 0o644))
			s, err := store.Open(ctx, dsn, store.Options{Alone: true})
			require.NoError(t, err)
			defer s.Close()
			pages, err := pagesum.Look(dsn)
			require.NoError(t, err)
			assert.Positive(t, pages.Number, "it got its sums")
			assert.Empty(t, pages.Wrong)
			copies, err := filepath.Glob(dsn + ".before-[sv]*")
			require.NoError(t, err)
			if filepath.Base(file) == thisVersion {
				assert.Empty(t, copies, "nothing is to be changed in it")
			} else {
				assert.Len(t, copies, 1, "and was copied before")
			}
			books, err := s.Check(ctx)
			require.NoError(t, err)
			assert.Empty(t, books.Differences)
			assert.Greater(t, books.Events, 40)
			require.NoError(t, s.Rebuild(ctx))
			again, err := s.Check(ctx)
			require.NoError(t, err)
			assert.Equal(t, books, again)
			db, err := sql.Open("sqlite3", dsn+"?vfs="+pagesum.VFS)
			require.NoError(t, err)
			defer db.Close()
			assert.Empty(t, unlisted(t, db), "what its commands did something to is known")
			orders, err := s.Orders(ctx, 10)
			require.NoError(t, err)
			assert.NotEmpty(t, orders)
		})
	}
}

// saveDatabase lets a few days pass in a small shop and keeps its file.
func saveDatabase(t *testing.T, file string) {
	dsn, clock := filepath.Join(t.TempDir(), "shop.db"), shoptest.NewClock()
	b, err := bench.Open(ctx, dsn, bench.Options{Clock: clock.Now})
	require.NoError(t, err)
	require.NoError(t, b.SaveSettings(ctx, parts.Settings{Shop: "Test shop", Zone: "UTC", Unit: "in", Denominator: 32,
		Address: "http://192.168.1.20:8080", Paper: "letter", Sheet: "letter-3x10"}))
	job := shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	fewDays(t, b, clock, job)
	require.NoError(t, b.SetOwner(ctx, "Ann", "three oak pegs"))
	code, err := b.NewJoin(ctx)
	require.NoError(t, err)
	_, err = b.Join(ctx, code, "Phone by the drill")
	require.NoError(t, err)
	require.NoError(t, b.Close())
	assert.NoFileExists(t, dsn+"-wal", "closing leaves everything in the one file")
	data, err := os.ReadFile(dsn)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
	require.NoError(t, os.WriteFile(file, data, 0o644))
}

// fewDays writes every kind of event, a refusal and a late scan.
func fewDays(t *testing.T, b *bench.Bench, clock *shoptest.Clock, job bench.JobPieces) {
	mark := func(name string) string {
		for _, s := range job.States {
			if s.Kind != parts.Ticket && parts.PieceName(job.LineOf(s), s) == name {
				return string(s.Part)
			}
		}
		t.Fatalf("no piece %q", name)
		return ""
	}
	do := func(verb func(r bench.Request) (bench.Answer, error), r bench.Request) bench.Answer {
		r.ID, r.By = shoptest.NewID(), "Ann"
		a, err := verb(r)
		require.NoError(t, err)
		return a
	}
	scan := func(r bench.Request) (bench.Answer, error) { return b.Scan(ctx, r) }
	for i := range 2 {
		do(scan, bench.Request{Mark: string(job.Lines[i].Ticket), Station: "bore"})
	}
	do(func(r bench.Request) (bench.Answer, error) { return b.Plug(ctx, r) }, bench.Request{Mark: mark("Rail 1"), Note: "1/16 off"})
	clock.Pass(3 * time.Hour)
	do(scan, bench.Request{Mark: mark("Rail 1"), Station: "bore"})
	do(func(r bench.Request) (bench.Answer, error) { return b.Hold(ctx, r) }, bench.Request{Mark: mark("Stile 1"), Reason: "a knot"})
	do(func(r bench.Request) (bench.Answer, error) { return b.Release(ctx, r) }, bench.Request{Mark: mark("Stile 1")})
	remake := func(r bench.Request) (bench.Answer, error) { return b.Remake(ctx, r) }
	do(remake, bench.Request{Mark: mark("Rail 2"), Reason: "split", Spare: mark("Rail 5 (spare)")})
	do(remake, bench.Request{Mark: mark("Stile 4"), Reason: "split"})
	do(scan, bench.Request{Mark: mark("Locker front 1"), Station: "glue"})
	do(scan, bench.Request{Mark: mark("Locker front 1"), Station: "glue"})
	held := do(func(r bench.Request) (bench.Answer, error) { return b.Hold(ctx, r) }, bench.Request{Mark: mark("Shelf"), Reason: "a knot"})
	command, err := parts.ParseCommandID(held.Command)
	require.NoError(t, err)
	_, err = b.Undo(ctx, bench.UndoRequest{ID: shoptest.NewID(), Command: command})
	require.NoError(t, err)
	_, err = b.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: mark("Locker front 1"), Station: "sand"})
	require.Equal(t, "waiting", parts.CodeOf(err))
	late := do(scan, bench.Request{Mark: mark("Shelf"), Station: "crosscut", At: clock.Now().Add(-24 * time.Hour)})
	require.Equal(t, "parked", late.Outcome)
	_, err = b.Print(ctx, bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels", Due: true})
	require.NoError(t, err)
}
