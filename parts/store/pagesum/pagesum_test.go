package pagesum_test

import (
	"database/sql"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts/store/pagesum"
)

// The check value of CRC-32C: RFC 3720, B.4, the 32 bytes of zeros and of
// ones. Look uses the library's, and the pages in these tests were summed by
// the C code, so what holds for one holds for the other.
func TestTheSumIsTheOneOfTheStandard(t *testing.T) {
	table := crc32.MakeTable(crc32.Castagnoli)
	assert.Equal(t, uint32(0x8a9136aa), crc32.Checksum(make([]byte, 32), table))
	assert.Equal(t, uint32(0x62a8ab43), crc32.Checksum([]byte(strings.Repeat("\xff", 32)), table))
}

// open opens a file on one connection, with sums or as any program would.
func open(t testing.TB, file, how string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite3", "file:"+file+"?_busy_timeout=5000&"+how)
	require.NoError(t, err)
	db.SetMaxOpenConns(1)
	t.Cleanup(func() { require.NoError(t, db.Close()) })
	return db
}

const summed = "vfs=" + pagesum.VFS

func run(t testing.TB, db *sql.DB, statements ...string) {
	t.Helper()
	for _, s := range statements {
		_, err := db.Exec(s)
		require.NoError(t, err, s)
	}
}

// fill writes rows of all lengths, longer ones than a page too, and takes some
// of them away again.
func fill(t testing.TB, db *sql.DB, table string) {
	t.Helper()
	run(t, db, "CREATE TABLE "+table+" (id INTEGER PRIMARY KEY, words TEXT)", "CREATE INDEX "+table+"_words ON "+table+" (words)",
		"WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i+1 FROM n WHERE i < 3000) INSERT INTO "+table+
			" SELECT i, printf('%.*c %d', CASE WHEN i % 100 = 0 THEN 20000 ELSE i % 700 END, 'x', i) FROM n",
		"DELETE FROM "+table+" WHERE id % 7 = 0")
}

// content is every row of a table, in one word.
func content(t testing.TB, db *sql.DB, table string) string {
	t.Helper()
	var rows, length int
	require.NoError(t, db.QueryRow("SELECT count(*), sum(length(words) * id) FROM "+table).Scan(&rows, &length))
	return fmt.Sprint(rows, " ", length)
}

// sound looks over a file with sums that nobody has open.
func sound(t testing.TB, file string) {
	t.Helper()
	pages, err := pagesum.Look(file)
	require.NoError(t, err)
	require.Empty(t, pages.Wrong)
	info, err := os.Stat(file)
	require.NoError(t, err)
	db := open(t, file, summed)
	var size, said int64
	var ok string
	require.NoError(t, db.QueryRow("SELECT page_count * page_size, page_count, integrity_check FROM pragma_page_count, pragma_page_size, pragma_integrity_check").Scan(&size, &said, &ok))
	require.Equal(t, info.Size(), size)
	require.Equal(t, said, int64(pages.Number), "it has sums")
	require.Equal(t, "ok", ok)
}

// Files are written in every way that SQLite has of writing one, with a cache
// so small that pages are written before the transaction is over.
func TestEveryWayOfWriting(t *testing.T) {
	for _, journal := range []string{"WAL", "DELETE", "TRUNCATE", "PERSIST", "MEMORY", "OFF"} {
		for _, size := range []int{512, 4096, 65536} {
			t.Run(fmt.Sprint(journal, size), func(t *testing.T) {
				folder := t.TempDir()
				file, copied := filepath.Join(folder, "a.db"), filepath.Join(folder, "b.db")
				db := open(t, file, summed)
				run(t, db, fmt.Sprintf("PRAGMA page_size = %d", size), "PRAGMA journal_mode = "+journal, "PRAGMA synchronous = OFF", "PRAGMA cache_size = 10", "BEGIN")
				fill(t, db, "rails")
				run(t, db, "COMMIT", "BEGIN", "UPDATE rails SET words = words || 'y' WHERE id % 3 = 0", "COMMIT", "BEGIN", "DROP TABLE rails")
				if journal != "OFF" {
					run(t, db, "ROLLBACK")
				} else {
					fill(t, db, "rails")
					run(t, db, "COMMIT")
				}
				want := content(t, db, "rails")
				run(t, db, "VACUUM INTO '"+copied+"'")
				require.NoError(t, db.Close())
				sound(t, file)
				sound(t, copied)
				require.Equal(t, want, content(t, open(t, file, summed), "rails"))
				require.Equal(t, want, content(t, open(t, copied, summed), "rails"))
				require.Equal(t, want, content(t, open(t, file, "mode=ro&immutable=1"), "rails"), "any program can read it")
			})
		}
	}
}

// Several connections write and read one file while it is moved from the log.
func TestManyAtOnce(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.db")
	first := open(t, file, summed+"&_journal_mode=WAL&_synchronous=OFF")
	run(t, first, "CREATE TABLE t (id INTEGER PRIMARY KEY, words TEXT)")
	var all sync.WaitGroup
	for w := range 4 {
		db := open(t, file, summed+"&_synchronous=OFF&_txlock=immediate")
		all.Go(func() {
			for i := range 200 {
				_, err := db.Exec("INSERT INTO t (words) VALUES (?)", strings.Repeat("oak ", (w*200+i)*7))
				assert.NoError(t, err)
				if i%20 == 0 {
					_, err := db.Exec("PRAGMA wal_checkpoint(PASSIVE)")
					assert.NoError(t, err)
				}
			}
		})
		reader := open(t, file, summed+"&mode=ro&_cache_size=10")
		all.Go(func() {
			for range 100 {
				var n sql.NullInt64
				assert.NoError(t, reader.QueryRow("SELECT sum(length(words)) FROM t").Scan(&n))
				pages, err := pagesum.Look(file)
				assert.NoError(t, err)
				assert.Empty(t, pages.Wrong, "and looking it over disturbs nobody")
			}
		})
	}
	all.Wait()
	require.Equal(t, "800 ", content(t, first, "t")[:4])
	require.NoError(t, first.Close())
}

