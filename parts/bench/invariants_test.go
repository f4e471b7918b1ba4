package bench_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// What must hold after any history, by name.
var invariants = []struct {
	name  string
	holds func(*days)
}{
	{"the history adds up to the state", (*days).replayEqualsState},
	{"nothing passes what must be recorded without a visible word", (*days).recordsAreKept},
	{"what is wet does not move without a visible word", (*days).wetStays},
	{"a refusal is overruled only when a person says so", (*days).wordsAreGiven},
	{"what is held, scrapped or in an assembly does not move", (*days).stoppedStays},
	{"the quantity of every line is accounted for", (*days).quantitiesAreAccountedFor},
	{"no part is in two places", (*days).onePlaceEach},
	{"what took a place stands in one chain of replacements", (*days).chainsHold},
	{"a ticket's scan moves all or none", (*days).ticketsMoveAllOrNone},
	{"a refusal writes nothing", (*days).refusalsWriteNothing},
	{"time goes forward in the log", (*days).timeGoesForward},
}

// inOrder checks every invariant.
func (d *days) inOrder() {
	for _, i := range invariants {
		i.holds(d)
		if d.Failed() {
			d.Fatalf("it does not hold that %s", i.name)
		}
	}
}

func TestAnyHistoryKeepsTheShopInOrder(t *testing.T) {
	randomDays(t, 20, func(d *days) {
		d.live(1 + d.number("things that happen", 40))
		d.inOrder()
	})
}

func TestAnyHistoryCanBeRebuilt(t *testing.T) {
	randomDays(t, 12, func(d *days) {
		d.live(1 + d.number("things that happen", 20))
		check := func() {
			books, err := d.Check(context.Background())
			require.NoError(d, err)
			require.Empty(d, books.Differences)
		}
		check()
		states := d.all()
		require.NoError(d, d.Rebuild(context.Background()))
		check()
		d.look()
		require.Equal(d, states, d.all())
	})
}

func TestARepeatedCommandIsDoneOnce(t *testing.T) {
	randomDays(t, 15, func(d *days) {
		d.live(1 + d.number("things that happen", 8))
		d.repeat()
	})
}

// repeat sends something once more that was asked before: the answer is the
// same, and nothing happens.
func (d *days) repeat() {
	first := d.last
	if len(d.recorded) > 0 && d.chance("something earlier", 5) {
		first = d.asked[pick(d, "command", d.recorded...)]
	}
	states := d.all()
	again, err := d.ask(first)
	if first.err != nil {
		require.Error(d, err)
		require.Equal(d, first.err.Error(), err.Error())
		return
	}
	require.NoError(d, err)
	require.True(d, again.Repeat)
	again.Repeat = first.answer.Repeat
	if first.answer.Problem != nil {
		require.Equal(d, first.answer.Problem.Error(), again.Problem.Error())
		again.Problem = first.answer.Problem
	}
	require.Equal(d, first.answer, again)
	d.look()
	require.Equal(d, states, d.all(), "done once")
}

func TestAnIDUsedForSomethingElseIsInvalid(t *testing.T) {
	randomDays(t, 12, func(d *days) {
		// What names no cart makes no sense and uses no id up.
		sensible := slices.DeleteFunc(slices.Clone(verbs), func(v string) bool { return v == "load" })
		first := d.act(d.next(sensible))
		log := d.log()
		other := d.next(sensible)
		other.r.ID = first.r.ID
		other.r.By = "Somebody else"
		_, err := d.ask(other)
		require.Equal(d, "id-reused", parts.CodeOf(err), "%v", err)
		require.Equal(d, parts.Invalid, parts.AsProblem(err).Sort)
		d.look()
		require.Equal(d, log, d.log())
	})
}

func TestDoThenUndoIsNothing(t *testing.T) {
	randomDays(t, 30, func(d *days) {
		d.live(0 + d.number("things that happen before", 21))
		before := d.statesBut()
		a := d.act(d.next(verbs))
		if a.err != nil || a.answer.Outcome != "recorded" {
			d.T.Skip("nothing was done")
		}
		if rapid.Bool().Draw(d.T, "labels are printed") {
			d.print()
			before = d.withLabelsOf(before)
		}
		undo := d.act(asking{verb: "undo", target: a.r.ID, r: bench.Request{ID: shoptest.NewID()}})
		require.NoError(d, undo.err)
		after := d.statesBut()
		for id := range after {
			if _, ok := before[id]; !ok {
				require.True(d, after[id].Scrapped, "what was made by mistake is void")
				require.False(d, after[id].LabelDue)
				delete(after, id)
			}
		}
		assert.Equal(d, before, after)
	})
}

// statesBut gives all states apart from their place in the log.
func (d *days) statesBut() map[parts.ID]parts.State {
	out := map[parts.ID]parts.State{}
	for _, s := range d.all() {
		s.Seq = 0
		out[s.Part] = s
	}
	return out
}

// print prints the labels that wait.
func (d *days) print() {
	_, err := d.Print(context.Background(), bench.PrintRequest{ID: shoptest.NewID(), Job: d.job.Job.Code, What: "labels", Due: true})
	if err != nil {
		require.Equal(d, "print-nothing", parts.CodeOf(err))
	}
	d.look()
}

// withLabelsOf gives states with the labels that lie on the bench now.
func (d *days) withLabelsOf(states map[parts.ID]parts.State) map[parts.ID]parts.State {
	for _, s := range d.job.States {
		if was, ok := states[s.Part]; ok && !s.Scrapped {
			was.LabelDue = was.LabelDue && s.Copies == was.Copies // what was printed is due no more
			was.Copies = s.Copies
			states[s.Part] = was
		}
	}
	return states
}
