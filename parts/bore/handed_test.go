package bore_test

import (
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bore"
)

var (
	inches = parts.Writing{Unit: parts.Inches}
	millis = parts.Writing{Unit: parts.Millimetres}
)

// pattern reads a pattern whose bare numbers are inches.
func pattern(t testing.TB, text string) parts.Pattern {
	t.Helper()
	holes, err := bore.ParseHoles(text, inches)
	require.NoError(t, err)
	p := parts.Pattern{Key: "tried", Name: "Tried", Holes: holes}
	require.NoError(t, bore.Check(p))
	return p
}

// A stile of a locker front is 34 1/2 x 2 1/4 x 3/4 in, a rail 15 x 2 1/4 x
// 3/4 in, with 3/8 in dowels 1 1/4 in deep in the middle of the thickness.
func TestHanded(t *testing.T) {
	stile, rail := [3]string{"34 1/2", "2 1/4", "3/4"}, [3]string{"15", "2 1/4", "3/4"}
	const railEnds = "left end 3/4 dia 3/8 deep 1 1/4\nleft end 3/4 from far edge dia 3/8 deep 1 1/4\n" +
		"right end 3/4 dia 3/8 deep 1 1/4\nright end 3/4 from far edge dia 3/8 deep 1 1/4"
	const stileEnds = "near edge 3/4 dia 3/8 deep 1 3/8\nnear edge 1 1/2 dia 3/8 deep 1 3/8\n" +
		"near edge 3/4 from right end dia 3/8 deep 1 3/8\nnear edge 1 1/2 from right end dia 3/8 deep 1 3/8"
	tests := []struct {
		name      string
		size      [3]string
		text      string
		show, any bool // a hand with a show face, and without one
	}{
		{"rail bored alike in both ends", rail, railEnds, false, false},
		{"rail with one dowel in the middle of each end", rail, "left end middle dia 3/8 deep 1 1/4\nright end middle dia 3/8 deep 1 1/4", false, false},
		{"rail bored in one end only, even across it", rail, "left end 3/4 dia 3/8 deep 1 1/4\nleft end 3/4 from far edge dia 3/8 deep 1 1/4", false, false},
		{"rail bored in one end only, and near one edge", rail, "left end 3/4 dia 3/8 deep 1 1/4", true, false},
		{"rail whose dowels are nearer the show face", rail, "left end 3/4, 1/4 from show face, dia 3/8 deep 1 1/4", true, true},
		{"rail with near dowels left and far dowels right", rail, "left end 1/2 dia 3/8 deep 1 1/4\nright end 1/2 from far edge dia 3/8 deep 1 1/4", true, false},
		{"stile bored the same from both ends", stile, stileEnds, false, false},
		{"stile with one hole deeper", stile, strings.Replace(stileEnds, "deep 1 3/8", "deep 1 1/4", 1), true, false},
		{"stile with one hole wider", stile, strings.Replace(stileEnds, "dia 3/8", "dia 7/16", 1), true, false},
		{"stile with a hinge hole near one end", stile, stileEnds + "\nback 3 1/2, 7/8 from far edge, dia 35 mm deep 1/2", true, true},
		{"stile with hinge holes at both ends alike", stile, stileEnds + "\nback 3 1/2, 7/8 from far edge, dia 35 mm deep 1/2\nback 3 1/2 from right end, 7/8 from far edge, dia 35 mm deep 1/2", false, false},
		{"both measured from the left end, and even at this length", stile, "near edge 1 dia 3/8 deep 1\nnear edge 33 1/2 dia 3/8 deep 1", false, false},
		{"both measured from the left end, and uneven", stile, "near edge 1 dia 3/8 deep 1\nnear edge 33 3/8 dia 3/8 deep 1", true, false},
		{"the middle of the width, measured", stile, "show face 3, 1 1/8 from near edge, dia 1/4 deep 1/4", false, false},
		{"one hole right through, off both middles", stile, "back 2, 3/4 from near edge, dia 1/4 through", true, false},
		{"one hole of half the thickness, off both middles", stile, "back 2, 3/4 from near edge, dia 1/4 deep 3/8", true, true},
		{"as deep as the part is right through", stile, "back 2, 3/4 from near edge, dia 1/4 deep 3/4", true, false},
		{"through from two faces", stile, "back 2, 3/4 from near edge, dia 1/4 through\nshow face 2, 3/4 from far edge, dia 1/4 through", false, false},
		{"shows on one face, blind on the other", stile, "back middle dia 1/4 deep 1/4", false, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := pattern(t, tt.text)
			var d [3]parts.Length
			for i, s := range tt.size {
				var err error
				d[i], err = parts.ParseLength(s, inches)
				require.NoError(t, err)
			}
			require.NoError(t, bore.Fits(p, sized(d)))
			assert.Equal(t, tt.show, bore.Handed(p, d[0], d[1], d[2], true), "with a show face")
			assert.Equal(t, tt.any, bore.Handed(p, d[0], d[1], d[2], false), "without one")
			assert.Equal(t, tt.show, slowlyHanded(p, d, true), "the slow check, with a show face")
			assert.Equal(t, tt.any, slowlyHanded(p, d, false), "the slow check, without one")
		})
	}
}

