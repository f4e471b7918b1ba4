package safe

import (
	"slices"

	"benchtally/parts"
)

// way is a line on its way through its steps.
type way struct {
	line  parts.Line
	steps []parts.Step
	allow Allowances
	cut   int             // index of the step that makes parts distinct, or could: the cut to length; -1 for none
	along parts.Dimension // in which the parts of a blank lie one after the other
	blank int             // parts in one blank until the cut
}

func onTheWay(l parts.Line, steps []parts.Step, a Allowances) way {
	w := way{line: l, steps: steps, allow: a, along: parts.ToLength, blank: 1}
	w.cut = slices.IndexFunc(steps, func(s parts.Step) bool { return s.Parts })
	if w.cut < 0 {
		w.cut = slices.IndexFunc(steps, func(s parts.Step) bool { return s.Makes == parts.ToLength })
		return w
	}
	w.blank = max(1, l.PerBlank)
	// A stick is crosscut into rails, a wide board is ripped into stiles: what
	// the cut is set to says how the parts lie in the blank.
	for _, d := range []parts.Dimension{steps[w.cut].Makes, steps[w.cut].Sets} {
		if slices.Contains(measured, d) {
			w.along = d
			break
		}
	}
	return w
}

// finished is a size of the finished part; zero when it is to suit or unknown.
func (w way) finished(d parts.Dimension) parts.Length {
	s := w.line.Thick
	switch d {
	case parts.ToLength:
		s = w.line.Length
	case parts.ToWidth:
		s = w.line.Width
	}
	if s.ToSuit {
		return 0
	}
	return max(0, s.Length)
}

// made is the index of the step after which a size is final, -1 when it was
// final from the start. A size in which several parts lie in one blank cannot
// be final before the cut.
func (w way) made(d parts.Dimension) int {
	from := 0
	if d == w.along {
		from = max(0, w.cut)
	}
	for i := from; i < len(w.steps); i++ {
		if w.steps[i].Makes == d {
			return i
		}
	}
	if d == w.along {
		return w.cut
	}
	return -1
}

// size is how large the piece is when it arrives at step i, with n parts in
// one blank until the cut; zero when it is not known.
func (w way) size(d parts.Dimension, i, n int) parts.Length {
	final, made := w.finished(d), w.made(d)
	switch {
	case final == 0 || made < i:
		return final
	case d != w.along:
		return final + w.over(d, 0, made)
	}
	each := final
	if made > w.cut {
		each += w.over(d, w.cut+1, made)
	}
	if i > w.cut {
		return each
	}
	count := parts.Length(max(1, n))
	return count*each + (count-1)*w.allow.Kerf + w.over(d, 0, w.cut)
}

// over is what a piece has over a size between two cuts. What a machine may
// spoil at the ends stays on the piece until the second of them, so it counts
// at every step before it.
func (w way) over(d parts.Dimension, from, to int) parts.Length {
	switch d {
	case parts.ToWidth:
		return w.allow.Width
	case parts.ToThickness:
		return w.allow.Thick
	}
	var snipe parts.Length
	for _, s := range w.steps[from:to] {
		snipe = max(snipe, s.Snipe)
	}
	return w.allow.TrimLength + 2*snipe
}

// judged is the size that must be safe at step i: the smaller of what arrives
// and what leaves. What is ripped, planed or cut to size is already that
// narrow, thin or short beside the turning cutter.
func (w way) judged(d parts.Dimension, i int) parts.Length {
	return min(w.size(d, i, w.blank), w.size(d, i+1, w.blank))
}

// leftTogether is the least number of parts that are long enough for step i
// in one blank, and that blank's length; 0 when they cannot stay together
// until past it. after names the cut that must come later for it.
func (w way) leftTogether(i int, needs parts.Length) (n int, blank parts.Length, after string) {
	if w.along != parts.ToLength || w.cut < 0 || w.cut == i {
		return 0, 0, ""
	}
	if w.cut < i {
		if slices.ContainsFunc(w.steps[w.cut+1:i+1], wantsParts) {
			return 0, 0, ""
		}
		after = w.steps[w.cut].Name
		w, i = w.cutLater(i), i-1
	}
	one := w.size(parts.ToLength, i, 1)
	more := w.size(parts.ToLength, i, 2) - one
	n = 1 + int((max(0, needs-one)+more-1)/more)
	return n, w.size(parts.ToLength, i, n), after
}

// wantsParts reports whether a step can only be done to parts that are cut
// apart already.
func wantsParts(s parts.Step) bool {
	return s.Record || s.Binds || s.Glues || s.Bores || s.Parts || len(s.Joins) > 0 || len(s.Coats) > 0 ||
		s.Sets == parts.ToLength || s.Sets == parts.ToPattern || s.Makes == parts.ToLength || slices.Contains(s.Cuts, parts.Ends)
}

// cutLater is the same way with the cut right after step i, which then comes
// one place earlier.
func (w way) cutLater(i int) way {
	cut := w.steps[w.cut]
	w.steps = slices.Insert(slices.Delete(slices.Clone(w.steps), w.cut, w.cut+1), i, cut)
	w.cut = i
	return w
}
