package bench_test

import (
	"encoding/json"
	"slices"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// replayEqualsState: the history adds up to the state as it is kept, which
// knows no list that is empty.
func (d *days) replayEqualsState() {
	log := d.log()
	for _, s := range d.all() {
		kept, err := json.Marshal(s)
		require.NoError(d, err)
		folded, err := json.Marshal(parts.Fold(log[s.Part]))
		require.NoError(d, err)
		assert.JSONEq(d, string(kept), string(folded))
	}
}

// moved calls each for every step of work that was recorded, with the state
// before it.
func (d *days) moved(each func(before parts.State, e parts.Event)) {
	for _, events := range d.log() {
		var s parts.State
		for _, e := range events {
			after := parts.Apply(s, e)
			if (e.Kind == parts.Did || e.Kind == parts.Mended) && ended(s, after, e) == nil {
				each(s, e)
			}
			s = after
		}
	}
}

// told calls each for every event, with the state before it.
func (d *days) told(each func(before parts.State, e parts.Event)) {
	for _, events := range d.log() {
		var s parts.State
		for _, e := range events {
			each(s, e)
			s = parts.Apply(s, e)
		}
	}
}

// recordsAreKept: a step that must be recorded is passed only with a word that
// stays, an override or the reason why it was left out, and whatever was not
// recorded is not shown as done.
func (d *days) recordsAreKept() {
	d.moved(func(before parts.State, e parts.Event) {
		steps, from := d.job.Routings[before.Steps].Steps, before.Next
		if e.Kind == parts.Mended {
			steps, from = before.Repair, before.Mend
		}
		passed := slices.Clone(steps[from:e.Step])
		if e.Kind == parts.Did {
			passed = append(passed, before.Repair[before.Mend:]...)
		}
		if slices.ContainsFunc(passed, func(s parts.Step) bool { return s.Record }) {
			assert.NotEmpty(d, e.Detail.Override, "%s passed over %v", e.Part, passed)
		}
		for i := from; i < e.Step; i++ {
			if e.Kind == parts.Did && steps[i].Binds {
				continue // what is glued up was put together, and says so
			}
			assert.Contains(d, e.Detail.Filled, i, "what nobody recorded is not shown as done")
		}
	})
	d.told(func(before parts.State, e parts.Event) {
		if e.Kind != parts.Skipped {
			return
		}
		assert.NotEmpty(d, e.Detail.Note, "%s left steps out without a reason", e.Part)
		assert.False(d, before.Mending(), "%s left its repair", e.Part)
		after := parts.Apply(before, e)
		for i := before.Next; i < after.Next; i++ {
			assert.Equal(d, parts.WasSkipped, after.Past[i].How, "step %d of %s", i, e.Part)
		}
	})
}

// wetStays: while a clock runs nothing is done to a piece without a word, and
// only its end or such a word stops a clock.
func (d *days) wetStays() {
	moves := []parts.EventKind{parts.Did, parts.Mended, parts.Fitted, parts.Skipped, parts.Delivered}
	d.told(func(before parts.State, e parts.Event) {
		_, wet := before.Waiting(e.At)
		after := parts.Apply(before, e)
		if off := ended(before, after, e); off != nil {
			assert.True(d, e.Detail.Override != "" || !e.At.Before(off.Ends()), "%s: out of its clamps too early", e.Part)
			return
		}
		if wet && slices.Contains(moves, e.Kind) {
			assert.NotEmpty(d, e.Detail.Override, "%s: %s while it was wet", e.Part, e.Kind)
		}
		if wet && e.Detail.Override == "" && e.Kind != parts.Reverted {
			assert.False(d, after.Ready().Before(before.Ready()), "%s: %s dries no coat", e.Part, e.Kind)
		}
	})
}

// ended is the wait in clamps that an event ended; nil when it did a step. What
// else is waited for goes on, and the piece stands where it stood.
func ended(before, after parts.State, e parts.Event) *parts.Wait {
	if e.Kind != parts.Did && e.Kind != parts.Mended {
		return nil
	}
	i := slices.IndexFunc(before.Waits, func(w parts.Wait) bool { return w.Step == e.Step && w.Mends == (e.Kind == parts.Mended) })
	if i < 0 || len(after.Waits) != len(before.Waits)-1 || after.Next != before.Next || after.Mend != before.Mend {
		return nil
	}
	return &before.Waits[i]
}

// wordsAreGiven: a refusal is overruled only where somebody said so.
func (d *days) wordsAreGiven() {
	for _, events := range d.log() {
		for _, e := range events {
			if a, ok := d.asked[e.Command]; ok && e.Detail.Override != "" {
				assert.True(d, a.r.Override, "nobody overruled anything at %s", e.Part)
			}
		}
	}
}

// stoppedStays: what is held, scrapped or in an assembly is not worked on.
func (d *days) stoppedStays() {
	moves := []parts.EventKind{parts.Did, parts.Mended, parts.Fitted, parts.Skipped, parts.Delivered}
	d.told(func(before parts.State, e parts.Event) {
		if !slices.Contains(moves, e.Kind) && e.Kind != parts.Plugged && e.Kind != parts.Flawed && e.Kind != parts.Returned {
			return
		}
		assert.False(d, before.Scrapped, "%s was scrapped", e.Part)
		assert.Empty(d, before.In, "%s was in an assembly", e.Part)
		if slices.Contains(moves, e.Kind) {
			assert.Empty(d, before.Held, "%s was held", e.Part)
		}
	})
}

// byMark are the states of the job by their marks.
func (d *days) byMark() map[parts.ID]parts.State {
	out := map[parts.ID]parts.State{}
	for _, s := range d.job.States {
		out[s.Part] = s
	}
	return out
}

// end follows a piece to what stands in its place. ok is false where that gave
// the place up for another's, which only a spare does.
func end(byMark map[parts.ID]parts.State, s parts.State) (stands parts.State, ok bool) {
	if s.ReplacedBy == "" {
		return s, true
	}
	next := byMark[s.ReplacedBy]
	if next.Replaces != s.Part {
		return next, false
	}
	return end(byMark, next)
}

// quantitiesAreAccountedFor: in the place of each piece that a line was listed
// with there is something live, in an assembly, spare or a test piece, or its
// shortage shows; and nothing stands in two places. A spare that took another's
// place gave up its own.
func (d *days) quantitiesAreAccountedFor() {
	byMark := d.byMark()
	listed, taken := map[int64]int{}, map[parts.ID]parts.ID{}
	for id, events := range d.log() {
		birth := events[0].Detail.Birth
		if birth.Kind.Counts() || birth.Replaces != "" {
			continue
		}
		listed[birth.Line]++
		if byMark[id].Replaces != "" {
			continue
		}
		s, ok := end(byMark, byMark[id])
		if !ok {
			assert.True(d, birth.Spare, "the place of %s is empty", id)
			continue
		}
		assert.False(d, s.Void, "%s stands for %s, and was made by mistake", s.Part, id)
		assert.True(d, !s.Scrapped || s.Short() || s.Spare, "%s is gone, and no shortage shows", id)
		assert.Empty(d, taken[s.Part], "%s stands for %s too", s.Part, id)
		taken[s.Part] = id
	}
	for _, l := range d.job.Lines {
		assert.Equal(d, l.Pieces(), listed[l.ID], "%s", l.Name)
	}
	for _, s := range d.job.States {
		if !s.Kind.Counts() && !s.Scrapped {
			assert.NotEmpty(d, taken[s.Part], "%s stands in nobody's place", s.Part)
		}
	}
}

// chainsHold: a replacement and what it replaces name each other, and what was
// made by mistake stands for nothing.
func (d *days) chainsHold() {
	byMark := d.byMark()
	for _, s := range d.job.States {
		if s.ReplacedBy != "" {
			assert.True(d, s.Scrapped, "%s lives, and was replaced", s.Part)
			assert.True(d, s.Part == byMark[s.ReplacedBy].Replaces || s.Spare, "%s was replaced by %s", s.Part, s.ReplacedBy)
			assert.Equal(d, s.Line, byMark[s.ReplacedBy].Line, "%s", s.Part)
		}
		switch was := byMark[s.Replaces]; {
		case s.Replaces == "":
			assert.False(d, s.Void, "%s was listed, and is void", s.Part)
		case s.Void:
			assert.NotEqual(d, s.Part, was.ReplacedBy, "%s is void and stands for %s", s.Part, was.Part)
		default:
			assert.Equal(d, s.Part, was.ReplacedBy, "%s stands for %s", s.Part, was.Part)
		}
	}
}

// onePlaceEach: a part is in one assembly at most, which knows it and was put
// together as its lines say; and what is in one, scrapped or with the client
// lies on no cart.
func (d *days) onePlaceEach() {
	in := map[parts.ID]parts.ID{}
	for _, s := range d.job.States {
		for _, id := range s.Parts {
			assert.Empty(d, in[id], "%s is in %s and in %s", id, in[id], s.Part)
			in[id] = s.Part
		}
	}
	byMark := d.byMark()
	for _, s := range d.job.States {
		assert.Equal(d, in[s.Part], s.In, "%s", s.Part)
		if s.Cart != "" {
			assert.True(d, !s.Scrapped && s.In == "" && s.Delivered.IsZero(), "%s lies on %s", s.Part, s.Cart)
		}
		if s.Kind != parts.Assembly {
			continue
		}
		got, want := map[int64]int{}, map[int64]int{}
		for _, id := range s.Parts {
			got[byMark[id].Line]++
		}
		fit := slices.IndexFunc(d.stepsOf(s), func(st parts.Step) bool { return st.Binds })
		for _, l := range d.job.Lines {
			if l.Into == s.Line && s.Next > fit {
				want[l.ID] = l.Each
			}
		}
		assert.Equal(d, want, got, "what is in %s at its step %d", s.Part, s.Next)
	}
}

func (d *days) ticketsMoveAllOrNone() {
	moved := map[parts.CommandID]int{}
	d.moved(func(_ parts.State, e parts.Event) {
		if e.Detail.Ticket != "" {
			moved[e.Command]++
		}
	})
	for id, a := range d.asked {
		if a.verb != "scan" || moved[id] == 0 {
			continue
		}
		assert.Equal(d, a.answer.Count, moved[id], "the answer says how many")
		if a.r.Count > 0 && a.r.Blanks == 0 {
			assert.Equal(d, a.r.Count, moved[id], "as many as were counted")
		}
	}
}

func (d *days) refusalsWriteNothing() {
	written := map[parts.CommandID]bool{}
	for _, events := range d.log() {
		for _, e := range events {
			written[e.Command] = true
		}
	}
	for id, a := range d.asked {
		assert.Equal(d, a.err == nil && a.answer.Outcome == "recorded", written[id], "%s: %v", a.verb, a.err)
	}
}

func (d *days) timeGoesForward() {
	for id, events := range d.log() {
		for i, e := range events {
			assert.Equal(d, i+1, e.Seq)
			assert.False(d, e.At.After(e.Recorded), "%s happened after it was recorded", id)
			if i > 0 {
				assert.False(d, e.Recorded.Before(events[i-1].Recorded), "%s", id)
			}
		}
	}
}
