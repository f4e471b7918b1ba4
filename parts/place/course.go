package place

import (
	"math"
	"slices"

	"benchtally/parts"
)

// course is what the steps of a piece mean for its label. A slot is the time
// before a step of work, by the index of that step; the slot at the end is
// the time when no work is left.
type course struct {
	steps []parts.Step
	end   int          // the number of steps
	into  bool         // it goes into an assembly at the end
	faces []parts.Face // hidden and large enough, the best first
	lives [][]int      // of each of them, for each slot: see livesOn

	own    int   // first slot at which it is a piece of its own
	tagged int   // first slot at which a tag goes along; past the end for never
	tag    Place // Tag, or Rack for what is smaller than its tag
}

func onCourse(l parts.Line, r parts.Routing, label Size2D) course {
	c := course{steps: r.Steps, end: len(r.Steps), into: l.Into != 0, tag: Rack}
	for _, f := range []parts.Face{parts.BackFace, parts.Edges, parts.Ends} {
		if label.fits(room(l, f)) {
			c.faces, c.lives = append(c.faces, f), append(c.lives, c.livesOn(f))
		}
	}
	if slices.Contains(c.faces, parts.BackFace) {
		c.tag = Tag
	}
	c.own = ownFrom(l, r)
	c.tagged = c.taggedFrom(r.For == parts.Assembly)
	return c
}

// ownFrom is the index after the step that makes a piece one of its own: a
// part its last size, or the cut that makes several parts of a blank; an
// assembly its glue-up, or its dry fit when nothing is glued.
func ownFrom(l parts.Line, r parts.Routing) int {
	own := 0
	for i, s := range r.Steps {
		sized := s.Makes == parts.ToLength || s.Makes == parts.ToWidth || s.Makes == parts.ToThickness
		switch {
		case r.For == parts.Assembly && (s.Binds || s.Glues),
			r.For != parts.Assembly && (sized || s.Parts && l.PerBlank > 1):
			own = i + 1
		}
	}
	return own
}

// taggedFrom is the first slot at which a tag goes along.
func (c course) taggedFrom(assembly bool) int {
	for slot := parts.NextWork(c.steps, c.own); ; slot = parts.NextWork(c.steps, slot+1) {
		_, until := c.longest(slot)
		coated := slot < c.end && len(c.steps[slot].Coats) > 0
		switch {
		case assembly && until <= slot, coated && until < c.end:
			return slot
		case slot >= c.end:
			return c.end + 1
		}
	}
}

// longest is the face on which a label that is put on at slot lives longest,
// and the step that ends it there: slot itself when none outlives it.
func (c course) longest(slot int) (best parts.Face, until int) {
	until = slot
	for i, f := range c.faces {
		if lives := c.lives[i][slot]; lives > until {
			best, until = f, lives
		}
	}
	return best, until
}

// livesOn is, for each slot, the index of the first step from there on that
// touches a face: the end for a face that is glued where the part goes, past
// it for none.
func (c course) livesOn(f parts.Face) []int {
	until := make([]int, c.end+1)
	until[c.end] = c.end + 1
	if c.into && f != parts.BackFace {
		until[c.end] = c.end
	}
	for i := c.end - 1; i >= 0; i-- {
		if until[i] = until[i+1]; touches(&c.steps[i], f) {
			until[i] = i
		}
	}
	return until
}

// touches reports whether a label on a face does not outlive a step.
func touches(s *parts.Step, f parts.Face) bool {
	return slices.Contains(s.Cuts, f) || slices.Contains(s.Bears, f) || slices.Contains(s.Joins, f) || slices.Contains(s.Coats, f)
}

// room is how much there is of a face, by the finished size: that is the
// least the piece ever has. Nobody knows how thick what is to suit will be,
// so it takes no label on its narrow sides; its back is taken to be large.
func room(l parts.Line, f parts.Face) (a, b parts.Length) {
	switch f {
	case parts.Edges:
		return known(l.Length, 0), known(l.Thick, 0)
	case parts.Ends:
		return known(l.Width, 0), known(l.Thick, 0)
	}
	return known(l.Length, math.MaxInt64), known(l.Width, math.MaxInt64)
}

// known is a finished size, or another value for one that is not known.
func known(s parts.Size, otherwise parts.Length) parts.Length {
	if s.ToSuit || s.Length <= 0 {
		return otherwise
	}
	return s.Length
}

// fits reports whether a label has room on a by b, one way or the other.
func (s Size2D) fits(a, b parts.Length) bool {
	return s.W <= a && s.H <= b || s.H <= a && s.W <= b
}
