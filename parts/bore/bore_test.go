package bore_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bore"
)

func TestCheckRefuses(t *testing.T) {
	good := parts.Hole{Into: parts.IntoLeftEnd, Along: parts.Inch, Diameter: parts.Inch / 2, Depth: parts.Inch}
	hole := func(change func(h *parts.Hole)) parts.Pattern {
		h := good
		change(&h)
		return parts.Pattern{Key: "rail-dowels", Name: "Rail, two dowels", Holes: []parts.Hole{h}}
	}
	of := func(key, name string, holes ...parts.Hole) parts.Pattern {
		return parts.Pattern{Key: key, Name: name, Holes: holes}
	}
	var many []parts.Hole
	for i := range bore.MostHoles + 1 {
		h := good
		h.Along += parts.Length(i) * parts.Inch
		many = append(many, h)
	}
	through := parts.Hole{Into: parts.IntoShow, Along: parts.Inch, Across: parts.Inch, Diameter: parts.Inch / 4}
	fromBack := through
	fromBack.Into = parts.IntoBack
	blind := fromBack
	blind.Depth = parts.Inch / 4
	wider := good
	wider.Diameter *= 2
	tests := []struct {
		name string
		p    parts.Pattern
		code string
	}{
		{"no key", of("", "Rail", good), "pattern-key"},
		{"capitals in the key", of("Rail", "Rail", good), "pattern-key"},
		{"a hyphen at the end of the key", of("rail-", "Rail", good), "pattern-key"},
		{"a key too long", of(strings.Repeat("a", 41), "Rail", good), "pattern-key"},
		{"no name", of("rail", " ", good), "pattern-name"},
		{"a name too long", of("rail", strings.Repeat("é", 61), good), "pattern-name"},
		{"no holes", of("rail", "Rail"), "holes-none"},
		{"too many holes", of("rail", "Rail", many...), "holes-many"},
		{"no face", hole(func(h *parts.Hole) { h.Into = "inside" }), "hole-face"},
		{"no diameter", hole(func(h *parts.Hole) { h.Diameter = 0 }), "hole-diameter"},
		{"a diameter below nothing", hole(func(h *parts.Hole) { h.Diameter = -parts.Inch }), "hole-diameter"},
		{"a diameter in the wrong unit", hole(func(h *parts.Hole) { h.Diameter = 8 * parts.Inch }), "hole-diameter"},
		{"a place below nothing", hole(func(h *parts.Hole) { h.Along = -1 }), "hole-place"},
		{"a place across below nothing", hole(func(h *parts.Hole) { h.Across = -1 }), "hole-place"},
		{"a place on no part", hole(func(h *parts.Hole) { h.Along = parts.LongestLength + 1 }), "hole-place"},
		{"the middle, from the far edge", hole(func(h *parts.Hole) { h.Along, h.FromFar = 0, true }), "hole-place"},
		{"the middle across, from the back", hole(func(h *parts.Hole) { h.AcrossFar = true }), "hole-place"},
		{"a depth below nothing", hole(func(h *parts.Hole) { h.Depth = -1 }), "hole-depth"},
		{"out of the edge it is measured from", hole(func(h *parts.Hole) { h.Along = parts.Inch/4 - 1 }), "hole-outside"},
		{"out of the face it is measured from", hole(func(h *parts.Hole) { h.Across = parts.Inch/4 - 1 }), "hole-outside"},
		{"one hole twice", of("rail", "Rail", good, good), "hole-twice"},
		{"a wider one at the same place", of("rail", "Rail", good, wider), "hole-twice"},
		{"right through from both faces", of("rail", "Rail", through, fromBack), "hole-twice"},
		{"blind where one comes through", of("rail", "Rail", through, blind), "hole-twice"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := parts.AsProblem(bore.Check(tt.p))
			require.NotNil(t, p)
			assert.Equal(t, tt.code, p.Code)
			assert.NotEmpty(t, p.Do, "what to do about it")
			assert.NotContains(t, p.Error(), "%!")
		})
	}
	assert.NoError(t, bore.Check(of("32-mm-row", "Rail", good)))
	assert.NoError(t, bore.Check(of("rail", "Rail", many[:bore.MostHoles]...)))
	touching := hole(func(h *parts.Hole) { h.Along = parts.Inch / 4 })
	assert.NoError(t, bore.Check(touching), "the rim may touch the edge")
	opposite := blind
	opposite.Into = parts.IntoShow
	assert.NoError(t, bore.Check(of("rail", "Rail", opposite, blind)), "blind from two faces are two holes")
}

