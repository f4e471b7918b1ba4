package bore_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bore"
)

const (
	inch = parts.Inch
	mm   = parts.Millimetre
)

func TestParseHoles(t *testing.T) {
	tests := []struct {
		name string
		text string
		how  parts.Writing
		want parts.Hole
	}{
		{"end, inches", "left end 3/4 dia 3/8 deep 1 1/4", inches,
			parts.Hole{Into: parts.IntoLeftEnd, Along: 3 * inch / 4, Diameter: 3 * inch / 8, Depth: inch + inch/4}},
		{"edge from the far end, millimetres said", "near edge 3 from far end dia 5 mm deep 11 mm", inches,
			parts.Hole{Into: parts.IntoNearEdge, Along: 3 * inch, FromFar: true, Diameter: 5 * mm, Depth: 11 * mm}},
		{"commas, capitals and articles", "Near Edge, 3 from the Right End, 1/4 from the show face, dia 5mm, deep 11mm;", inches,
			parts.Hole{Into: parts.IntoNearEdge, Along: 3 * inch, FromFar: true, Across: inch / 4, Diameter: 5 * mm, Depth: 11 * mm}},
		{"across first", "show face 22,5 from far edge 90 from near end dia 35 deep 12,5", parts.Writing{Unit: parts.Millimetres, DecimalComma: true},
			parts.Hole{Into: parts.IntoShow, Along: 90 * mm, Across: 45 * mm / 2, AcrossFar: true, Diameter: 35 * mm, Depth: 25 * mm / 2}},
		{"middle and through", "back middle dia 1/4 through", inches, parts.Hole{Into: parts.IntoBack, Diameter: inch / 4}},
		{"a comma keeps two numbers apart", "back 2, 3/4 from near edge, dia 1/4 through", inches,
			parts.Hole{Into: parts.IntoBack, Along: 2 * inch, Across: 3 * inch / 4, Diameter: inch / 4}},
		{"depth before diameter", "far edge 50 through ø 6", millis, parts.Hole{Into: parts.IntoFarEdge, Along: 50 * mm, Diameter: 6 * mm}},
		{"across from the back", "right end middle 8 from back diameter 6 deep 30", millis,
			parts.Hole{Into: parts.IntoRightEnd, Across: 8 * mm, AcrossFar: true, Diameter: 6 * mm, Depth: 30 * mm}},
		{"far edge of an end", "right end 20 from far edge dia 10 deep 30\r", millis,
			parts.Hole{Into: parts.IntoRightEnd, Along: 20 * mm, FromFar: true, Diameter: 10 * mm, Depth: 30 * mm}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			holes, err := bore.ParseHoles("\n"+tt.text+"\n\n", tt.how)
			require.NoError(t, err)
			assert.Equal(t, []parts.Hole{tt.want}, holes)
		})
	}
	none, err := bore.ParseHoles(" \n\t\n", inches)
	require.NoError(t, err)
	assert.Empty(t, none)
}

func TestParseHolesRefuses(t *testing.T) {
	tests := []struct {
		name, line, code, says string
	}{
		{"no face", "inside 3 dia 3/8 through", "hole-face", "inside"},
		{"half a face", "left", "hole-face", "left"},
		{"no place", "left end dia 3/8 through", "hole-place", "does not say where"},
		{"two numbers that read as one", "back 2 3/4 from near edge, dia 1/4 through", "hole-place", "along the face"},
		{"only across", "left end 1/4 from show face dia 3/8 through", "hole-place", "along the face"},
		{"no diameter", "left end 3/4 deep 1", "hole-diameter", "does not say how wide"},
		{"no depth", "left end 3/4 dia 3/8", "hole-depth", "does not say how deep"},
		{"depth twice", "left end 3/4 dia 3/8 deep 1 through", "hole-depth", "twice"},
		{"place twice", "left end 3/4 from near edge middle dia 3/8 through", "hole-place", "twice"},
		{"across twice", "left end 3/4 from show face 1/4 from back dia 3/8 through", "hole-place", "twice"},
		{"two numbers", "left end 3/4 1/2 dia 3/8 through", "length-unreadable", "3/4 1/2"},
		{"no number", "left end 3/4 dia deep 1", "length-empty", "Line 3"},
		{"from nowhere", "left end 3/4 from left end dia 3/8 through", "hole-from", "from far edge"},
		{"from an edge of an edge", "near edge 3/4 from near edge dia 3/8 through", "hole-from", "from right end"},
		{"from, and nothing", "left end 3/4 from", "hole-from", "measures from"},
		{"nothing from an end", "near edge 0 dia 3/8 through", "length-zero", "Line 3"},
		{"less than nothing", "near edge -1 dia 3/8 through", "length-negative", "Line 3"},
		{"too wide", "near edge 10 dia 19 through", "hole-diameter", "19"},
		{"out of the edge", "near edge 1/8 dia 1/2 through", "hole-outside", "Line 3"},
		{"a percent sign", "left end 3%d dia %s through", "length-unreadable", "3%d"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := bore.ParseHoles("left end 3/4 dia 3/8 deep 1\n\n"+tt.line, inches)
			p := parts.AsProblem(err)
			require.NotNil(t, p)
			assert.Equal(t, tt.code, p.Code)
			assert.Equal(t, parts.Invalid, p.Sort)
			assert.Contains(t, p.Error(), "Line 3", "the line is named")
			assert.Contains(t, p.Error(), tt.says)
			assert.NotEmpty(t, p.Do)
			assert.NotContains(t, p.Error(), "%!")
		})
	}
	_, err := bore.ParseHoles(strings.Repeat("left end 3/4 dia 3/8 deep 1\n", bore.MostHoles+1), inches)
	assert.Equal(t, "holes-many", parts.CodeOf(err))
}

