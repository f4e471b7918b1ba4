package bench_test

import (
	"context"
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
	{"no part is in two assemblies", (*days).oneAssemblyEach},
	{"a ticket's scan moves all or none", (*days).ticketsMoveAllOrNone},
	{"a refusal writes nothing", (*days).refusalsWriteNothing},
	{"time goes forward in the log", (*days).timeGoesForward},
}

func TestAnyHistoryKeepsTheShopInOrder(t *testing.T) {
	randomDays(t, 30, func(d *days) {
		d.live(rapid.IntRange(1, 40).Draw(d.T, "things that happen"))
		for _, i := range invariants {
			i.holds(d)
			if d.Failed() {
				d.Fatalf("it does not hold that %s", i.name)
			}
		}
	})
}

func TestAnyHistoryCanBeRebuilt(t *testing.T) {
	randomDays(t, 12, func(d *days) {
		d.live(rapid.IntRange(1, 20).Draw(d.T, "things that happen"))
		check := func() {
			books, err := d.Check(context.Background())
			require.NoError(d, err)
			require.Empty(d, books.Differences)
		}
		check()
		states := d.job.States
		require.NoError(d, d.Rebuild(context.Background()))
		check()
		d.look(d.job.Job.Code)
		require.Equal(d, states, d.job.States)
	})
}

func TestARepeatedCommandIsDoneOnce(t *testing.T) {
	randomDays(t, 25, func(d *days) {
		d.live(rapid.IntRange(0, 5).Draw(d.T, "things that happen before"))
		first := d.act(d.next(verbs))
		d.live(rapid.IntRange(0, 3).Draw(d.T, "things that happen between"))
		between := d.log()
		again, err := d.ask(first)
		if first.err != nil {
			require.Error(d, err)
			require.Equal(d, first.err.Error(), err.Error())
			return
		}
		require.NoError(d, err)
		require.True(d, again.Repeat || first.answer.Repeat)
		again.Repeat = first.answer.Repeat
		if first.answer.Problem != nil {
			require.Equal(d, first.answer.Problem.Error(), again.Problem.Error())
			again.Problem = first.answer.Problem
		}
		require.Equal(d, first.answer, again)
		d.look(d.job.Job.Code)
		require.Equal(d, between, d.log(), "one set of events")
	})
}

func TestAnIDUsedForSomethingElseIsInvalid(t *testing.T) {
	randomDays(t, 12, func(d *days) {
		first := d.act(d.next(verbs))
		log := d.log()
		other := d.next(verbs)
		other.r.ID = first.r.ID
		other.r.By = "Somebody else"
		_, err := d.ask(other)
		require.Equal(d, "id-reused", parts.CodeOf(err), "%v", err)
		require.Equal(d, parts.Invalid, parts.AsProblem(err).Sort)
		d.look(d.job.Job.Code)
		require.Equal(d, log, d.log())
	})
}

func TestDoThenUndoIsNothing(t *testing.T) {
	randomDays(t, 40, func(d *days) {
		d.live(rapid.IntRange(0, 25).Draw(d.T, "things that happen before"))
		before := d.statesBut()
		a := d.act(d.next([]string{"scan", "scan", "plug", "hold", "release", "remake", "remake"}))
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

// statesBut gives the job's states apart from their place in the log.
func (d *days) statesBut() map[parts.ID]parts.State {
	out := map[parts.ID]parts.State{}
	for _, s := range d.job.States {
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
	d.look(d.job.Job.Code)
}

// withLabelsOf gives states with the labels that lie on the bench now.
func (d *days) withLabelsOf(states map[parts.ID]parts.State) map[parts.ID]parts.State {
	for _, s := range d.job.States {
		if was, ok := states[s.Part]; ok && !s.Scrapped {
			was.Copies = s.Copies
			was.LabelDue = was.LabelDue && s.LabelDue
			states[s.Part] = was
		}
	}
	return states
}
