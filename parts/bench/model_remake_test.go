package bench_test

import (
	"slices"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
)

func (sl *slate) hold(t *thing, r bench.Request, at time.Time) ruling {
	switch {
	case t.scrapped:
		return no("refused scrapped")
	case t.held:
		return no("already held")
	case r.Reason == "":
		return no("refused reason-missing")
	}
	return yes(func(w *writing) { w.on(t, at).held = true })
}

func (sl *slate) release(t *thing, at time.Time) ruling {
	if !t.held {
		return no("already not-held")
	}
	return yes(func(w *writing) { w.on(t, at).held = false })
}

// scrappable says why a thing cannot be scrapped.
func (t *thing) scrappable(r bench.Request, at time.Time) string {
	switch {
	case t.outOfHand() != "":
		return t.outOfHand()
	case at.Before(t.lastAt):
		return "parked late"
	case r.Reason == "":
		return "refused reason-missing"
	}
	return ""
}

// loose reports whether a thing's parts could be saved: what is dry-fitted is
// taken apart first, what is glued is scrapped with all that is in it.
func (t *thing) loose() bool { return len(t.inside) > 0 && !t.glued() }

// remake scraps a thing and puts a spare or a new one in its place. What was
// scrapped for good is made after all, an assembly with what of it is short.
func (sl *slate) remake(t *thing, r bench.Request, at time.Time) ruling {
	after := t.scrapped && t.replacedBy == "" && !t.void && !t.kind.Counts()
	if why := t.scrappable(r, at); why != "" && !after {
		return no(why)
	}
	if r.Spare != "" {
		s := sl.things[parts.ID(r.Spare)]
		if !s.isSpare() || s.line != t.line || t.spare {
			return no("refused spare-gone")
		}
		return yes(func(w *writing) { w.replace(t, w.stepIn(s, t, at), at) })
	}
	if t.loose() && !after {
		return no("refused take-apart-first")
	}
	return yes(func(w *writing) {
		for _, o := range append(w.within(t), t) {
			if !o.scrapped || o.short() {
				w.replace(o, w.fresh(o, at), at)
			}
		}
	})
}

// short reports whether something is missing in the place of a thing.
func (t *thing) short() bool { return t.scrapped && t.replacedBy == "" && !t.void }

// replace scraps a thing, if it is not yet, for another.
func (w *writing) replace(t, by *thing, at time.Time) {
	if t.scrapped {
		w.on(t, at)
	} else {
		w.scrap(t, at)
	}
	t.replacedBy = by.mark
}

// isSpare reports whether a thing may take another's place.
func (t *thing) isSpare() bool {
	return t.spare && t.kind == parts.Single && t.stopped() == "" && !t.doubt
}

// stepIn lets a spare stand for a thing.
func (w *writing) stepIn(s, t *thing, at time.Time) *thing {
	w.on(s, at)
	s.spare, s.test, s.replaces = false, false, t.mark
	return s
}

// fresh is the new mark that starts over for a thing. The bench gives it.
func (w *writing) fresh(t *thing, at time.Time) *thing {
	i := slices.IndexFunc(w.chose, func(id parts.ID) bool { return w.things[id] == nil && w.after[id].Replaces == t.mark })
	require.GreaterOrEqual(w.d, i, 0, "nothing new replaces %s", t.mark)
	s := w.after[w.chose[i]]
	n := &thing{mark: s.Part, kind: t.kind, line: t.line, number: t.number, spare: t.spare, test: t.test, list: t.list, next: workFrom(t.list, 0),
		replaces: t.mark, lastAt: at, last: w.id, checks: map[int]time.Time{}}
	require.Equal(w.d, []any{n.kind, n.line, n.number}, []any{s.Kind, s.Line, s.Number})
	w.things[n.mark] = n
	w.deed.before[n.mark] = nil
	return n
}

func (w *writing) scrap(t *thing, at time.Time) {
	w.on(t, at)
	t.scrapped, t.held, t.doubt, t.cart = true, false, false, ""
}

// within is everything in an assembly, at every level.
func (sl *slate) within(t *thing) []*thing {
	var out []*thing
	for _, o := range sl.parts(t.inside) {
		out = append(append(out, o), sl.within(o)...)
	}
	return out
}

