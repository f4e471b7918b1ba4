package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/store"
)

// together hands n works to the writer while it is busy, so that they wait
// together, and gives what each returned.
func together(s *shop, n int, do func(i int) error) []error {
	release := s.busy()
	errs := make([]error, n)
	var all sync.WaitGroup
	for i := range n {
		all.Go(func() { errs[i] = do(i) })
		s.queued(i + 1) // in this order
	}
	release()
	all.Wait()
	return errs
}

func TestTheWriterGroupsWhatWaits(t *testing.T) {
	s := openShop(t)
	var mu sync.Mutex
	turns := map[any]int{}
	count := func(turn any) error {
		mu.Lock()
		defer mu.Unlock()
		turns[turn]++
		return nil
	}
	for _, err := range together(s, 64, func(int) error { return s.Turn(false, count) }) {
		require.NoError(t, err)
	}
	assert.Len(t, turns, 1, "64 works in one commit")

	clear(turns)
	for _, err := range together(s, 65, func(i int) error { return s.Turn(i == 32, count) }) {
		require.NoError(t, err)
	}
	assert.Len(t, turns, 3, "32 together, a large one alone, 32 together")
}

func TestManyCommandsAtOnceAreEachDoneOnce(t *testing.T) {
	s := openShop(t)
	var mu sync.Mutex
	answers := map[string]int{}
	errs := together(s, 64, func(i int) error {
		id := s.marks[i%8]
		a, err := s.bore(id)
		mu.Lock()
		defer mu.Unlock()
		answers[string(id)+" "+string(a.Said)]++
		return err
	})
	for _, err := range errs {
		require.NoError(t, err)
	}
	assert.Len(t, answers, 64, "every one was decided on the state the one before left")
	for _, id := range s.marks[:8] {
		assert.Equal(t, 8, s.state(id).Next)
	}
	s.balanced()
}

func TestARepeatIsTheSameAnswerOnce(t *testing.T) {
	s := openShop(t)
	c := command("scan")
	c.Subject = s.marks[0]
	var mu sync.Mutex
	var answers []store.Answer
	errs := together(s, 16, func(int) error {
		a, err := s.Change(ctx, c, bored)
		mu.Lock()
		defer mu.Unlock()
		answers = append(answers, a)
		return err
	})
	repeats := 0
	for i, a := range answers {
		require.NoError(t, errs[i])
		assert.JSONEq(t, "1", string(a.Said))
		if a.Repeat {
			repeats++
		}
	}
	assert.Equal(t, 15, repeats)
	assert.Equal(t, 2, s.state(s.marks[0]).Seq)
	c.Hash = [32]byte{2}
	_, err := s.Change(ctx, c, bored)
	assert.Equal(t, "id-reused", parts.CodeOf(err))
	assert.Equal(t, parts.Invalid, parts.AsProblem(err).Sort)
	s.balanced()
}

func TestAFaultHurtsNoNeighbour(t *testing.T) {
	broken := errors.New("the wire is loose")
	tests := []struct {
		name  string
		fault func() error
		want  string
	}{
		{"a panic", func() error { panic("out of range") }, "out of range"},
		{"a fault", func() error { return broken }, "the wire is loose"},
		{"a nil pointer", func() error { var p *parts.Job; return errors.New(p.Code) }, "nil pointer"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			errs := together(s, 5, func(i int) error {
				c := command("scan")
				c.Subject = s.marks[i]
				_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
					if i == 2 {
						return store.Decision{}, tt.fault()
					}
					return bored(v, person)
				})
				return err
			})
			for i, err := range errs {
				if i == 2 {
					require.ErrorContains(t, err, tt.want)
					assert.Nil(t, parts.AsProblem(err), "a fault is no sentence for a person")
					assert.Equal(t, 1, s.state(s.marks[i]).Seq)
					continue
				}
				require.NoError(t, err)
				assert.Equal(t, 2, s.state(s.marks[i]).Seq)
			}
			s.balanced()
		})
	}
}

func TestAFaultAfterWritingRollsBackOnlyItself(t *testing.T) {
	s := openShop(t)
	errs := together(s, 5, func(i int) error {
		c := command("scan")
		c.Subject = s.marks[i]
		_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			d, err := bored(v, person)
			if i == 2 { // its events are written before the answer is composed
				d.Answer = func(store.After) any { panic("no answer") }
			}
			return d, err
		})
		return err
	})
	for i, err := range errs {
		assert.Equal(t, i == 2, err != nil, "%v", err)
	}
	assert.Len(t, s.events(), 10+4)
	assert.Equal(t, 1, s.state(s.marks[2]).Seq)
	_, err := s.bore(s.marks[2])
	require.NoError(t, err, "the writer goes on")
	s.balanced()
}

func TestARefusalIsKeptAndHurtsNobody(t *testing.T) {
	s := openShop(t)
	errs := together(s, 3, func(i int) error {
		c := command("scan")
		c.Subject = s.marks[i]
		a, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			if i == 1 {
				return store.Decision{}, parts.Problemf(parts.Refused, "wet", "It is wet until %s.", noon)
			}
			return bored(v, person)
		})
		if i == 1 {
			again, _ := s.Change(ctx, c, bored)
			assert.Equal(t, "refused", a.Outcome)
			assert.Equal(t, a.Problem.Error(), again.Problem.Error())
			assert.True(t, again.Repeat)
		}
		return err
	})
	assert.Equal(t, []error{nil, nil, nil}, errs)
	assert.Len(t, s.events(), 10+2)
	s.balanced()
}

func TestACallerWhoGoesAwayLosesNothing(t *testing.T) {
	s := openShop(t)
	release := s.busy()
	c := command("scan")
	c.Subject = s.marks[0]
	caller, hangUp := context.WithCancel(ctx)
	answered := make(chan error)
	go func() {
		_, err := s.Change(caller, c, bored)
		answered <- err
	}()
	s.queued(1)
	hangUp()
	release()
	<-answered
	a, err := s.Change(ctx, c, bored)
	require.NoError(t, err)
	assert.True(t, a.Repeat, "it was done although nobody waited for it")
	assert.Equal(t, 2, s.state(s.marks[0]).Seq)
	s.balanced()
}

func TestWhatWasHandedInIsDoneBeforeClosing(t *testing.T) {
	s := openShop(t)
	release := s.busy()
	var all sync.WaitGroup
	errs := make([]error, 8)
	for i := range errs {
		all.Go(func() { _, errs[i] = s.bore(s.marks[i]) })
		s.queued(i + 1)
	}
	closed := make(chan error)
	go func() { closed <- s.Close() }()
	release()
	all.Wait()
	require.NoError(t, <-closed)
	_, err := s.bore(s.marks[0])
	assert.Equal(t, "closing", parts.CodeOf(err))
	s.Store = s.open()
	for i, err := range errs {
		require.NoError(t, err)
		assert.Equal(t, 2, s.state(s.marks[i]).Seq, fmt.Sprint(i))
	}
	s.balanced()
}
