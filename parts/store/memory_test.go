package store_test

import (
	"errors"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/store"
)

// The writer remembers what it has read and written, and must never decide on
// what is no longer so.
func TestTheWriterSeesWhatAnotherProgramWrote(t *testing.T) {
	s := openShop(t)
	mark := s.marks[0]
	a, err := s.bore(mark)
	require.NoError(t, err)
	require.JSONEq(t, "1", string(a.Said))
	_, err = s.raw().Exec(`UPDATE part_states SET state = replace(state, '"next":1', '"next":2') WHERE part = $1`, string(mark))
	require.NoError(t, err)
	a, err = s.bore(mark)
	require.NoError(t, err)
	assert.JSONEq(t, "3", string(a.Said))
}

func TestTheWriterForgetsWhatWasRolledBack(t *testing.T) {
	s := openShop(t)
	mark := s.marks[0]
	_, err := s.bore(mark)
	require.NoError(t, err)
	c := command("scan")
	c.Subject, c.By = mark, "Ben"
	_, err = s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
		d, err := bored(v, person)
		d.Answer = func(store.After) any { panic("after the rows were written") }
		return d, err
	})
	require.Error(t, err)
	a, err := s.bore(mark)
	require.NoError(t, err)
	assert.JSONEq(t, "2", string(a.Said), "the hole of the command that failed was not bored")
	c.ID = command("scan").ID
	_, err = s.Change(ctx, c, bored)
	require.NoError(t, err)
	people, err := s.People(ctx)
	require.NoError(t, err)
	last := s.events()[3]
	assert.Equal(t, "Ben", people[last.By], "the person of the command that failed was not kept")
	s.balanced()
}

// Whether a command is new is told by its id, and must not depend on the order
// in which ids are made.
func TestARepeatIsKnownWhateverItsID(t *testing.T) {
	s := openShop(t)
	var done []store.Command
	bore := func(id byte) {
		c := command("scan")
		c.Subject, c.ID = s.marks[0], parts.CommandID{id}
		a, err := s.Change(ctx, c, bored)
		require.NoError(t, err)
		require.False(t, a.Repeat, "%d", id)
		done = append(done, c)
	}
	repeats := func() {
		for i, c := range done {
			a, err := s.Change(ctx, c, bored)
			require.NoError(t, err)
			assert.True(t, a.Repeat)
			assert.JSONEq(t, fmt.Sprint(i+1), string(a.Said))
		}
	}
	bore(0xf3)
	bore(0xf1)
	bore(0xf5)
	repeats()
	require.NoError(t, s.AddPerson(ctx, "Ben")) // the writer forgets
	bore(0xf2)
	bore(0xf6)
	repeats()
	other := parts.CommandID{0xf7}
	_, err := s.raw().Exec(`INSERT INTO commands SELECT $1, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, settled, marks
FROM commands WHERE id = $2`, other[:], done[0].ID[:])
	require.NoError(t, err)
	c := done[0]
	c.ID = other
	a, err := s.Change(ctx, c, bored)
	require.NoError(t, err)
	assert.True(t, a.Repeat, "another program kept it")
	s.balanced()
}

// The spares of a line are remembered by their marks: when one takes a place,
// the line has one less, and one more when that is undone.
func TestTheWriterKnowsTheSparesOfALine(t *testing.T) {
	s := openShop(t)
	spares := func() (n int) {
		c := command("look")
		c.Subject = s.marks[0]
		_, err := s.Change(ctx, c, func(v parts.View, _ int64) (store.Decision, error) {
			n = len(v.Group)
			return store.Decision{}, errors.New("only looked")
		})
		require.ErrorContains(t, err, "only looked")
		return n
	}
	took := func(kind parts.EventKind, back *parts.State) parts.State {
		var was parts.State
		c := command("take")
		c.Subject = s.marks[8]
		_, err := s.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
			was = v.Subject
			return store.Decision{
				Events: []parts.Event{{Part: s.marks[8], Kind: kind, At: v.Now, By: person, Step: -1, Detail: parts.Detail{Other: s.marks[1], Back: back}}},
				Answer: func(store.After) any { return len(v.Group) },
			}, nil
		})
		require.NoError(t, err)
		return was
	}
	_, err := s.bore(s.marks[0]) // remembers them
	require.NoError(t, err)
	require.Equal(t, 2, spares())
	was := took(parts.TookPlace, nil)
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	require.Equal(t, 1, spares())
	took(parts.Reverted, &was)
	require.Equal(t, 2, spares())
	s.balanced()
}