// scrap takes a thing out for good, with all that is in it.
func (sl *slate) scrap(t *thing, r bench.Request, at time.Time) ruling {
	if why := t.scrappable(r, at); why != "" {
		return no(why)
	}
	if t.loose() {
		return no("refused take-apart-first")
	}
	return yes(func(w *writing) {
		for _, o := range append(w.within(t), t) {
			w.scrap(o, at)
		}
	})
}

// lost are counted pieces that did not come out of a step: of those that stand
// right before it. They are alike, so spares among them go first where spares
// make up for them, and last where they do not.
func (sl *slate) lost(t *thing, r bench.Request, at time.Time) ruling {
	switch {
	case t.kind != parts.Ticket:
		return no("refused not-a-ticket")
	case r.Step == 0:
		return no("refused step-unknown")
	case r.Instead == "luck":
		return no("refused instead")
	case r.Reason == "":
		return no("refused reason-missing")
	}
	there := slices.DeleteFunc(sl.stands(t), func(o *thing) bool {
		return o.next != r.Step-1 || o.finished || o.mending() || o.stopped() != "" || o.kind != parts.Single
	})
	if r.Count < 1 || r.Count > len(there) {
		return no("refused count")
	}
	gone := givenUp(there, r)
	var spares, need, late int
	for _, o := range sl.stands(t) {
		if o.isSpare() && !slices.Contains(gone, o) {
			spares++
		}
	}
	for _, o := range gone {
		if r.Instead == "spare" && !o.spare {
			need++
		}
		if at.Before(o.lastAt) {
			late++
		}
	}
	var bad []string
	if need > spares {
		bad = append(bad, "refused spare-gone")
	}
	if late > 0 {
		bad = append(bad, "parked late")
	}
	if len(bad) > 0 {
		return no(bad...)
	}
	return yes(func(w *writing) { w.lose(gone, r, at) })
}

// givenUp are as many of those that stand there as were counted, the last
// first.
func givenUp(there []*thing, r bench.Request) []*thing {
	var spares, others []*thing
	for _, o := range slices.Backward(there) {
		switch {
		case o.test:
			spares = slices.Insert(spares, 0, o)
		case o.spare:
			spares = append(spares, o)
		default:
			others = append(others, o)
		}
	}
	if r.Instead != "remake" {
		return append(spares, others...)[:r.Count]
	}
	return append(others, spares...)[:r.Count]
}

// lose writes down what is gone and what is done about it.
func (w *writing) lose(gone []*thing, r bench.Request, at time.Time) {
	for _, o := range gone {
		w.scrap(o, at)
	}
	for _, o := range gone {
		switch {
		case r.Instead == "remake":
			o.replacedBy = w.fresh(o, at).mark
		case r.Instead == "spare" && !o.spare:
			s := w.things[w.after[o.mark].ReplacedBy]
			require.NotNil(w.d, s, "nothing takes the place of %s", o.mark)
			w.fair(s.isSpare() && s.line == o.line, "%s is no free spare", s.mark)
			o.replacedBy = w.stepIn(s, o, at).mark
		}
	}
}

// deliver hands over what is finished, dry and whole: assemblies and loose
// parts that go into nothing.
func (sl *slate) deliver(now time.Time) ruling {
	out := sl.those(func(t *thing) bool {
		return !t.kind.Counts() && t.stopped() == "" && !t.spare && sl.lines[t.line].Into == 0 && !t.delivered && t.fit(now)
	})
	if len(out) == 0 {
		return no("refused nothing-finished")
	}
	return yes(func(w *writing) {
		for _, t := range out {
			w.on(t, now)
			t.delivered, t.cart = true, ""
		}
	})
}

// undo takes a command back: everything it was about stands as before, what
// it made is void. Something later, or ten minutes without a reason, stops it.
func (sl *slate) undo(a asking, now time.Time) ruling {
	was := sl.deeds[a.target]
	for _, t := range sl.those(func(t *thing) bool { _, in := was.before[t.mark]; return in }) {
		if t.last == a.target {
			continue
		}
		// Which of the things is looked at first does not matter.
		if sl.deeds[t.last].undoes == a.target {
			return no("already undone-already", "refused later-event")
		}
		return no("refused later-event", "already undone-already")
	}
	if now.Sub(was.when) > 10*time.Minute && a.r.Reason == "" {
		return no("refused undo-reason")
	}
	return yes(func(w *writing) {
		for id, before := range was.before {
			t := w.touch(w.things[id])
			if before == nil {
				t.scrapped, t.void = true, true
				continue
			}
			*t = *before.copy()
			t.last = w.id
		}
	})
}
