package bench_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// The shape of a made-up shop: old jobs are of a thousand parts in ten lines,
// and ten parts at a time went on by one scan of a ticket.
const (
	oldEvents  = 10 // of each old part
	oldPerJob  = 1000
	oldPerLine = 100
	oldPerScan = 10
)

// large is a shop with a long past: parts that are finished, with ten events
// each, and a job of parts that people work on.
type large struct {
	*bench.Bench
	dsn   string
	marks []string // of the parts that people work on
	turns int      // scans of them so far

	opening time.Duration // how long it took to open the shop
}

// openLarge opens a shop of so many old parts and a job of so many that people
// work on.
func openLarge(b *testing.B, past, active int) *large {
	shoptest.NeedSQLite(b, "the past is written into the file")
	l := &large{dsn: pastFile(b, past)}
	start := time.Now()
	var err error
	l.Bench, err = bench.Open(context.Background(), l.dsn, bench.Options{})
	require.NoError(b, err)
	l.opening = time.Since(start)
	b.Cleanup(func() { require.NoError(b, l.Close()) })
	// What people work on is what was listed last, so its marks are neighbours
	// and its rows lie together.
	r, err := l.SaveRouting(context.Background(), manySteps())
	require.NoError(b, err)
	l.marks = marksOf(importList(b, l.Bench, listOf(active), r.Key))
	return l
}

// pastFile gives the file of a shop with so many old parts. Those that take
// long are kept in the folder that BENCHTALLY_BENCH_DIR names, and only grow
// by the jobs of each run.
func pastFile(b *testing.B, past int) string {
	dir := os.Getenv("BENCHTALLY_BENCH_DIR")
	if dir == "" || past == 0 {
		dsn := shoptest.DSN(b)
		makePast(b, dsn, past)
		return dsn
	}
	kept := filepath.Join(dir, fmt.Sprintf("past-%d.db", past))
	if _, err := os.Stat(kept); err == nil {
		return kept
	}
	made := filepath.Join(dir, "unfinished.db")
	for _, old := range []string{"", "-wal", "-shm"} {
		os.Remove(made + old)
	}
	makePast(b, made, past)
	require.NoError(b, os.Rename(made, kept))
	return kept
}

// makePast makes up a shop of so many parts. One old part is led through the
// bench; its rows are copied to the others in SQL, because a million parts
// would take the bench hours.
func makePast(b *testing.B, dsn string, past int) {
	s, err := bench.Open(context.Background(), dsn, bench.Options{})
	require.NoError(b, err)
	model := liveThrough(b, s)
	require.NoError(b, s.Close())
	if past > 0 {
		copyPast(b, dsn, model, past)
	}
	settle(b, dsn)
}

// settle waits until the file is on the disk: what is still on its way there
// would be paid for by the first commits that are measured.
func settle(b *testing.B, file string) {
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	require.NoError(b, err)
	defer f.Close()
	require.NoError(b, f.Sync())
}

// liveThrough leads one part from the list to its end.
func liveThrough(b *testing.B, s *bench.Bench) parts.ID {
	steps := manySteps()
	steps.Name, steps.Steps = "Nine passes", steps.Steps[:oldEvents-1]
	r, err := s.SaveRouting(context.Background(), steps)
	require.NoError(b, err)
	mark := marksOf(importList(b, s, listOf(1), r.Key))[0]
	for i := range steps.Steps {
		_, err := s.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: mark, Station: "plane", Step: 1 + i, By: "Ann"})
		require.NoError(b, err)
	}
	return parts.ID(mark)
}