func sized(d [3]parts.Length) parts.Line {
	return parts.Line{Length: parts.Size{Length: d[0]}, Width: parts.Size{Length: d[1]}, Thick: parts.Size{Length: d[2]}}
}

// slowlyHanded asks the same of points in space: it makes every rotation of
// space by quarters, keeps those that lay the part into its own outline (and
// leave its show face up), and looks for one that gives the mirror image. It
// shares nothing with the room but the meaning of a hole.
func slowlyHanded(p parts.Pattern, d [3]parts.Length, showFace bool) bool {
	own := inSpace(p, d)
	image := movedTo(own, [3][3]int64{{1, 0, 0}, {0, -1, 0}, {0, 0, 1}})
	for _, m := range rotations() {
		if !keepsOutline(m, d) || showFace && m[2][2] != 1 {
			continue
		}
		if slices.Equal(written(movedTo(own, m)), written(image)) {
			return false
		}
	}
	return true
}

// drilled is a hole as a line in space from its mouth to its bottom, the
// middle of the part being the origin.
type drilled struct {
	mouth, bottom [3]*big.Rat
	open          bool // at both ends
	diameter      parts.Length
}

func inSpace(p parts.Pattern, d [3]parts.Length) []drilled {
	var out []drilled
	for _, h := range p.Holes {
		var way, along, across int // 0 length, 1 width, 2 thickness
		fromShow := true
		switch h.Into {
		case parts.IntoShow, parts.IntoBack:
			way, along, across, fromShow = 2, 0, 1, false
		case parts.IntoNearEdge, parts.IntoFarEdge:
			way, along, across = 1, 0, 2
		default:
			way, along, across = 0, 1, 2
		}
		high := h.Into == parts.IntoShow || h.Into == parts.IntoFarEdge || h.Into == parts.IntoRightEnd
		var hole drilled
		hole.diameter = h.Diameter
		hole.open = h.Depth == 0 || h.Depth >= d[way]
		depth := h.Depth
		if hole.open {
			depth = d[way]
		}
		hole.mouth[way], hole.bottom[way] = fromMiddle(0, high, d[way]), fromMiddle(depth, high, d[way])
		hole.mouth[along] = fromMiddle(h.Along, h.FromFar, d[along])
		hole.mouth[across] = fromMiddle(h.Across, h.AcrossFar != fromShow, d[across])
		if h.Along == 0 {
			hole.mouth[along] = new(big.Rat)
		}
		if h.Across == 0 {
			hole.mouth[across] = new(big.Rat)
		}
		hole.bottom[along], hole.bottom[across] = hole.mouth[along], hole.mouth[across]
		out = append(out, hole)
	}
	return out
}

// fromMiddle is where a distance from one end of a size lies.
func fromMiddle(distance parts.Length, high bool, size parts.Length) *big.Rat {
	r := new(big.Rat).Sub(big.NewRat(int64(distance), 1), big.NewRat(int64(size), 2))
	if high {
		r.Neg(r)
	}
	return r
}

