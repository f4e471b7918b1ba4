package store_test

import (
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// seeing is bored, and notes how many events it saw each time it was asked.
func seeing(seen chan<- int) func(parts.View, int64) (store.Decision, error) {
	return func(v parts.View, person int64) (store.Decision, error) {
		seen <- v.Subject.Seq
		return bored(v, person)
	}
}

// hold keeps everybody else from writing the shop's file until let is called.
func (s *shop) hold() (let func(how string)) {
	s.t.Helper()
	other := s.raw()
	other.SetMaxOpenConns(1)
	_, err := other.Exec("BEGIN IMMEDIATE")
	require.NoError(s.t, err)
	return func(how string) {
		_, err := other.Exec(how)
		require.NoError(s.t, err)
	}
}

// asked has ask ask the writer, who decides ahead, and not write by itself.
func (s *shop) asked(ask func()) {
	leave := s.Desk()
	ask()
	time.Sleep(50 * time.Millisecond) // it has asked then; if not, what is seen next fails
	leave()
}

func TestWhatFollowsAGroupThatIsNotSavedIsDecidedAgain(t *testing.T) {
	shoptest.NeedSQLite(t, "on PostgreSQL no group is decided before the last is saved")
	s := openShop(t)
	_, err := s.bore(s.marks[0]) // it is remembered now
	require.NoError(t, err)
	require.NoError(t, s.Pragma("busy_timeout = 1000"))
	let := s.hold()

	seen := make(chan int, 4)
	var all sync.WaitGroup
	scan := func() (err error) {
		c := command("scan")
		c.Subject = s.marks[0]
		_, err = s.Change(ctx, c, seeing(seen))
		return err
	}
	first := make(chan error)
	s.asked(func() { go func() { first <- scan() }() })
	assert.Equal(t, 2, <-seen)
	time.Sleep(50 * time.Millisecond) // it is on its way then; if not, both are one group, which fails below
	all.Go(func() { assert.NoError(t, scan()) })
	assert.Equal(t, 3, <-seen, "as if the first were saved")
	assert.Equal(t, "file-locked", parts.CodeOf(<-first))
	let("ROLLBACK")
	all.Wait()
	require.Len(t, seen, 1)
	assert.Equal(t, 2, <-seen, "again, since it was not")
	assert.Equal(t, 3, s.state(s.marks[0]).Seq)
	s.balanced()
}

func TestAGroupIsDecidedAgainWhenSomebodyElseHasWritten(t *testing.T) {
	shoptest.NeedSQLite(t, "on PostgreSQL no group is decided before the last is saved")
	s := openShop(t)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	let := s.hold()
	seen := make(chan int, 4)
	var all sync.WaitGroup
	for _, want := range []int{2, 3} {
		s.asked(func() {
			all.Go(func() {
				c := command("scan")
				c.Subject = s.marks[0]
				_, err := s.Change(ctx, c, seeing(seen))
				assert.NoError(t, err)
			})
		})
		assert.Equal(t, want, <-seen)
	}
	time.Sleep(50 * time.Millisecond)
	let("INSERT INTO counters (name, value) VALUES ('of another', 1); COMMIT")
	all.Wait()
	assert.Len(t, seen, 2, "both once more")
	assert.Equal(t, 4, s.state(s.marks[0]).Seq)
	s.balanced()
}

// Everything at once: scans of few marks, repeats, faults in deciding and in
// writing the answer, the office and another program.
func TestWhateverHappensEachCommandIsThereOnceOrNotAtAll(t *testing.T) {
	s := openShop(t)
	other := s.raw()
	saved := map[parts.CommandID]bool{}
	var mu sync.Mutex
	var all sync.WaitGroup
	for worker := range 24 {
		all.Go(func() {
			dice := rand.New(rand.NewPCG(7, uint64(worker)))
			for range 40 {
				c := command("scan")
				c.Subject = s.marks[dice.IntN(10)]
				roll := dice.IntN(20)
				a, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
					d, err := bored(v, person)
					switch roll {
					case 0:
						panic("out of range")
					case 1:
						d.Answer = func(store.After) any {
							return unwritten(func() ([]byte, error) { return nil, assert.AnError })
						}
					case 2:
						return d, parts.Problemf(parts.Refused, "wet", "It is wet.")
					}
					return d, err
				})
				switch {
				case roll < 2:
					assert.Error(t, err)
					continue
				case roll == 3:
					again, err := s.Change(ctx, c, bored)
					assert.NoError(t, err)
					assert.True(t, again.Repeat)
				case roll == 4 && worker == 0:
					_, err := other.Exec(fmt.Sprintf("INSERT INTO counters (name, value) VALUES ('%s', 1)", c.ID))
					assert.NoError(t, err)
				case roll == 5:
					assert.NoError(t, s.Turn(false, func(any) error { return nil }))
				}
				assert.NoError(t, err)
				if a.Outcome == "recorded" {
					mu.Lock()
					saved[c.ID] = true
					mu.Unlock()
				}
			}
		})
	}
	all.Wait()
	there := map[parts.CommandID]int{}
	for _, e := range s.events() {
		if e.Kind == parts.Did {
			there[e.Command]++
		}
	}
	assert.Len(t, there, len(saved))
	for id := range saved {
		assert.Equal(t, 1, there[id])
	}
	s.balanced()
}
