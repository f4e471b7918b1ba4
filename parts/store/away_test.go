package store_test

import (
	"math/rand/v2"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// phones scan on several servers of one shop, each sending a scan again until
// it is answered, and remember what was answered.
type phones struct {
	t    *testing.T
	shop *shop
	over chan struct{}
	all  sync.WaitGroup

	mu       sync.Mutex
	answered map[parts.CommandID]int // by which server
	last     time.Time               // when one was answered
	longest  time.Duration           // without any answer
}

// scanOn starts so many phones on each server.
func (s *shop) scanOn(t *testing.T, each int, servers ...*store.Store) *phones {
	p := &phones{t: t, shop: s, over: make(chan struct{}), answered: map[parts.CommandID]int{}, last: time.Now()}
	for n, server := range servers {
		for i := range each {
			p.all.Go(func() { p.scan(n, server, s.marks[i%len(s.marks)]) })
		}
	}
	return p
}

func (p *phones) scan(n int, server *store.Store, mark parts.ID) {
	for {
		c := command("scan")
		c.Subject = mark
		for {
			_, err := server.Change(ctx, c, bored)
			if err == nil {
				break
			}
			if problem := parts.AsProblem(err); problem == nil || problem.Sort != parts.Busy {
				p.t.Errorf("a scan that may be sent again is answered %v", err)
				return
			}
		}
		p.note(n, c.ID)
		select {
		case <-p.over:
			return
		default:
		}
	}
}

func (p *phones) note(n int, id parts.CommandID) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.answered[id] = n
	now := time.Now()
	p.longest = max(p.longest, now.Sub(p.last))
	p.last = now
}

// by is how many scans a server has answered.
func (p *phones) by(n int) (count int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, by := range p.answered {
		if by == n {
			count++
		}
	}
	return count
}

// goOn waits until each server has answered some more scans.
func (p *phones) goOn(servers int) {
	p.t.Helper()
	for n := range servers {
		from := p.by(n)
		require.Eventually(p.t, func() bool { return p.by(n) > from+20 }, 20*time.Second, 5*time.Millisecond, "server %d saves again", n)
	}
}

// stop ends the phones and compares: every scan that was answered is in the
// log once, and nothing else is.
func (p *phones) stop() {
	p.t.Helper()
	close(p.over)
	p.all.Wait()
	rows, err := p.shop.raw().Query("SELECT command, count(*) FROM events WHERE kind = 'done' GROUP BY command")
	require.NoError(p.t, err)
	defer rows.Close()
	found := 0
	for rows.Next() {
		var id []byte
		var times int
		require.NoError(p.t, rows.Scan(&id, &times))
		assert.Equal(p.t, 1, times, "a scan is saved once")
		assert.Contains(p.t, p.answered, parts.CommandID(id))
		found++
	}
	require.NoError(p.t, rows.Err())
	assert.Equal(p.t, len(p.answered), found, "every scan that was answered is there")
	p.shop.balanced()
	p.t.Logf("%d scans answered, %v the longest time without an answer", found, p.longest.Round(time.Millisecond))
}

// another opens another server of the shop.
func (s *shop) another() *store.Store {
	other := s.open()
	s.t.Cleanup(func() { require.NoError(s.t, other.Close()) })
	return other
}

func TestAStandbyTakesOverAndNothingIsLost(t *testing.T) {
	primary := newCluster(t)
	standby := primary.standby()
	s := openShopIn(t, primary.dsn(standby))
	other := s.another()
	scans := s.scanOn(t, 16, s.Store, other)
	scans.goOn(2)
	time.Sleep(500 * time.Millisecond)
	primary.run("pg_ctl", "-D", primary.dir, "-m", "immediate", "stop")
	standby.run("pg_ctl", "-D", standby.dir, "-w", "promote")
	scans.goOn(2)
	scans.stop()
}