// copyPast copies the rows of one part until there are so many more.
func copyPast(b *testing.B, dsn string, model parts.ID, past int) {
	db, err := sql.Open("sqlite3", "file:"+dsn+"?vfs=pagesum&_journal_mode=OFF&_synchronous=OFF&_cache_size=-2000000&_txlock=immediate")
	require.NoError(b, err)
	defer func() { require.NoError(b, db.Close()) }()
	db.SetMaxOpenConns(1)
	tx, err := db.Begin()
	require.NoError(b, err)
	run := func(query string, args ...any) {
		_, err := tx.Exec(query, args...)
		require.NoError(b, err, query)
	}
	run("CREATE TEMP TABLE model AS SELECT * FROM part_states WHERE part = ?", string(model))
	writeMarks(b, tx, past)
	run(`INSERT INTO jobs (id, code, name, created)
SELECT job, 'OLD-' || job, 'Old ' || job, 0 FROM marks GROUP BY job`)
	run(`CREATE TEMP TABLE line AS SELECT * FROM lines WHERE id = (SELECT line FROM model)`)
	for line := 1; line*oldPerLine <= past; line++ {
		run(`UPDATE line SET (id, job, number, quantity, ticket) = (SELECT line, job, 1 + ? % 10, 100, '' FROM marks WHERE ord = ?)`, line-1, (line-1)*oldPerLine)
		run("INSERT INTO lines SELECT * FROM line")
	}
	const own, other = `'"job":' || o.job || ',"line":' || o.line || ',"number":' || o.number`, `'"job":' || m.job || ',"line":' || m.line || ',"number":' || m.number`
	// By seq first: the log grows at many parts at once, as it does in a shop.
	run(`INSERT INTO events (part, seq, kind, command, station, by_person, at, recorded, step, detail)
SELECT m.part, e.seq, e.kind, unhex(printf('%032x', e.seq * 1000000000 + m.ord / ?)), e.station, e.by_person, e.at, e.recorded, e.step,
  CASE e.seq WHEN 1 THEN replace(e.detail, `+own+`, `+other+`) ELSE e.detail END
FROM (SELECT * FROM events WHERE part = (SELECT part FROM model) ORDER BY seq) e CROSS JOIN marks m CROSS JOIN model o`, oldPerScan)
	run(`INSERT INTO commands (id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, settled)
SELECT e.command, c.hash, c.kind, c.subject, c.outcome, c.code, c.answer, c.request, c.by_person, c.at, c.recorded, c.settled
FROM events e CROSS JOIN (SELECT * FROM commands WHERE kind = 'scan' ORDER BY recorded LIMIT 1) c
WHERE e.part IN (SELECT part FROM marks WHERE ord % ? = 0) GROUP BY e.command`, oldPerScan)
	run(`INSERT INTO part_states (part, kind, job, line, number, open, spare, in_assembly, label_due, seq, fold, state)
SELECT m.part, o.kind, m.job, m.line, m.number, o.open, o.spare, o.in_assembly, o.label_due, o.seq, o.fold,
  printf('%-512s', rtrim(replace(replace(o.state, '"part":"' || o.part || '"', '"part":"' || m.part || '"'), ` + own + `, ` + other + `)))
FROM marks m CROSS JOIN model o`)
	require.NoError(b, tx.Commit())
}

// writeMarks makes the marks of the past with the lines and jobs they are of.
func writeMarks(b *testing.B, tx *sql.Tx, past int) {
	var serial, job, line int64
	require.NoError(b, tx.QueryRow("SELECT (SELECT value FROM counters WHERE name = 'mark'), (SELECT max(id) FROM jobs), (SELECT max(id) FROM lines)").Scan(&serial, &job, &line))
	_, err := tx.Exec("CREATE TEMP TABLE marks (ord INTEGER PRIMARY KEY, part TEXT NOT NULL, job INTEGER NOT NULL, line INTEGER NOT NULL, number INTEGER NOT NULL)")
	require.NoError(b, err)
	insert, err := tx.Prepare("INSERT INTO marks VALUES (?, ?, ?, ?, ?)")
	require.NoError(b, err)
	defer insert.Close()
	for i := range past {
		var id parts.ID
		id, serial = parts.NextMark(serial)
		_, err := insert.Exec(i, string(id), job+1+int64(i/oldPerJob), line+1+int64(i/oldPerLine), 1+i%oldPerLine)
		require.NoError(b, err)
	}
	_, err = tx.Exec("UPDATE counters SET value = ? WHERE name = 'mark'", serial)
	require.NoError(b, err)
}