func TestFormatHoles(t *testing.T) {
	holes := []parts.Hole{
		{Into: parts.IntoLeftEnd, Along: 3 * inch / 4, Diameter: 3 * inch / 8, Depth: inch + inch/4},
		{Into: parts.IntoNearEdge, Along: 3 * inch, FromFar: true, Across: inch / 4, Diameter: 5 * mm, Depth: 11 * mm},
		{Into: parts.IntoShow, Across: inch, AcrossFar: true, Diameter: inch / 4},
		{Into: parts.IntoBack, Along: inch / 64, Across: 37 * mm, Diameter: inch / 64, Depth: mm},
	}
	assert.Equal(t, `left end 3/4" from near edge, dia 3/8" deep 1 1/4"
near edge 3" from right end, 1/4" from show face, dia 5 mm deep 11 mm
show face middle, 1" from far edge, dia 1/4" through
back 1/64" from left end, 37 mm from near edge, dia 1/64" deep 1 mm`, bore.FormatHoles(holes, parts.Style{Unit: parts.Inches, Denominator: 32}))
	assert.Equal(t, `left end 3/4" from near edge, dia 3/8" deep 1 1/4"`, bore.FormatHoles(holes[:1], parts.Style{Unit: parts.Millimetres}),
		"what a tenth of a millimetre would round is written exactly")
}

func TestTheExamplesAreRead(t *testing.T) {
	for _, unit := range []parts.Unit{parts.Inches, parts.Millimetres} {
		holes, err := bore.ParseHoles(bore.Example(unit), parts.Writing{Unit: unit})
		require.NoError(t, err)
		require.NoError(t, bore.Check(parts.Pattern{Key: "example", Name: "Example", Holes: holes}))
		require.Len(t, holes, 4)
	}
}

// someHole draws any hole that makes sense.
func someHole(t *rapid.T) parts.Hole {
	h := parts.Hole{
		Into:     rapid.SampledFrom(parts.HoleFaces).Draw(t, "face"),
		Diameter: parts.Length(rapid.Int64Range(int64(mm/2), int64(100*mm)).Draw(t, "diameter")),
		Depth:    parts.Length(rapid.Int64Range(0, int64(parts.LongestLength)).Draw(t, "depth")),
	}
	place := func(name string) (parts.Length, bool) {
		if rapid.Bool().Draw(t, name+" in the middle") {
			return 0, false
		}
		return parts.Length(rapid.Int64Range(int64(h.Diameter+1)/2, int64(parts.LongestLength)).Draw(t, name)), rapid.Bool().Draw(t, name+" far")
	}
	h.Along, h.FromFar = place("along")
	h.Across, h.AcrossFar = place("across")
	return h
}

var (
	styles = []parts.Style{{Unit: parts.Inches, Denominator: 32}, {Unit: parts.Inches, Denominator: 8}, {Unit: parts.Millimetres}}
	ways   = []parts.Writing{inches, millis, {Unit: parts.Millimetres, DecimalComma: true}, {Unit: parts.Feet}}
)

func TestFormattedHolesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		holes := rapid.SliceOfN(rapid.Custom(someHole), 1, 5).Draw(t, "holes")
		text := bore.FormatHoles(holes, rapid.SampledFrom(styles).Draw(t, "style"))
		back, err := bore.ParseHoles(text, rapid.SampledFrom(ways).Draw(t, "writing"))
		require.NoError(t, err, text)
		require.Equal(t, holes, back, text)
	})
}

func FuzzParseHoles(f *testing.F) {
	f.Add(bore.Example(parts.Inches), false)
	f.Add(bore.Example(parts.Millimetres), true)
	f.Add("left end 3/4 from the far edge, 1/4 from back; Ø 5 mm through", false)
	f.Add("near edge 1.219,5 dia 35,0 deep 1'6\"\nback middle middle", true)
	f.Add("left end 3%d from", false)
	f.Fuzz(func(t *testing.T, text string, metric bool) {
		w := ways[0]
		if metric {
			w = ways[2]
		}
		holes, err := bore.ParseHoles(text, w)
		if err != nil {
			p := parts.AsProblem(err)
			require.NotNil(t, p, "a person's slip is no fault")
			require.True(t, strings.HasPrefix(p.Error(), "Line "), p.Error())
			return
		}
		for _, st := range styles {
			for _, again := range ways {
				back, err := bore.ParseHoles(bore.FormatHoles(holes, st), again)
				require.NoError(t, err)
				require.Equal(t, holes, back)
			}
		}
		p := parts.Pattern{Key: "fuzzed", Name: "Fuzzed", Holes: holes}
		require.Equal(t, p.Holes, append([]parts.Hole(nil), bore.Mirror(bore.Mirror(p)).Holes...))
		bore.Handed(p, inch, 0, inch, true)
		_ = bore.Fits(p, parts.Line{Length: parts.Size{Length: inch}})
	})
}
