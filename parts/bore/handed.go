package bore

import (
	"maps"

	"benchtally/parts"
)

// The three ways through a part: along its length from the left end to the
// right one, across its width from the near edge to the far one, and through
// its thickness from the back to the show face.
const (
	lengthwise = iota
	widthwise
	through
)

// sizes are the length, width and thickness of a part; zero for one that is
// not known.
type sizes [3]parts.Length

// face is where a face lies: at the low or the high end of one way, and which
// ways Along and Across run on it.
type face struct {
	way, along, across int
	side               int8 // -1 or 1
	acrossDown         bool // Across counts from the high end of its way
}

var faces = map[parts.HoleFace]face{
	parts.IntoShow:     {way: through, side: 1, along: lengthwise, across: widthwise},
	parts.IntoBack:     {way: through, side: -1, along: lengthwise, across: widthwise},
	parts.IntoNearEdge: {way: widthwise, side: -1, along: lengthwise, across: through, acrossDown: true},
	parts.IntoFarEdge:  {way: widthwise, side: 1, along: lengthwise, across: through, acrossDown: true},
	parts.IntoLeftEnd:  {way: lengthwise, side: -1, along: widthwise, across: through, acrossDown: true},
	parts.IntoRightEnd: {way: lengthwise, side: 1, along: widthwise, across: through, acrossDown: true},
}

// spot is a place on one way, as twice its distance from the middle: ends
// sizes of the part plus off. With a known size ends is zero. Doubling keeps
// the middle of an odd size a whole number, and a mirrored spot is the one
// with both signs changed.
type spot struct {
	ends int8
	off  parts.Length
}

// at gives the spot that lies d from the low end of a way, from the high one
// when high, or in the middle when d is zero.
func at(d parts.Length, high bool, size parts.Length) spot {
	var s spot
	switch {
	case d == 0:
		return s
	case high:
		s = spot{ends: 1, off: -2 * d}
	default:
		s = spot{ends: -1, off: 2 * d}
	}
	if size > 0 {
		s = spot{off: s.off + parts.Length(s.ends)*size}
	}
	return s
}

func (s spot) mirrored() spot { return spot{-s.ends, -s.off} }

// bored is a hole as it lies in space. Two equal ones are the same hole,
// however a person measured them.
type bored struct {
	way             int     // the way it is bored
	side            int8    // of the face it opens on; zero for a hole right through
	at              [3]spot // its axis; the middle on its own way
	diameter, depth parts.Length
}

// lay puts the holes of a pattern into a part of a size. A hole as deep as
// the part goes right through.
func lay(p parts.Pattern, size sizes) []bored {
	out := make([]bored, len(p.Holes))
	for i, h := range p.Holes {
		f := faces[h.Into]
		b := bored{way: f.way, side: f.side, diameter: h.Diameter, depth: h.Depth}
		b.at[f.along] = at(h.Along, h.FromFar, size[f.along])
		b.at[f.across] = at(h.Across, h.AcrossFar != f.acrossDown, size[f.across])
		if h.Depth == 0 || size[f.way] > 0 && h.Depth >= size[f.way] {
			b.side, b.depth = 0, 0
		}
		out[i] = b
	}
	return out
}

// mouths are the openings of a hole, without how wide and how deep it is.
func mouths(b bored) []bored {
	b.diameter, b.depth = 0, 0
	if b.side != 0 {
		return []bored{b}
	}
	low, high := b, b
	low.side, high.side = -1, 1
	return []bored{low, high}
}

// signs says for each way whether a movement of a part keeps (1) or swaps (-1)
// its ends. Turns by half a circle and mirrorings are all of that kind.
type signs [3]int8

// mirror makes the counterpart: near and far change places.
var mirror = signs{1, -1, 1}

// turnsShowUp are the ways to lay a part down with its show face up, and
// turnsAny those of a part that may lie on either face.
var (
	turnsShowUp = []signs{{1, 1, 1}, {-1, -1, 1}}
	turnsAny    = []signs{{1, 1, 1}, {-1, -1, 1}, {1, -1, -1}, {-1, 1, -1}}
)

// Handed reports whether left and right counterparts of a part bored with p
// are different parts: whether its mirror image, near and far edge changing
// places, cannot be had by turning it. A part with a show face is only turned
// end for end, half a circle in the plane of that face; one without may be
// rolled and tumbled too, half a circle about its length or its width. A
// square part is not rolled by a quarter: which of its sides are edges has
// been chosen.
//
// A size of zero is not known. Then a hole measured from one end never lies
// where one measured from the other does, and the answer false holds for any
// size.
func Handed(p parts.Pattern, length, width, thick parts.Length, showFace bool) bool {
	turns := turnsAny
	if showFace {
		turns = turnsShowUp
	}
	holes := lay(p, sizes{length, width, thick})
	counterpart := moved(holes, mirror)
	for _, turn := range turns {
		if maps.Equal(moved(holes, turn), counterpart) {
			return false
		}
	}
	return true
}

// moved counts the holes after a movement, each with how often it is there.
func moved(holes []bored, by signs) map[bored]int {
	out := make(map[bored]int, len(holes))
	for _, b := range holes {
		b.side *= by[b.way]
		for way, sign := range by {
			if sign < 0 {
				b.at[way] = b.at[way].mirrored()
			}
		}
		out[b]++
	}
	return out
}

// Mirror gives the pattern of the counterpart, a right part that also lies
// with its show face up: near and far change places.
func Mirror(p parts.Pattern) parts.Pattern {
	holes := make([]parts.Hole, len(p.Holes))
	for i, h := range p.Holes {
		switch h.Into {
		case parts.IntoNearEdge:
			h.Into = parts.IntoFarEdge
		case parts.IntoFarEdge:
			h.Into = parts.IntoNearEdge
		case parts.IntoLeftEnd, parts.IntoRightEnd:
			h.FromFar = h.Along != 0 && !h.FromFar
		case parts.IntoShow, parts.IntoBack:
			h.AcrossFar = h.Across != 0 && !h.AcrossFar
		}
		holes[i] = h
	}
	p.Holes = holes
	return p
}