func TestAKilledDatabaseLosesNothing(t *testing.T) {
	c := newCluster(t)
	s := openShopIn(t, c.dsn())
	rounds := 20
	if os.Getenv("BENCHTALLY_TEST_FULL") != "" {
		rounds = 100
	}
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewPCG(seed, 0))
	for range rounds {
		scans := s.scanOn(t, 16, s.Store)
		scans.goOn(1)
		time.Sleep(time.Duration(random.IntN(200)) * time.Millisecond)
		c.kill()
		c.start()
		scans.goOn(1)
		close(scans.over)
		scans.all.Wait()
		s.kept(t, scans)
	}
	s.balanced()
}

// kept compares what a round's phones were answered with the log.
func (s *shop) kept(t *testing.T, p *phones) {
	t.Helper()
	db := s.raw()
	for id := range p.answered {
		var times int
		require.NoError(t, db.QueryRow("SELECT count(*) FROM events WHERE command = $1", id[:]).Scan(&times))
		require.Equal(t, 1, times, "a scan that was answered is there once")
	}
}

func TestBrokenConnectionsDoubleNothing(t *testing.T) {
	c := newCluster(t)
	s := openShopIn(t, c.dsn())
	scans := s.scanOn(t, 8, s.Store, s.another())
	scans.goOn(2)
	readings := 0 // what has no id of its own is not doubled either
	scans.all.Go(func() {
		for {
			select {
			case <-scans.over:
				return
			default:
			}
			readings++
			err := s.AddReadings(ctx, "Ann", []store.Reading{{At: noon, Celsius: 19, Humidity: 40, Source: "sensor"}})
			assert.NoError(t, err)
		}
	})
	db := c.open()
	for range 40 {
		_, err := db.Exec("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE pid <> pg_backend_pid() AND backend_type = 'client backend'")
		require.NoError(t, err)
		time.Sleep(25 * time.Millisecond)
	}
	scans.goOn(2)
	scans.stop()
	var kept int
	require.NoError(t, db.QueryRow("SELECT count(*) FROM readings").Scan(&kept))
	assert.Equal(t, readings, kept)
}

func TestAServerSaysThatTheDatabaseIsAway(t *testing.T) {
	c := newCluster(t)
	s := openShopIn(t, c.dsn())
	c.run("pg_ctl", "-D", c.dir, "-m", "immediate", "stop")
	began := time.Now()
	_, err := s.bore(s.marks[0])
	require.Contains(t, []string{"database-away", "outcome-unknown"}, parts.CodeOf(err))
	assert.Contains(t, err.Error(), "Sending it again is safe.")
	assert.Less(t, time.Since(began), 15*time.Second)
	began = time.Now()
	_, err = s.bore(s.marks[0])
	require.Equal(t, "database-away", parts.CodeOf(err))
	assert.Less(t, time.Since(began), 5*time.Second, "patience is over for all")
	c.start()
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	s.balanced()
}

func needPostgres(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("PostgreSQL only: a file has one server")
	}
}

func TestAnotherServerIsHeardOf(t *testing.T) {
	needPostgres(t)
	s := openShop(t)
	other := s.another()
	signal, stop := other.Watch()
	defer stop()
	office := make(chan bool, 8)
	other.OnOffice(func() { office <- true })
	heard := func(what string) {
		t.Helper()
		select {
		case <-signal:
		case <-time.After(10 * time.Second):
			t.Fatal("nothing was heard of " + what)
		}
	}
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	heard("a scan")
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	heard("the next scan")
	assert.Empty(t, office, "the office did nothing; the name of the person was known")

	require.NoError(t, s.SaveStation(ctx, parts.StationRow{Key: "lathe", Name: "at the lathe", Place: 2}))
	heard("a station")
	assert.Len(t, office, 1)

	_, err = s.raw().Exec("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE query LIKE 'LISTEN%' AND query LIKE '%' || (SELECT oid FROM pg_namespace WHERE nspname = current_schema()) || '%'")
	require.NoError(t, err)
	heard("what may have been missed")
	assert.Len(t, office, 2)
}
