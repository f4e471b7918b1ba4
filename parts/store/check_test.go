package store_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCheckFindsWhatDoesNotAgree(t *testing.T) {
	tests := []struct {
		name   string
		tamper string
		found  string // in what Check says
	}{
		{"the state itself", `UPDATE part_states SET state = replace(state, '"next":1', '"next":2') WHERE part = $1`, `its history gives`},
		{"a column beside it", "UPDATE part_states SET open = 0 WHERE part = $1", "its history gives 1, its state says 0"},
		{"a mark that waits for no label", "UPDATE part_states SET label_due = 1 WHERE part = $1", "its history gives 0, its state says 1"},
		{"a place in the log", "UPDATE part_states SET seq = 9 WHERE part = $1", "no state goes with the last of its 2 events"},
		{"a row that is gone", "DELETE FROM part_states WHERE part = $1", "no state goes with the last of its 2 events"},
		{"a row that was never born", `INSERT INTO part_states (part, kind, job, line, number, open, spare, in_assembly, label_due, cart, seq, fold, state)
SELECT 'ZZZZ', kind, job, line, number, open, spare, in_assembly, label_due, cart, seq, fold, state
FROM part_states WHERE part = $1`, "1 states have no history"},
		{"an older fold", "UPDATE part_states SET fold = 0 WHERE part = $1", "its history gives"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			_, err := s.bore(s.marks[3])
			require.NoError(t, err)
			before := s.statesOfJob()
			_, err = s.raw().Exec(tt.tamper, string(s.marks[3]))
			require.NoError(t, err)
			books, err := s.Check(ctx)
			require.NoError(t, err)
			require.Len(t, books.Differences, 1)
			assert.Contains(t, books.Differences[0], tt.found)
			require.NoError(t, s.Rebuild(ctx))
			s.balanced()
			assert.Equal(t, before, s.statesOfJob())
			_, err = s.bore(s.marks[3])
			require.NoError(t, err, "and work goes on")
		})
	}
}

func TestCheckFailsOnWhatItCannotRead(t *testing.T) {
	insert := `INSERT INTO events (part, seq, kind, command, station, by_person, at, recorded, step, detail)
SELECT part, seq + $1, $2, command, station, by_person, at, recorded, step, '' FROM events WHERE part = $3`
	tests := []struct {
		name  string
		after int
		kind  string
		found string
	}{
		{"a kind of event of a newer program", 1, "sung-to", `"sung-to", which this program does not know`},
		{"a gap in a history", 2, "held", "has a gap: event 3 follows 1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			_, err := s.raw().Exec(insert, tt.after, tt.kind, string(s.marks[0]))
			require.NoError(t, err)
			_, err = s.Check(ctx)
			require.ErrorContains(t, err, tt.found)
			require.ErrorContains(t, s.Rebuild(ctx), tt.found)
			assert.Len(t, s.statesOfJob(), 11, "a rebuild that fails leaves the states as they were")
		})
	}
}

// Another program says so once for all states; one from before that wrote it
// on each.
func TestStatesOfAnotherFoldAreRebuiltAtTheStart(t *testing.T) {
	for name, tamper := range map[string]string{
		"older": "UPDATE counters SET value = value - 1 WHERE name = 'fold'",
		"newer": "UPDATE counters SET value = value + 1 WHERE name = 'fold'",
		"none":  "DELETE FROM counters WHERE name = 'fold'",
	} {
		t.Run(name, func(t *testing.T) {
			s := openShop(t)
			before := s.statesOfJob()
			_, err := s.raw().Exec(`UPDATE part_states SET fold = 0, state = '{}'`)
			require.NoError(t, err)
			_, err = s.raw().Exec(tamper)
			require.NoError(t, err)
			require.NoError(t, s.Close())
			s.Store = s.open()
			s.balanced()
			assert.Equal(t, before, s.statesOfJob())
		})
	}
}

func TestCheckCountsTheBooks(t *testing.T) {
	s := openShop(t)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	books, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, []int{11, 12}, []int{books.Parts, books.Events})
}

// Scans go on while the books are checked, by several people at once.
func TestCheckWhileWorkGoesOn(t *testing.T) {
	s := openShop(t)
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for range 20 {
				_, err := s.bore(s.marks[i])
				assert.NoError(t, err)
			}
		})
	}
	for range 4 {
		all.Go(func() {
			for range 20 {
				books, err := s.Check(ctx)
				assert.NoError(t, err)
				assert.Empty(t, books.Differences)
			}
		})
	}
	all.Wait()
	s.balanced()
}
