package bench_test

import (
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// clampsOff ends the wait in clamps, early only with a word; the others go on.
func (sl *slate) clampsOff(t *thing, r bench.Request, at time.Time) ruling {
	i := slices.IndexFunc(t.clocks, func(c clock) bool { return c.clamps })
	switch {
	case t.kind.Counts():
		return no("refused one-by-one")
	case t.stopped() != "":
		return no(t.stopped())
	case i < 0 && t.wasClamped():
		return no("already not-in-clamps")
	case i < 0:
		return no("refused not-in-clamps")
	case at.Before(t.lastAt):
		return no("parked late")
	case at.Before(t.clocks[i].until) && !r.Override:
		return no("refused waiting")
	}
	return yes(func(w *writing) {
		w.on(t, at)
		c := t.clocks[i]
		if c.own {
			t.behind[c.step] = past{how: parts.WasDone, at: at}
		}
		if c.own && at.Before(c.until) {
			t.behind[c.step] = past{how: parts.WasFilled}
		}
		t.clocks = slices.Delete(slices.Clone(t.clocks), i, i+1)
	})
}

// wasClamped reports whether a wait in clamps lies behind a thing.
func (t *thing) wasClamped() bool {
	for i, p := range t.behind {
		if t.list[i].Clock == parts.Clamps && p.how != parts.WasSkipped {
			return true
		}
	}
	return slices.ContainsFunc(t.repair[:t.mend], func(s parts.Step) bool { return s.Clock == parts.Clamps })
}
