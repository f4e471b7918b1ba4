package store_test

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

func TestReopeningKeepsEverything(t *testing.T) {
	s := openShop(t)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	settings := parts.Settings{Shop: "Tern Point", Zone: "UTC", Unit: "mm", Denominator: 16, Address: "http://192.168.1.20:8080", Paper: "a4", Sheet: "x"}
	require.NoError(t, s.SaveSettings(ctx, settings))
	require.NoError(t, s.SaveStation(ctx, parts.StationRow{Key: "lathe", Name: "at the lathe", Place: 2}))
	token := access.Token{Secret: []byte("a hash"), Name: "Gauge", Scopes: []access.Scope{access.Gauge}, Made: noon}
	require.NoError(t, s.AddToken(ctx, token))
	events, states := s.events(), s.statesOfJob()
	lines, err := s.Lines(ctx, s.job.ID)
	require.NoError(t, err)

	require.NoError(t, s.Close())
	s.Store = s.open()
	assert.Equal(t, events, s.events())
	assert.Equal(t, states, s.statesOfJob())
	again, err := s.Lines(ctx, s.job.ID)
	require.NoError(t, err)
	assert.Equal(t, lines, again)
	kept, err := s.Settings(ctx)
	require.NoError(t, err)
	assert.Equal(t, settings, kept)
	stations, err := s.Stations(ctx)
	require.NoError(t, err)
	assert.Len(t, stations, 2, "a shop is furnished once")
	book, err := s.Access(ctx)
	require.NoError(t, err)
	assert.Equal(t, []access.Token{token}, book.Tokens)
	people, err := s.People(ctx)
	require.NoError(t, err)
	assert.Equal(t, map[int64]string{1: "Ann"}, people)
	s.balanced()
}

func (s *shop) statesOfJob() []parts.State {
	s.t.Helper()
	states, err := s.StatesOfJob(ctx, s.job.ID)
	require.NoError(s.t, err)
	return states
}

func TestMarksAreNeverGivenTwice(t *testing.T) {
	s := openShop(t)
	seen := map[parts.ID]bool{}
	for range 3 {
		require.NoError(t, s.Close())
		s.Store = s.open()
		_, err := s.CreateJob(ctx, command("list"), store.NewJob{Name: "Lockers", Code: "LOCKERS", Lines: []parts.Line{
			{Kind: parts.Single, Name: "Rail", Quantity: 8, Spares: 2, Steps: 1},
		}}, s.list)
		require.NoError(t, err)
		for _, id := range s.marks {
			assert.False(t, seen[id], id)
			seen[id] = true
		}
	}
	jobs, err := s.Jobs(ctx)
	require.NoError(t, err)
	assert.Equal(t, []string{"LOCKERS-4", "LOCKERS-3", "LOCKERS-2", "LOCKERS"}, []string{jobs[0].Code, jobs[1].Code, jobs[2].Code, jobs[3].Code})
	s.balanced()
}

func TestEventsAreNeverChanged(t *testing.T) {
	s := openShop(t)
	db := s.raw()
	statements := []string{"UPDATE events SET kind = 'done'", "UPDATE events SET at = 0 WHERE seq = 1", "DELETE FROM events"}
	if shoptest.OnPostgres() {
		statements = append(statements, "TRUNCATE events")
	}
	for _, statement := range statements {
		_, err := db.Exec(statement)
		assert.ErrorContains(t, err, "events are never", statement)
	}
	assert.Len(t, s.events(), 10)
	s.balanced()
}

func TestANewerDatabaseIsRefused(t *testing.T) {
	s := openShop(t)
	require.NoError(t, s.Close())
	_, err := s.raw().Exec("INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, TRUE)")
	require.NoError(t, err)
	_, err = store.Open(ctx, s.dsn, store.Options{Furniture: furniture})
	require.Equal(t, "database-newer", parts.CodeOf(err), "%v", err)
	assert.Contains(t, err.Error(), "9999")
	assert.Equal(t, parts.Refused, parts.AsProblem(err).Sort)
}

func TestTheClockNeverGoesBack(t *testing.T) {
	s := openShop(t)
	s.clock.Pass(time.Hour)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	s.clock.Pass(-2 * time.Hour)
	assert.Equal(t, noon.Add(time.Hour), s.Now())
	require.NoError(t, s.Close())
	s.Store = s.open()
	assert.Equal(t, noon.Add(time.Hour), s.Now(), "nor when the server starts again")
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	events, err := s.Events(ctx, s.marks[0])
	require.NoError(t, err)
	assert.Equal(t, noon.Add(time.Hour), events[2].Recorded)
	assert.Equal(t, noon.Add(time.Hour), events[2].At)
	s.clock.Pass(3 * time.Hour)
	assert.Equal(t, noon.Add(2*time.Hour), s.Now(), "and goes on when the clock has caught up")
}

func TestNothingHappensAfterItWasRecorded(t *testing.T) {
	s := openShop(t)
	require.NoError(t, s.Close())
	// A clock that moves on each time somebody looks.
	opened, err := store.Open(ctx, s.dsn, store.Options{Furniture: furniture, Clock: func() time.Time { s.clock.Pass(time.Millisecond); return s.clock.Now() }})
	require.NoError(t, err)
	s.Store = opened
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	for _, e := range s.events() {
		assert.False(t, e.At.After(e.Recorded), "%v after %v", e.At, e.Recorded)
	}
}

func TestOneServerHoldsAFile(t *testing.T) {
	shoptest.NeedSQLite(t, "a file has a lock, and PostgreSQL serves several")
	dsn := shoptest.DSN(t)
	first, err := store.Open(ctx, dsn, store.Options{Alone: true, Furniture: furniture})
	require.NoError(t, err)
	_, err = store.Open(ctx, dsn, store.Options{Alone: true, Furniture: furniture})
	require.Equal(t, "server-running", parts.CodeOf(err), "%v", err)
	assert.Equal(t, parts.Busy, parts.AsProblem(err).Sort)
	require.NoError(t, first.Close())
	second, err := store.Open(ctx, dsn, store.Options{Alone: true, Furniture: furniture})
	require.NoError(t, err, "it is free again")
	require.NoError(t, second.Close())
}

func TestServersMayStartTogether(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("PostgreSQL only: a file has one server")
	}
	dsn := shoptest.DSN(t)
	var all sync.WaitGroup
	errs := make([]error, 4)
	for i := range errs {
		all.Go(func() {
			s, err := store.Open(ctx, dsn, store.Options{Furniture: furniture})
			if err == nil {
				err = s.Close()
			}
			errs[i] = err
		})
	}
	all.Wait()
	for _, err := range errs {
		assert.NoError(t, err)
	}
}

func TestServersShareOneClock(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("PostgreSQL only: a file has one server")
	}
	s := openShop(t)
	slow := shoptest.NewClock()
	second, err := store.Open(ctx, s.dsn, store.Options{Furniture: furniture, Clock: slow.Now})
	require.NoError(t, err)
	defer second.Close()
	s.clock.Pass(time.Hour)
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	c := command("scan")
	c.Subject = s.marks[0]
	_, err = second.Change(ctx, c, bored)
	require.NoError(t, err)
	events := s.events()
	assert.Equal(t, noon.Add(time.Hour), events[2].Recorded, "a second server with a slow clock sets nothing back")
	s.balanced()
}
