package bench_test

import (
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// mover is a piece of a ticket or a cart that a scan could be about.
type mover struct {
	*thing
	m     meant
	skips int
	why   string // why it may not move; "" when it may
}

// scanMany is for a ticket or a cart: counted pieces move, all or none. Those
// that stand right before the step go first, and the dry before the wet.
func (sl *slate) scanMany(t *thing, r bench.Request, at time.Time) ruling {
	if t.kind == parts.Cart && r.Step != 0 {
		return no("refused step-unknown")
	}
	if t.held {
		return no("refused held")
	}
	var all []mover
	nothing := []string{"refused finished"}
	for _, o := range sl.stands(t) {
		if o.stopped() != "" {
			continue
		}
		m, why := o.means(r, at)
		switch {
		case why != "":
		case o.fitsAt(m), o.gluesAt(m):
			why = "refused one-by-one"
		case o.mending() && !m.repair:
			continue // it stays behind until its repair is done
		case o.doubt && !r.Override && (m.step.Record || m.step.Binds):
			why = "refused to-be-looked-at"
		}
		if why != "" {
			nothing = append(nothing, why)
			continue
		}
		all = append(all, mover{o, m, o.skips(m), o.mayNot(m, r, at)})
	}
	if len(all) == 0 {
		return no(nothing...)
	}
	return sl.scanPiles(t, largestPiles(all), r, at)
}

// largestPiles are the pieces by the step they are moved by: of those nearest
// to their step the most want this one. There are several when as many want
// another.
func largestPiles(all []mover) [][]mover {
	least := all[0].skips
	for _, o := range all {
		least = min(least, o.skips)
	}
	var piles [][]mover
	most := 0
	for _, o := range all {
		i := slices.IndexFunc(piles, func(p []mover) bool { return sameStep(p[0], o) })
		if i < 0 {
			piles = append(piles, nil)
			i = len(piles) - 1
		}
		piles[i] = append(piles[i], o)
		most = max(most, nearest(piles[i], least))
	}
	return slices.DeleteFunc(piles, func(p []mover) bool { return nearest(p, least) < most })
}

func nearest(pile []mover, skips int) int {
	n := 0
	for _, o := range pile {
		if o.skips == skips {
			n++
		}
	}
	return n
}

// sameStep reports whether two pieces are moved by one tap: the same place of
// one list, or the same work by name in two.
func sameStep(a, b mover) bool {
	if a.m.repair || b.m.repair || a.line == b.line {
		return a.m.repair == b.m.repair && a.line == b.line && a.m.index == b.m.index
	}
	return a.m.step.Name == b.m.step.Name && a.m.step.Station == b.m.step.Station
}

// scanPiles rules for the largest pile; when two are as large either may be
// meant.
func (sl *slate) scanPiles(t *thing, piles [][]mover, r bench.Request, at time.Time) ruling {
	var out ruling
	for _, pile := range piles {
		out.may = append(out.may, sl.scanPile(t, pile, r, at)...)
	}
	out.do = func(w *writing) {
		moved := w.chosen(func(o *thing) bool { return !o.kind.Counts() })
		i := slices.IndexFunc(piles, func(p []mover) bool {
			return slices.ContainsFunc(p, func(o mover) bool { return slices.Contains(moved, o.thing) })
		})
		w.fair(i >= 0, "none of the pile moved")
		w.move(t, piles[max(0, i)], moved, r, at)
	}
	return out
}

// wanted is how many pieces of a pile are to move. Blanks are counted while
// the pieces are in them; the last may hold fewer than the others. More than
// there are stands for a count that makes no sense.
func (sl *slate) wanted(t *thing, pile []mover, r bench.Request) int {
	per := sl.lines[t.line].PerBlank
	switch {
	case r.Blanks > 0 && (per < 2 || pile[0].m.repair || pile[0].apart(pile[0].m.index)):
		return len(pile) + 1
	case r.Blanks > 0 && (r.Blanks-1)*per < len(pile):
		return min(r.Blanks*per, len(pile))
	case r.Blanks > 0:
		return len(pile) + 1
	case r.Count > 0:
		return r.Count
	}
	least := pile[0].skips
	for _, o := range pile {
		least = min(least, o.skips)
	}
	return nearest(pile, least)
}

// apart reports whether a step comes after the one that cuts blanks up, or no
// step does.
func (t *thing) apart(step int) bool {
	return !slices.ContainsFunc(t.list[step:], func(s parts.Step) bool { return s.Parts })
}

// sure splits a pile: those that move for certain because they are nearest,
// and those of which some move.
func sure(pile []mover, n int) (sure, some []mover) {
	for skips := 0; len(sure)+len(some) < n; skips++ {
		sure, some = append(sure, some...), nil
		for _, o := range pile {
			if o.skips == skips {
				some = append(some, o)
			}
		}
	}
	return sure, some
}

// scanPile gives the answers that are right for a pile.
func (sl *slate) scanPile(t *thing, pile []mover, r bench.Request, at time.Time) []string {
	n := sl.wanted(t, pile, r)
	if n > len(pile) {
		return []string{"refused count"}
	}
	certain, some := sure(pile, n)
	var bad []string
	for _, o := range certain {
		if o.why != "" {
			bad = append(bad, o.why)
		}
	}
	must := len(bad) > 0
	good, dry, dryAndGood := 0, 0, 0
	for _, o := range some {
		if o.why != "" {
			bad = append(bad, o.why)
		} else {
			good++
		}
		if !o.wet(at) {
			dry++
			if o.why == "" {
				dryAndGood++
			}
		}
	}
	need := n - len(certain)
	switch {
	case len(bad) == 0, !must && t.kind == parts.Ticket && dry >= need && dryAndGood == dry:
		return []string{"recorded"}
	case must || good < need:
		return bad
	}
	return append(bad, "recorded")
}

// move moves what the bench chose of a pile, and says whether it chose well.
func (w *writing) move(t *thing, pile []mover, moved []*thing, r bench.Request, at time.Time) {
	n := w.wanted(t, pile, r)
	w.fair(len(moved) == n, "%d moved instead of %d", len(moved), n)
	certain, some := sure(pile, n)
	for _, o := range certain {
		w.fair(slices.Contains(moved, o.thing), "%s stood nearer and was left", o.mark)
	}
	dryLeft := slices.ContainsFunc(some, func(o mover) bool { return !o.wet(at) && !slices.Contains(moved, o.thing) })
	for _, o := range slices.Concat(certain, some) {
		if !slices.Contains(moved, o.thing) {
			continue
		}
		w.fair(o.why == "", "%s moved: %s", o.mark, o.why)
		if slices.ContainsFunc(some, func(s mover) bool { return s.thing == o.thing }) && t.kind == parts.Ticket {
			w.fair(!o.wet(at) || !dryLeft, "%s is wet and went before a dry one", o.mark)
		}
		w.pass(o.thing, o.m, at)
	}
	if t.kind == parts.Ticket {
		w.checked(t, pile[0].m, r, at)
	}
}

// load puts pieces on a cart; no cart takes them off.
func (sl *slate) load(t *thing, r bench.Request) ruling {
	cart := parts.ID(r.Cart)
	if cart != "" && sl.things[cart].kind != parts.Cart {
		return no("refused not-a-cart")
	}
	if !t.kind.Counts() && t.stopped() != "" {
		return no(t.stopped())
	}
	if !t.kind.Counts() && t.delivered {
		return no("refused delivered")
	}
	could := slices.DeleteFunc(sl.stands(t), func(o *thing) bool { return o.stopped() != "" || o.cart == cart || o.delivered })
	switch {
	case t.kind.Counts() && r.Count > len(could), !t.kind.Counts() && r.Count > 1:
		return no("refused count")
	case len(could) == 0:
		return no("already on-cart")
	}
	return yes(func(w *writing) {
		moved := w.chosen(func(o *thing) bool { return slices.Contains(could, o) })
		w.fair(len(moved) == r.Count || r.Count == 0 && len(moved) == len(could), "%d were loaded", len(moved))
		loose := slices.ContainsFunc(could, func(o *thing) bool { return o.cart == "" && !slices.Contains(moved, o) })
		for _, o := range moved {
			w.fair(o.cart == "" || !loose, "%s came off another cart before what lay on none", o.mark)
			w.touch(o).cart = cart
		}
	})
}

// skip leaves steps out for what was bought or finished before.
func (sl *slate) skip(t *thing, r bench.Request, at time.Time) ruling {
	if r.Reason == "" {
		return no("refused reason-missing")
	}
	if t.stopped() != "" {
		return no(t.stopped())
	}
	if t.mending() {
		return no("refused under-repair")
	}
	var bad []string
	var goes []*thing
	for _, o := range sl.stands(t) {
		if r.Step > len(o.list)+1 {
			bad = append(bad, "refused step-unknown")
			continue
		}
		to := workFrom(o.list, r.Step-1)
		fit := slices.IndexFunc(o.list, func(s parts.Step) bool { return s.Binds })
		switch {
		case o.next >= to || o.stopped() != "" || o.mending():
		case o.next <= fit && fit < to:
			bad = append(bad, "refused parts-missing")
		case at.Before(o.lastAt):
			bad = append(bad, "parked late")
		case o.wet(at) && !r.Override:
			bad = append(bad, "refused waiting")
		default:
			goes = append(goes, o)
		}
	}
	switch {
	case len(bad) > 0:
		return no(bad...)
	case len(goes) == 0:
		return no("already done-already")
	}
	return yes(func(w *writing) {
		for _, o := range goes {
			w.on(o, at)
			o.next = workFrom(o.list, r.Step-1)
			for len(o.behind) < o.next {
				o.behind = append(o.behind, past{how: parts.WasSkipped})
			}
			o.finished, o.clocks = o.next == len(o.list), nil
		}
	})
}
