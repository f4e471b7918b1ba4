// Package shoptest is what tests of several rooms share: an empty shop in a
// real database, a clock that is set by hand, and a small job. It owns
// nothing that runs in the product.
package shoptest

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"flag"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

// Noon is the time at which every test starts.
var Noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// Clock is a clock that a test sets.
type Clock struct {
	mu  sync.Mutex
	now time.Time
}

// NewClock gives a clock that stands at noon.
func NewClock() *Clock { return &Clock{now: Noon} }

// Now is what the clock shows.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

// Set sets the clock.
func (c *Clock) Set(now time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = now
}

// Pass lets time pass.
func (c *Clock) Pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
}

var update = flag.Bool("update", false, "write golden files and saved databases again; read the difference like code")

// Update reports whether golden files are to be written again.
func Update() bool { return *update }

// OnPostgres reports whether the tests run on PostgreSQL.
func OnPostgres() bool { return os.Getenv("BENCHTALLY_TEST_POSTGRES") != "" }

// NeedSQLite skips a test of what only a SQLite file has.
func NeedSQLite(t testing.TB, why string) {
	t.Helper()
	if OnPostgres() {
		t.Skip("SQLite only: " + why)
	}
}

// Cases lets the properties of a test run on n random cases instead of a
// hundred: with a database each takes long. -rapid.checks has the last word.
func Cases(t testing.TB, n int) {
	t.Helper()
	checks := flag.Lookup("rapid.checks")
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == checks.Name })
	if given {
		return
	}
	was := checks.Value.String()
	require.NoError(t, checks.Value.Set(strconv.Itoa(n)))
	t.Cleanup(func() { require.NoError(t, checks.Value.Set(was)) })
}

// All reports whether nothing may be skipped: the test command sets it, and
// what is missing then fails.
func All() bool { return os.Getenv("BENCHTALLY_TEST_ALL") != "" }

// SkipOrFail skips a test for want of something, and fails it where
// everything should be there.
func SkipOrFail(t testing.TB, why string) {
	t.Helper()
	if All() {
		t.Fatal(why)
	}
	t.Skip(why)
}

// DSN is the address of an empty database of the test's own: a SQLite file,
// or a schema in the PostgreSQL that BENCHTALLY_TEST_POSTGRES names.
func DSN(t testing.TB) string {
	t.Helper()
	server := os.Getenv("BENCHTALLY_TEST_POSTGRES")
	if server == "" {
		return filepath.Join(t.TempDir(), "shop.db")
	}
	raw := make([]byte, 8)
	rand.Read(raw)
	schema := "test_" + hex.EncodeToString(raw)
	db, err := sql.Open("pgx", server)
	require.NoError(t, err)
	defer db.Close()
	_, err = db.Exec("CREATE SCHEMA " + schema)
	require.NoError(t, err, "BENCHTALLY_TEST_POSTGRES is set and must be reachable")
	t.Cleanup(func() {
		db, err := sql.Open("pgx", server)
		require.NoError(t, err)
		defer db.Close()
		_, err = db.Exec("DROP SCHEMA " + schema + " CASCADE")
		require.NoError(t, err)
	})
	address, err := url.Parse(server)
	require.NoError(t, err)
	q := address.Query()
	q.Set("search_path", schema)
	address.RawQuery = q.Encode()
	return address.String()
}

// Open gives an empty shop. When the test ends it must still be true that
// every saved state is what the part's history adds up to.
func Open(t testing.TB, clock *Clock) *bench.Bench {
	t.Helper()
	b, err := bench.Open(context.Background(), DSN(t), bench.Options{Clock: clock.Now})
	require.NoError(t, err)
	t.Cleanup(func() {
		books, err := b.Check(context.Background())
		require.NoError(t, err)
		require.Empty(t, books.Differences)
		require.NoError(t, b.Close())
	})
	require.NoError(t, b.SaveSettings(context.Background(), parts.Settings{
		Shop: "Test shop", Zone: "UTC", Unit: "in", Denominator: 32,
		Address: "http://192.168.1.20:8080", Paper: "letter", Sheet: "letter-3x10",
	}))
	return b
}

// NewID makes the id of a command.
func NewID() parts.CommandID { return parts.CommandID(uuid.Must(uuid.NewV7())) }

// FramesList is a list of two frames of two stiles and two rails, with a
// spare rail, and a loose shelf.
const FramesList = `qty,part,length,width,thickness,material,assembly,spares
4,Stile,34 1/2,2 1/4,3/4,white oak,Locker front,
4,Rail,11 3/4,2 1/4,3/4,white oak,Locker front,1
1,Shelf,30,10,3/4,white oak,,
`

// ListJob makes a job of a list in the words of FramesList. assemblies says
// how many of each are made; nil for what the list proposes.
func ListJob(t testing.TB, b *bench.Bench, name, list string, assemblies map[string]int) bench.JobPieces {
	t.Helper()
	ctx := context.Background()
	table, err := cutlist.ReadText(list)
	require.NoError(t, err)
	p, err := b.Preview(ctx, table, cutlist.Choices{Assemblies: assemblies}, bench.Picks{})
	require.NoError(t, err)
	require.Empty(t, p.List.Troubles)
	job, err := b.MakeJob(ctx, NewID(), name, p)
	require.NoError(t, err)
	pieces, err := b.Job(ctx, job.Code)
	require.NoError(t, err)
	return pieces
}
