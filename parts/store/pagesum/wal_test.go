package pagesum_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is committed is seen by others at once, and what is taken back by
// nobody, however little of it is synced and however often its pages go to the
// log before its end.
func TestOthersSeeACommitAtOnce(t *testing.T) {
	for _, synchronous := range []string{"FULL", "NORMAL", "OFF"} {
		t.Run(synchronous, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "a.db")
			one := open(t, file, summed+"&_journal_mode=WAL&_cache_size=10&_synchronous="+synchronous)
			other := open(t, file, summed+"&mode=ro")
			run(t, one, "CREATE TABLE t (id INTEGER PRIMARY KEY, words TEXT)")
			for want := range 60 {
				rows := 1 + want%7*300
				add := fmt.Sprintf("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i+1 FROM n WHERE i < %d) INSERT INTO t (words) SELECT printf('%%.*c', 900, 'x') FROM n", rows)
				run(t, one, "BEGIN", add, "ROLLBACK", "BEGIN", add)
				before := count(t, other)
				run(t, one, "COMMIT")
				assert.Equal(t, before+rows, count(t, other))
			}
			require.NoError(t, other.Close())
			require.NoError(t, one.Close())
			sound(t, file)
		})
	}
}

func count(t *testing.T, db *sql.DB) (n int) {
	t.Helper()
	require.NoError(t, db.QueryRow("SELECT count(*) FROM t").Scan(&n))
	return n
}

// The log is opened once more for its syncs.
func TestALogLeavesNothingOpen(t *testing.T) {
	opened := func() int {
		files, err := os.ReadDir("/proc/self/fd")
		if err != nil {
			t.Skip("only Linux says which files are open: " + err.Error())
		}
		return len(files)
	}
	file := filepath.Join(t.TempDir(), "a.db")
	before := opened()
	for range 20 {
		db := open(t, file, summed+"&_journal_mode=WAL&_synchronous=FULL")
		run(t, db, "CREATE TABLE IF NOT EXISTS t (id INTEGER PRIMARY KEY)", "INSERT INTO t DEFAULT VALUES", "INSERT INTO t DEFAULT VALUES")
		require.NoError(t, db.Close())
	}
	assert.Equal(t, before, opened())
}
