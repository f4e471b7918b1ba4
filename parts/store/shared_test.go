package store_test

import (
	"context"
	"database/sql"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
	"benchtally/parts/store/pagesum"
)

var (
	ctx  = context.Background()
	noon = shoptest.Noon
)

// furniture is one station and one list of three steps.
var furniture = store.Furniture{
	Stations: []parts.StationRow{{Key: "bore", Name: "at the drill", Place: 1}},
	Routings: []parts.Routing{{Key: "holes", Version: 1, Name: "Holes", For: parts.Single, Steps: []parts.Step{
		{Name: "first hole", Station: "bore"}, {Name: "second hole", Station: "bore"}, {Name: "third hole", Station: "bore"},
	}}},
}

// shop is a store under test with a job of eight rails and two spares.
type shop struct {
	*store.Store
	t     testing.TB
	dsn   string
	clock *shoptest.Clock
	job   parts.Job
	marks []parts.ID // of the rails, spares last
}

// openShop opens a new shop. It is closed when the test ends; whether the
// books balance then is asked by each test that leaves them whole.
func openShop(t testing.TB) *shop { return openShopIn(t, shoptest.DSN(t)) }

func openShopIn(t testing.TB, dsn string) *shop {
	s := &shop{t: t, dsn: dsn, clock: shoptest.NewClock()}
	s.Store = s.open()
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	job, err := s.CreateJob(ctx, command("list"), store.NewJob{Name: "Lockers", Code: "LOCKERS", Lines: []parts.Line{
		{Kind: parts.Single, Name: "Rail", Quantity: 8, Spares: 2, Steps: 1},
	}}, s.list)
	require.NoError(t, err)
	s.job = job
	return s
}

func (s *shop) open() *store.Store {
	s.t.Helper()
	opened, err := store.Open(ctx, s.dsn, store.Options{Furniture: furniture, Clock: s.clock.Now})
	require.NoError(s.t, err)
	return opened
}

// list gives the first events of the job's pieces.
func (s *shop) list(lines []parts.Line, marks []parts.ID) []parts.Event {
	var events []parts.Event
	s.marks = marks
	listed := func(id parts.ID, b parts.Birth) {
		b.Job, b.Line = lines[0].Job, lines[0].ID
		events = append(events, parts.Event{Part: id, Kind: parts.Listed, Step: -1, Detail: parts.Detail{Birth: &b}})
	}
	for i, id := range marks {
		listed(id, parts.Birth{Kind: parts.Single, Number: i + 1, Spare: i >= lines[0].Quantity, Steps: 1})
	}
	listed(lines[0].Ticket, parts.Birth{Kind: parts.Ticket})
	return events
}

func command(kind string) store.Command {
	return store.Command{ID: shoptest.NewID(), Kind: kind, Hash: [32]byte{1}, Request: "{}", By: "Ann"}
}

// bored decides that the next hole is bored.
func bored(v parts.View, person int64) (store.Decision, error) {
	s := v.Subject
	return store.Decision{
		Events: []parts.Event{{Part: s.Part, Kind: parts.Did, Station: "bore", By: person, At: v.Now, Step: s.Next,
			Detail: parts.Detail{Next: s.Next + 1, Finished: s.Next == 2}}},
		Answer: func(after store.After) any { return after.Of(s.Part).Next },
	}, nil
}

// bore bores the next hole of a mark.
func (s *shop) bore(id parts.ID) (store.Answer, error) {
	c := command("scan")
	c.Subject = id
	return s.Change(ctx, c, bored)
}

// events is the whole log.
func (s *shop) events() []parts.Event {
	s.t.Helper()
	var all []parts.Event
	for _, id := range s.marks {
		events, err := s.Events(ctx, id)
		require.NoError(s.t, err)
		all = append(all, events...)
	}
	return all
}

func (s *shop) state(id parts.ID) parts.State {
	s.t.Helper()
	v, err := s.Look(ctx, id)
	require.NoError(s.t, err)
	return v.Subject
}

// balanced asks whether states and log agree.
func (s *shop) balanced() {
	s.t.Helper()
	books, err := s.Check(ctx)
	require.NoError(s.t, err)
	require.Empty(s.t, books.Differences)
	s.listed()
}

// listed asks whether each command says what its events are of.
func (s *shop) listed() {
	s.t.Helper()
	require.Empty(s.t, unlisted(s.t, s.raw()))
}

// unlisted are the marks of events that their commands do not say.
func unlisted(t testing.TB, db *sql.DB) (marks []string) {
	t.Helper()
	rows, err := db.Query(`SELECT e.part FROM events e JOIN commands c ON c.id = e.command
WHERE NOT (c.marks = '' AND c.subject = e.part OR ',' || c.marks || ',' LIKE '%,' || e.part || ',%')`)
	require.NoError(t, err)
	defer rows.Close()
	for rows.Next() {
		var mark string
		require.NoError(t, rows.Scan(&mark))
		marks = append(marks, mark)
	}
	return marks
}

// raw is another way into the shop's database.
func (s *shop) raw() *sql.DB {
	s.t.Helper()
	driver, dsn := "sqlite3", s.dsn+"?vfs="+pagesum.VFS // what it changes is no damage
	if store.IsPostgres(s.dsn) {
		driver, dsn = "pgx", s.dsn
	}
	db, err := sql.Open(driver, dsn)
	require.NoError(s.t, err)
	s.t.Cleanup(func() { require.NoError(s.t, db.Close()) })
	return db
}

// busy makes the writer busy until release is called.
func (s *shop) busy() (release func()) {
	started, let, over := make(chan bool), make(chan bool), make(chan error)
	go func() {
		over <- s.Turn(true, func(any) error {
			started <- true
			<-let
			return nil
		})
	}()
	<-started
	return func() {
		let <- true
		require.NoError(s.t, <-over)
	}
}

// queued waits until n works wait for the writer.
func (s *shop) queued(n int) {
	for s.Waiting() < n {
		runtime.Gosched()
	}
}
