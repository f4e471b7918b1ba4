package store_test

import (
	"encoding/binary"
	"os"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// logTurn is how often the log was begun again: its checkpoint sequence number,
// https://www.sqlite.org/fileformat2.html#walformat.
func (s *shop) logTurn() uint32 {
	s.t.Helper()
	file, err := os.Open(s.dsn + "-wal")
	require.NoError(s.t, err)
	defer file.Close()
	var head [16]byte
	_, err = file.ReadAt(head[:], 0)
	require.NoError(s.t, err)
	return binary.BigEndian.Uint32(head[12:])
}

// crowd bores without a pause until it is told to stop.
func (s *shop) crowd() (stop func()) {
	var ended atomic.Bool
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for !ended.Load() {
				if _, err := s.bore(s.marks[i]); err != nil {
					assert.NoError(s.t, err)
					return
				}
			}
		})
	}
	return func() {
		ended.Store(true)
		all.Wait()
	}
}

func TestTheLogIsBegunAgainWhileTheShopWorks(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL sees to its log by itself")
	s := openShop(t)
	turn := s.logTurn()
	defer s.balanced()
	defer s.crowd()()
	require.Eventually(t, func() bool { return s.logTurn() > turn }, time.Minute, time.Millisecond, "it grows on and on")
	info, err := os.Stat(s.dsn + "-wal")
	require.NoError(t, err)
	assert.Less(t, info.Size(), int64(store.LongestLog)*4096, "SQLite did it, while everybody waited")
}

func TestTheLogStaysWhileSomebodyReadsIt(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL sees to its log by itself")
	s := openShop(t)
	reading, err := s.raw().Begin()
	require.NoError(t, err)
	var before, after int
	require.NoError(t, reading.QueryRow("SELECT count(*) FROM events").Scan(&before))
	turn := s.logTurn()
	for range store.WorksInLog + 400 {
		_, err := s.bore(s.marks[0])
		require.NoError(t, err)
	}
	assert.Equal(t, turn, s.logTurn())
	require.NoError(t, reading.QueryRow("SELECT count(*) FROM events").Scan(&after))
	assert.Equal(t, before, after, "the same moment")
	require.NoError(t, reading.Rollback())
	s.balanced()
}

func TestACrowdAtPiecesThatNobodyTouchedIsSavedTogether(t *testing.T) {
	s := openShop(t)
	_, err := s.CreateJob(ctx, command("list"), store.NewJob{Name: "Backs", Code: "BACKS", Lines: []parts.Line{
		{Kind: parts.Single, Name: "Slat", Quantity: 2000, Steps: 1},
	}}, s.list)
	require.NoError(t, err)
	require.NoError(t, s.Close())
	s.Store = s.open() // and remembers nothing
	before := s.Tally().Groups
	var all sync.WaitGroup
	const crowd = 50
	for i := range crowd {
		all.Go(func() {
			for n := i; n < 2000; n += crowd {
				if _, err := s.bore(s.marks[n]); err != nil {
					assert.NoError(t, err)
					return
				}
			}
		})
	}
	all.Wait()
	groups := s.Tally().Groups
	works, commits := groups.Sum-before.Sum, groups.Count-before.Count
	assert.GreaterOrEqual(t, works, 2000.0)
	assert.Greater(t, works/float64(commits), 5.0, "%v works in %d commits", works, commits)
	s.balanced()
}
