package bench_test

import (
	"slices"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// outOfHand says why a thing cannot be repaired or replaced by itself.
func (t *thing) outOfHand() string {
	switch {
	case t.kind.Counts():
		return "refused not-a-part"
	case t.scrapped:
		return "refused scrapped"
	case t.in != "":
		return "refused in-assembly"
	}
	return ""
}

// mend begins a repair, of a plug, of another defect, or of what came back.
func (sl *slate) mend(verb string, t *thing, r bench.Request, at time.Time) ruling {
	key := r.Defect
	if verb == "plug" && key == "" {
		key = "hole-off"
	}
	f := sl.defects[key]
	switch {
	case t.outOfHand() != "":
		return no(t.outOfHand())
	case verb == "plug" && t.mending():
		return no("refused plugged-already")
	case verb == "return" && !t.delivered:
		return no("refused not-delivered")
	case verb == "return" && r.Note == "":
		return no("refused reason-missing")
	case at.Before(t.lastAt):
		return no("parked late")
	case t.delivered && r.Note == "":
		return no("refused reason-missing")
	case t.mending():
		return no("refused under-repair")
	case f.Remake && !r.Override:
		return no("refused remake-better")
	case f.Limit > 0 && t.times(f.Key, r.Spot) >= f.Limit && !r.Override:
		return no("refused limit")
	}
	steps, at0, why := t.repairOf(f, r)
	if why != "" {
		return no(why)
	}
	return yes(func(w *writing) {
		w.on(t, at)
		t.clocks = slices.DeleteFunc(t.clocks, func(c clock) bool { return !at.Before(c.until) && (!c.own || c.latest.IsZero()) }) // a plug dries no coat
		base := len(t.repair)
		t.repair = append(t.repair, steps...)
		t.clocks = append(t.clocks, started(t.repair, base, at, false)...)
		t.mend, t.doubt, t.delivered = workFrom(t.repair, base), false, false
		if at0 >= 0 {
			t.nicks = append(t.nicks, at0)
		}
		t.flaws = append(t.flaws, parts.Flaw{Defect: f.Key, Step: at0, Spot: r.Spot})
	})
}

// times is how often a thing had a defect at a spot; where none is named, at
// any.
func (t *thing) times(key, spot string) int {
	n := 0
	for _, f := range t.flaws {
		if f.Defect == key && (f.Spot == "" || spot == "" || strings.EqualFold(f.Spot, spot)) {
			n++
		}
	}
	return n
}

// repairOf gives the steps that repair a defect and the step at which it came
// about: the steps of the catalogue, and what of the thing's own is done over.
// What was delivered also gets its last step again.
func (t *thing) repairOf(f parts.Defect, r bench.Request) (steps []parts.Step, at int, why string) {
	at = -1
	for i := range t.next {
		if !t.list[i].Wait() && (f.Again != parts.BoreAgain || t.list[i].Bores) {
			at = i
		}
	}
	steps = slices.Clone(f.Steps)
	over := func(i int) {
		steps = append(steps, parts.Step{Name: "again", Station: t.list[i].Station, Record: true, Coat: t.list[i].Coat})
	}
	if f.Again == parts.BoreAgain {
		if at < 0 {
			return nil, 0, "refused not-bored"
		}
		over(at)
	}
	if f.Again == parts.LastAgain && at >= 0 {
		over(at)
	}
	if len(r.Coats) > 0 { // of any defect that went through the coats
		for _, n := range slices.Compact(slices.Sorted(slices.Values(r.Coats))) {
			if n > t.next || t.list[n-1].Coat == "" {
				return nil, 0, "refused coat-unknown"
			}
			over(n - 1)
			for i := n; i < len(t.list) && t.list[i].Wait(); i++ {
				steps = append(steps, t.list[i])
			}
		}
	}
	last := len(t.list) - 1
	for last > 0 && t.list[last].Wait() {
		last--
	}
	if t.delivered && at >= 0 && !(f.Again == parts.LastAgain && last == at) {
		over(last)
	}
	return steps, at, ""
}

// doubt names what went through a setup that was at fault, since the last
// piece that was good. off is the piece that showed it.
func (sl *slate) doubt(t *thing, off parts.ID, at time.Time) ruling {
	if t.kind != parts.Ticket {
		return no("refused not-a-ticket")
	}
	shown := sl.things[off]
	if shown.kind.Counts() || shown.line != t.line || len(shown.nicks) == 0 {
		return no("refused no-defect")
	}
	step := shown.nicks[len(shown.nicks)-1]
	good := t.checks[step]
	return yes(func(w *writing) {
		for _, o := range w.stands(t) {
			if o.mark != off && o.made(step, good) && !o.scrapped && o.in == "" && !o.doubt && !o.mending() {
				w.on(o, at).doubt = true
			}
		}
		delete(w.on(t, at).checks, step)
	})
}

// made reports whether a thing went through a step at a time or later. Where
// nobody said when, it may have been at any time until now.
func (t *thing) made(step int, since time.Time) bool {
	if step >= len(t.behind) || t.behind[step].how == parts.WasSkipped {
		return false
	}
	if t.behind[step].how == parts.WasFilled {
		return !t.lastAt.Before(since)
	}
	return !t.behind[step].at.Before(since)
}

// clear says that what was in doubt is good.
func (sl *slate) clear(t *thing, at time.Time) ruling {
	in := slices.DeleteFunc(sl.stands(t), func(o *thing) bool { return !o.doubt || o.scrapped })
	if len(in) == 0 {
		return no("already not-in-doubt")
	}
	return yes(func(w *writing) {
		for _, o := range in {
			w.on(o, at).doubt = false
		}
	})
}

// check says that the first piece of a setup was good.
func (sl *slate) check(t *thing, r bench.Request, at time.Time) ruling {
	list := sl.lists[t.line]
	i := r.Step - 1
	switch {
	case t.kind != parts.Ticket:
		return no("refused not-a-ticket")
	case at.Before(t.lastAt):
		return no("parked late")
	case i >= len(list):
		return no("refused step-unknown")
	case list[i].Check == "":
		return no("refused no-check")
	}
	return yes(func(w *writing) { w.on(t, at).good(i, at) })
}