// A file without sums stays one, whoever writes it, until it is vacuumed.
func TestAnOlderFileGetsItsSumsWhenVacuumed(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.db")
	old := open(t, file, "_journal_mode=WAL")
	fill(t, old, "rails")
	require.NoError(t, old.Close())
	db, other := open(t, file, summed+"&_cache_size=10"), open(t, file, summed+"&_cache_size=10")
	fill(t, db, "stiles")
	rails, stiles := content(t, other, "rails"), content(t, other, "stiles")
	has, err := pagesum.Has(file)
	require.NoError(t, err)
	require.False(t, has)
	run(t, db, "VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)")
	has, err = pagesum.Has(file)
	require.NoError(t, err)
	require.True(t, has)
	require.Equal(t, rails, content(t, other, "rails"), "who had it open goes on")
	fill(t, other, "shelves")
	require.Equal(t, stiles, content(t, db, "stiles"))
	require.NoError(t, db.Close())
	require.NoError(t, other.Close())
	sound(t, file)
}

// The power goes while an older file gets its sums: at any place in the log, or
// between any two pages as they are moved from there. Nothing is lost, and what
// is whole has its sums.
func TestSumsThatWereHalfGiven(t *testing.T) {
	folder := t.TempDir()
	read := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(folder, name))
		require.NoError(t, err)
		return data
	}
	old := open(t, filepath.Join(folder, "a.db"), "_journal_mode=WAL")
	fill(t, old, "rails")
	want := content(t, old, "rails")
	require.NoError(t, old.Close())
	db := open(t, filepath.Join(folder, "a.db"), summed)
	run(t, db, "PRAGMA wal_autocheckpoint = 0", "VACUUM")
	before, log := read("a.db"), read("a.db-wal")
	run(t, db, "PRAGMA wal_checkpoint(FULL)")
	after := read("a.db")
	require.NoError(t, db.Close())

	cut := func(t *rapid.T, main, log []byte, whole bool) {
		file := filepath.Join(folder, "cut.db")
		require.NoError(t, os.WriteFile(file, main, 0o644))
		require.NoError(t, os.WriteFile(file+"-wal", log, 0o644))
		db, err := sql.Open("sqlite3", "file:"+file+"?_synchronous=OFF&"+summed)
		require.NoError(t, err)
		db.SetMaxOpenConns(1)
		var rows, length int
		require.NoError(t, db.QueryRow("SELECT count(*), sum(length(words) * id) FROM rails").Scan(&rows, &length))
		require.Equal(t, want, fmt.Sprint(rows, " ", length))
		pages, err := pagesum.Look(file)
		require.NoError(t, err)
		require.Empty(t, pages.Wrong, "what the log has as well is no damage")
		require.NoError(t, db.Close())
		pages, err = pagesum.Look(file)
		require.NoError(t, err)
		require.Empty(t, pages.Wrong)
		require.Equal(t, whole, pages.Number > 0)
	}
	t.Run("in the log", rapid.MakeCheck(func(t *rapid.T) {
		n := rapid.IntRange(0, len(log)).Draw(t, "bytes of the log")
		cut(t, before, log[:n], n == len(log))
	}))
	t.Run("as it is moved", rapid.MakeCheck(func(t *rapid.T) {
		n := 4096 * rapid.IntRange(0, len(after)/4096).Draw(t, "pages of the file")
		cut(t, append(after[:n:n], before[min(n, len(before)):]...), log, true)
	}))
}

// A program that knows nothing of sums changes the file: its pages are not
// what was summed.
func TestAnotherProgramsPagesAreFound(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.db")
	db := open(t, file, summed)
	fill(t, db, "rails")
	require.NoError(t, db.Close())
	other := open(t, file, "")
	run(t, other, "UPDATE rails SET words = 'z' WHERE id = 1500")
	require.NoError(t, other.Close())
	pages, err := pagesum.Look(file)
	require.NoError(t, err)
	assert.NotEmpty(t, pages.Wrong)
	_, err = open(t, file, summed).Exec("SELECT sum(length(words)) FROM rails")
	assert.ErrorContains(t, err, "malformed")
}

// Texts longer than a page are read page by page, each with its sum.
func TestALongTextIsNotReadPastItsSums(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.db")
	db := open(t, file, summed)
	run(t, db, "CREATE TABLE t (words TEXT)", "INSERT INTO t VALUES (printf('%.*c', 100000, 'x'))")
	require.NoError(t, db.Close())
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	for page := 2; page < len(data)/4096; page++ {
		for _, at := range []int{0, 2000, 4087, 4088, 4095} {
			bad := filepath.Join(t.TempDir(), "b.db")
			data[page*4096+at] ^= 4
			require.NoError(t, os.WriteFile(bad, data, 0o644))
			data[page*4096+at] ^= 4
			var words string
			require.Error(t, open(t, bad, summed).QueryRow("SELECT words FROM t").Scan(&words), "page %d, byte %d", page+1, at)
			pages, err := pagesum.Look(bad)
			require.NoError(t, err)
			require.Equal(t, []uint32{uint32(page + 1)}, pages.Wrong)
		}
	}
}
