package bench

import (
	"fmt"
	"slices"

	"benchtally/parts"
)

// roughOnTicket says what to cut for a ticket while some of its pieces are
// rough, and what a blank has over its parts and why.
func (d draft) roughOnTicket(l parts.Line, r parts.Routing, last parts.State) (text, why string) {
	long, each := roughLength(l, r, last)
	if long == 0 {
		return "", ""
	}
	st := d.set.Style()
	inRow := each // parts one behind the other; those that lie side by side are as long as one
	if long < parts.Length(each)*l.Length.Length {
		inRow = 1
	}
	text = fmt.Sprintf("cut the blanks %s long", long.Format(st))
	if each > 1 {
		text = fmt.Sprintf("cut %s %s long", counting((d.stillRough(l)+each-1)/each, "blank"), long.Format(st))
		why = fmt.Sprintf("a blank of %d; ", each)
	}
	over := long - parts.Length(inRow)*l.Length.Length
	return text, why + "incl. " + over.Format(st) + " for " + lostTo(r, inRow)
}

// stillRough is how many pieces of a line are not cut to length yet.
func (d draft) stillRough(l parts.Line) int {
	n := 0
	for _, s := range d.job.States {
		if s.Line == l.ID && !s.Kind.Counts() && !s.Scrapped && s.Next <= lastCut(d.job.Routings[s.Steps]) {
			n++
		}
	}
	return n
}

// lostTo is what a blank is longer for than its parts: see parts/safe.
func lostTo(r parts.Routing, inRow int) string {
	lost := "trimming"
	if slices.ContainsFunc(r.Steps[:lastCut(r)], func(st parts.Step) bool { return st.Snipe > 0 }) {
		lost += " and the planer's snipe"
	}
	if inRow > 1 {
		lost = "saw cuts, " + lost
	}
	return lost
}

// counting is a number of things: "1 blank", "5 blanks".
func counting(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return fmt.Sprintf("%d %ss", n, thing)
}
