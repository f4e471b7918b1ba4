package store_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/store"
)

// unwritten is an answer with a way of its own to be written.
type unwritten func() ([]byte, error)

func (u unwritten) MarshalJSON() ([]byte, error) { return u() }

// Rows are written while later commands are decided, so a fault shows when
// those are done with: it is still its own command's.
func TestARowThatCannotBeWrittenHurtsNoNeighbour(t *testing.T) {
	const broken = 20 // when the marks are remembered, so nothing is read in between
	for name, write := range map[string]unwritten{
		"an error": func() ([]byte, error) { return nil, errors.New("the pen is dry") },
		"a panic":  func() ([]byte, error) { panic("the pen is dry") },
	} {
		t.Run(name, func(t *testing.T) {
			s := openShop(t)
			errs := together(s, 64, func(i int) error {
				c := command("scan")
				c.Subject = s.marks[i%8]
				_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
					d, err := bored(v, person)
					if i == broken {
						d.Answer = func(store.After) any { return write }
					}
					return d, err
				})
				return err
			})
			for i, err := range errs {
				if i == broken {
					require.ErrorContains(t, err, "the pen is dry")
					assert.Nil(t, parts.AsProblem(err), "a fault is no sentence for a person")
					continue
				}
				require.NoError(t, err)
			}
			assert.Equal(t, 8, s.state(s.marks[broken%8]).Seq)
			assert.Equal(t, 9, s.state(s.marks[3]).Seq)
			s.balanced()
		})
	}
}

// What a command reads from the file has everything that was decided before.
func TestTheFileIsReadWhenThePenIsDown(t *testing.T) {
	s := openShop(t)
	lines, err := s.Lines(ctx, s.job.ID)
	require.NoError(t, err)
	seen := make([]int, 64)
	errs := together(s, 64, func(i int) error {
		if i%9 != 8 {
			_, err := s.bore(s.marks[0])
			return err
		}
		c := command("look")
		c.Subject = lines[0].Ticket
		_, err := s.Change(ctx, c, func(v parts.View, _ int64) (store.Decision, error) {
			seen[i] = v.Group[0].Seq
			return store.Decision{Answer: func(store.After) any { return nil }}, nil
		})
		return err
	})
	bored := 1
	for i, err := range errs {
		require.NoError(t, err)
		if i%9 != 8 {
			bored++
			continue
		}
		assert.Equal(t, bored, seen[i], "%d", i)
	}
	s.balanced()
}

func TestARepeatInAGroupIsNotDecidedAgain(t *testing.T) {
	s := openShop(t)
	c := command("scan")
	c.Subject = s.marks[0]
	decided := 0
	for _, err := range together(s, 16, func(int) error {
		_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			decided++
			return bored(v, person)
		})
		return err
	}) {
		require.NoError(t, err)
	}
	assert.Equal(t, 1, decided)
	s.balanced()
}