// Source of the dowel sizes: common practice of the trade as shop pages give
// it: a 3/8 in dowel in 3/4 in stock, about three diameters into each side and
// 1/8 in shorter than both holes together: 1 1/4 + 1 3/8 = 2 5/8 for 2 1/2 in.
func TestFits(t *testing.T) {
	rail, stile := pattern(t, "left end 3/4 dia 3/8 deep 1 1/4"), pattern(t, "near edge 3/4 dia 3/8 deep 1 3/8")
	dowel := 2*parts.Inch + parts.Inch/2
	assert.Equal(t, dowel+parts.Inch/8, rail.Holes[0].Depth+stile.Holes[0].Depth)
	tests := []struct {
		name                 string
		text                 string
		length, width, thick string
		code, says           string
	}{
		{"a dowel in 3/4 stock", "near edge 3/4 dia 3/8 deep 1 3/8", "34 1/2", "2 1/4", "3/4", "", ""},
		{"deeper than a narrow stile", "near edge 3/4 dia 3/8 deep 1 3/8", "34 1/2", "1 1/4", "3/4", "hole-outside", "near edge, hole 1"},
		{"as deep as the stile is wide", "near edge 3/4 dia 3/8 deep 1 3/8", "34 1/2", "1 3/8", "3/4", "", ""},
		{"wider than the stock is thick", "left end 3/4 dia 13/16 deep 1", "15", "2 1/4", "3/4", "hole-outside", "left end, hole 1"},
		{"as wide as the stock is thick", "left end 3/4 dia 3/4 deep 1", "15", "2 1/4", "3/4", "", ""},
		{"past the right end", "near edge 3/4 dia 3/8 deep 1\nnear edge 20 dia 3/8 deep 1", "15", "2 1/4", "3/4", "hole-outside", "near edge, hole 2"},
		{"past the left end, from the right one", "near edge 20 from right end dia 3/8 deep 1", "15", "2 1/4", "3/4", "hole-outside", "length is 15"},
		{"rim out of the far edge", "left end 2 1/8 dia 3/8 deep 1", "15", "2 1/4", "3/4", "hole-outside", "width is 2 1/4"},
		{"two that meet at this length", "near edge 5 dia 3/8 deep 1\nnear edge 10 from right end dia 3/8 deep 1", "15", "2 1/4", "3/4", "hole-twice", "near edge, hole 2"},
		{"two that do not at another", "near edge 5 dia 3/8 deep 1\nnear edge 10 from right end dia 3/8 deep 1", "16", "2 1/4", "3/4", "", ""},
		{"a length to suit is not judged", "near edge 20 dia 3/8 deep 1", "to suit 15", "2 1/4", "3/4", "", ""},
		{"a length not given is not judged", "near edge 20 dia 3/8 deep 1", "", "2 1/4", "3/4", "", ""},
		{"depth along an unknown way is not judged", "near edge 3 dia 3/8 deep 9", "15", "", "3/4", "", ""},
		{"right through fits any thickness", "back 3 dia 3/8 through", "15", "2 1/4", "", "", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var line parts.Line
			for i, s := range []string{tt.length, tt.width, tt.thick} {
				size, err := parts.ParseSize(s, inches)
				require.NoError(t, err)
				*[]*parts.Size{&line.Length, &line.Width, &line.Thick}[i] = size
			}
			err := bore.Fits(pattern(t, tt.text), line)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if err != nil {
				assert.Contains(t, err.Error(), tt.says)
			}
		})
	}
}

func TestPlaces(t *testing.T) {
	p := pattern(t, "left end 1/2 dia 3/8 deep 1\nright end 1/2 dia 3/8 deep 1\nleft end 1 1/2 dia 3/8 deep 1\nback middle dia 1/4 through")
	assert.Equal(t, []string{"left end, hole 1", "right end, hole 1", "left end, hole 2", "back, hole 1"}, bore.Places(p))
	assert.Empty(t, bore.Places(parts.Pattern{}))
}