func movedTo(holes []drilled, m [3][3]int64) []drilled {
	times := func(v [3]*big.Rat) (out [3]*big.Rat) {
		for i := range m {
			out[i] = new(big.Rat)
			for j := range v {
				out[i].Add(out[i], new(big.Rat).Mul(big.NewRat(m[i][j], 1), v[j]))
			}
		}
		return out
	}
	var out []drilled
	for _, h := range holes {
		h.mouth, h.bottom = times(h.mouth), times(h.bottom)
		out = append(out, h)
	}
	return out
}

// rotations are the 24 rotations of a cube: the signed permutations of the
// three ways that do not mirror space.
func rotations() [][3][3]int64 {
	var out [][3][3]int64
	for _, to := range [][3]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		for bits := range 8 {
			var m [3][3]int64
			for i := range 3 {
				m[i][to[i]] = int64(1 - 2*(bits>>i&1))
			}
			det := m[0][0]*(m[1][1]*m[2][2]-m[1][2]*m[2][1]) - m[0][1]*(m[1][0]*m[2][2]-m[1][2]*m[2][0]) + m[0][2]*(m[1][0]*m[2][1]-m[1][1]*m[2][0])
			if det == 1 {
				out = append(out, m)
			}
		}
	}
	return out
}

// keepsOutline reports whether a rotation lays a part into its own outline.
func keepsOutline(m [3][3]int64, d [3]parts.Length) bool {
	for i := range m {
		for j := range m[i] {
			if m[i][j] != 0 && d[i] != d[j] {
				return false
			}
		}
	}
	return true
}

// written writes holes in one order, whichever end of an open one came first.
func written(holes []drilled) []string {
	var out []string
	for _, h := range holes {
		point := func(v [3]*big.Rat) string { return v[0].RatString() + " " + v[1].RatString() + " " + v[2].RatString() }
		from, to := point(h.mouth), point(h.bottom)
		if h.open && from > to {
			from, to = to, from
		}
		out = append(out, from+" - "+to+" : "+h.diameter.String())
	}
	slices.Sort(out)
	return out
}

// somePart draws a size with three different sides and a pattern on a coarse
// grid, so that even patterns are as frequent as uneven ones.
func somePart(t *rapid.T) (parts.Pattern, [3]parts.Length) {
	d := [3]parts.Length{12 * parts.Inch, 6*parts.Inch + parts.Length(rapid.IntRange(0, 1).Draw(t, "odd")), 4 * parts.Inch}
	grid := func(name string) parts.Length { return parts.Length(rapid.IntRange(0, 5).Draw(t, name)) * parts.Inch }
	var p parts.Pattern
	for range rapid.IntRange(1, 3).Draw(t, "holes") {
		h := parts.Hole{
			Into: rapid.SampledFrom(parts.HoleFaces).Draw(t, "face"), Along: grid("along"), Across: grid("across"),
			Diameter: parts.Length(rapid.IntRange(1, 2).Draw(t, "diameter")) * parts.Inch / 4, Depth: grid("depth"),
		}
		h.FromFar = h.Along > 0 && rapid.Bool().Draw(t, "far")
		h.AcrossFar = h.Across > 0 && rapid.Bool().Draw(t, "across far")
		p.Holes = append(p.Holes, h)
		if rapid.Bool().Draw(t, "mate") {
			mate := rapid.SampledFrom([]func(parts.Hole) parts.Hole{endToEnd, edgeToEdge, func(h parts.Hole) parts.Hole { return edgeToEdge(endToEnd(h)) }}).Draw(t, "which")
			p.Holes = append(p.Holes, mate(h))
		}
	}
	return p, d
}

// endToEnd is the hole at the same place from the other end.
func endToEnd(h parts.Hole) parts.Hole {
	switch h.Into {
	case parts.IntoLeftEnd:
		h.Into = parts.IntoRightEnd
	case parts.IntoRightEnd:
		h.Into = parts.IntoLeftEnd
	default:
		h.FromFar = h.Along > 0 && !h.FromFar
	}
	return h
}

// edgeToEdge is the hole at the same place from the other edge.
func edgeToEdge(h parts.Hole) parts.Hole {
	return bore.Mirror(parts.Pattern{Holes: []parts.Hole{h}}).Holes[0]
}

