package bench_test

import (
	"slices"
	"time"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
)

func (d *days) replayEqualsState() {
	log := d.log()
	for _, s := range d.job.States {
		assert.Equal(d, s, parts.Fold(log[s.Part]))
	}
}

// moved calls each for every step that was recorded, with the state before it.
func (d *days) moved(each func(before parts.State, e parts.Event)) {
	for _, events := range d.log() {
		var s parts.State
		for _, e := range events {
			if e.Kind == parts.Did || e.Kind == parts.Mended {
				each(s, e)
			}
			s = parts.Apply(s, e)
		}
	}
}

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
			assert.Contains(d, e.Detail.Filled, i, "what nobody recorded is not shown as done")
		}
	})
}

func (d *days) wetStays() {
	d.moved(func(before parts.State, e parts.Event) {
		if _, wet := before.Waiting(e.At); wet {
			assert.NotEmpty(d, e.Detail.Override, "%s moved while it was wet", e.Part)
		}
	})
	for _, events := range d.log() {
		var s parts.State
		for _, e := range events {
			if _, wet := s.Waiting(e.At); wet && e.Kind == parts.Fitted {
				assert.NotEmpty(d, e.Detail.Override, "%s was fitted wet", e.Part)
			}
			if e.Kind == parts.Plugged {
				after := parts.Apply(s, e)
				assert.False(d, after.Ready().Before(laterOf(s.Ready(), e.At)), "a plug dries no coat")
			}
			s = parts.Apply(s, e)
		}
	}
}

func (d *days) wordsAreGiven() {
	for _, events := range d.log() {
		for _, e := range events {
			if e.Detail.Override != "" {
				assert.True(d, d.asked[e.Command].r.Override, "nobody overruled anything at %s", e.Part)
			}
		}
	}
}

func laterOf(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

func (d *days) stoppedStays() {
	d.moved(func(before parts.State, e parts.Event) {
		assert.False(d, before.Scrapped, "%s was scrapped", e.Part)
		assert.Empty(d, before.Held, "%s was held", e.Part)
		assert.Empty(d, before.In, "%s was in an assembly", e.Part)
	})
}

// quantitiesAreAccountedFor: every part of a line is live, in an assembly, a
// spare, or scrapped and replaced; what a remake made by mistake is void.
func (d *days) quantitiesAreAccountedFor() {
	byMark := map[parts.ID]parts.State{}
	for _, s := range d.job.States {
		byMark[s.Part] = s
	}
	needed, whole := map[int64]int{}, map[int64]int{}
	for _, s := range d.job.States {
		switch {
		case s.Kind == parts.Ticket:
		case !s.Scrapped && s.Spare:
		case !s.Scrapped:
			needed[s.Line]++
			whole[s.Line]++
			if s.In != "" {
				assert.Contains(d, byMark[s.In].Parts, s.Part)
			}
		case s.ReplacedBy != "":
			assert.Equal(d, s.Part, byMark[s.ReplacedBy].Replaces, "%s was replaced by %s", s.Part, s.ReplacedBy)
		default:
			assert.NotEqual(d, s.Part, byMark[s.Replaces].ReplacedBy, "%s is void and stands for nothing", s.Part)
			assert.NotEmpty(d, s.Replaces)
		}
	}
	for _, l := range d.job.Lines {
		assert.GreaterOrEqual(d, needed[l.ID], l.Quantity, "%s", l.Name)
		assert.LessOrEqual(d, whole[l.ID], l.Quantity+l.Spares, "%s", l.Name)
	}
}

func (d *days) oneAssemblyEach() {
	in := map[parts.ID]parts.ID{}
	for _, s := range d.job.States {
		for _, id := range s.Parts {
			assert.Empty(d, in[id], "%s is in %s and in %s", id, in[id], s.Part)
			in[id] = s.Part
		}
	}
	for _, s := range d.job.States {
		assert.Equal(d, in[s.Part], s.In, "%s", s.Part)
		if s.Kind == parts.Assembly && s.Next > 0 {
			assert.Len(d, s.Parts, 4, "%s went on without its parts", s.Part)
		}
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
		if a.r.Count > 0 {
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
