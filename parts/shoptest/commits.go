package shoptest

import (
	"database/sql"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// Commits gives a function that makes one small row durable, in a database of
// its own that is opened as the store opens one: by one goroutine, a commit a
// row. It is the floor that benchmarks of the store are held against, because
// absolute figures drift with the machine's load.
func Commits(t testing.TB) func() {
	t.Helper()
	driver, dsn := "sqlite3", "file:"+DSN(t)+"?_journal_mode=WAL&_synchronous=FULL&_txlock=immediate&_busy_timeout=5000"
	insert := "INSERT INTO rows (part, seq, kind, detail) VALUES (?, ?, ?, ?)"
	if OnPostgres() {
		driver, dsn = "pgx", DSN(t)
		insert = "INSERT INTO rows (part, seq, kind, detail) VALUES ($1, $2, $3, $4)"
	}
	db, err := sql.Open(driver, dsn)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	db.SetMaxOpenConns(1)
	_, err = db.Exec("CREATE TABLE rows (part TEXT NOT NULL, seq BIGINT NOT NULL, kind TEXT NOT NULL, detail TEXT NOT NULL, UNIQUE (part, seq))")
	require.NoError(t, err)
	st, err := db.Prepare(insert)
	require.NoError(t, err)
	n := 0
	return func() {
		n++
		_, err := st.Exec("101S", n, "done", `{"next":4,"waits":[{"clock":"resting","step":2}]}`)
		require.NoError(t, err)
	}
}

// Each measures how long one call of a floor takes on average now.
func Each(once func(), times int) time.Duration {
	start := time.Now()
	for range times {
		once()
	}
	return time.Since(start) / time.Duration(times)
}