func TestHandedAgreesWithASlowCheck(t *testing.T) {
	seen := map[bool]int{}
	rapid.Check(t, func(t *rapid.T) {
		p, d := somePart(t)
		show := rapid.Bool().Draw(t, "show")
		want := slowlyHanded(p, d, show)
		seen[want]++
		require.Equal(t, want, bore.Handed(p, d[0], d[1], d[2], show))
	})
	assert.Greater(t, seen[true], 10)
	assert.Greater(t, seen[false], 10)
}

func TestHandsOfCounterparts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, d := somePart(t)
		show := rapid.Bool().Draw(t, "show")
		m := bore.Mirror(p)
		require.Equal(t, p, bore.Mirror(m), "mirroring twice is nothing")
		require.Equal(t, bore.Handed(p, d[0], d[1], d[2], show), bore.Handed(m, d[0], d[1], d[2], show))
		require.Equal(t, written(movedTo(inSpace(p, d), [3][3]int64{{1, 0, 0}, {0, -1, 0}, {0, 0, 1}})), written(inSpace(m, d)),
			"the counterpart is the mirror image in space")
		if !bore.Handed(p, d[0], d[1], d[2], true) {
			require.False(t, bore.Handed(p, d[0], d[1], d[2], false), "more ways to turn it never make a hand")
		}
		if !bore.Handed(p, 0, 0, 0, show) {
			require.False(t, bore.Handed(p, d[0], d[1], d[2], show), "what has no hand at any size has none at this one")
		}
	})
}

func TestEvenPatternsHaveNoHand(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, d := somePart(t)
		mate := rapid.SampledFrom([]func(parts.Hole) parts.Hole{endToEnd, edgeToEdge}).Draw(t, "mate")
		for _, h := range p.Holes {
			p.Holes = append(p.Holes, mate(h))
		}
		require.False(t, bore.Handed(p, d[0], d[1], d[2], true))
		require.False(t, bore.Handed(p, 0, 0, 0, true), "whatever its size")
	})
}

// A pattern that is even once the size is known is told from one that is even
// at every size.
func TestUnknownSizes(t *testing.T) {
	p := pattern(t, "near edge 1 dia 3/8 deep 1\nnear edge 33 1/2 dia 3/8 deep 1")
	assert.True(t, bore.Handed(p, 0, 0, 0, true))
	assert.False(t, bore.Handed(p, 34*parts.Inch+parts.Inch/2, 0, 0, true))
	assert.True(t, bore.Handed(p, 35*parts.Inch, 0, 0, true))
	p = pattern(t, "near edge 1 dia 3/8 deep 1\nnear edge 1 from right end dia 3/8 deep 1")
	assert.False(t, bore.Handed(p, 0, 0, 0, true))
}

// Source: the 32 mm system of cabinetmaking, as reference pages of the trade
// give it: holes of 5 mm at a pitch of 32 mm, the front row 37 mm from the
// edge, so that n holes span 32 (n - 1) mm, 10 of them 288 mm. An inch jig of
// 1 1/4 in is 0.25 mm short for each hole, 2.25 mm over ten.
func TestRowsOf32Millimetres(t *testing.T) {
	const first, n = 100, 10
	var text strings.Builder
	for i := range n {
		text.WriteString("show face " + big.NewInt(int64(first+32*i)).String() + ", 37 from near edge, dia 5 deep 11\n")
	}
	holes, err := bore.ParseHoles(text.String(), millis)
	require.NoError(t, err)
	p := parts.Pattern{Key: "row", Name: "Row of ten", Holes: holes}
	require.NoError(t, bore.Check(p))
	span := holes[n-1].Along - holes[0].Along
	assert.Equal(t, "288 mm", span.Format(parts.Style{Unit: parts.Millimetres}))
	pitch, err := parts.ParseLength("1 1/4", inches)
	require.NoError(t, err)
	assert.Equal(t, 2250*parts.Micrometre, span-(n-1)*pitch)

	even, width, thick := 2*first*parts.Millimetre+span, 560*parts.Millimetre, 19*parts.Millimetre
	require.NoError(t, bore.Fits(p, sized([3]parts.Length{even, width, thick})))
	assert.False(t, bore.Handed(p, even, width, thick, true), "the row is in the middle of the side: one side fits left and right")
	assert.True(t, bore.Handed(p, even+2*parts.Millimetre, width, thick, true), "a side cut longer at one end has a hand")
}
