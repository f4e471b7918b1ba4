package parts

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestParseLength(t *testing.T) {
	inches, millis := Writing{Unit: Inches}, Writing{Unit: Millimetres}
	comma := Writing{Unit: Millimetres, DecimalComma: true}
	tests := []struct {
		name string
		text string
		how  Writing
		want Length
	}{
		{"bare number of an inch list", `34`, inches, 34 * Inch},
		{"no unit said at all means inches", `34`, Writing{}, 34 * Inch},
		{"inch mark", `34"`, millis, 34 * Inch},
		{"mixed number", `34 1/2`, inches, 34*Inch + Inch/2},
		{"mixed number with a hyphen", `34-1/2"`, inches, 34*Inch + Inch/2},
		{"hyphen with spaces", `34 - 1/2"`, inches, 34*Inch + Inch/2},
		{"fraction in one character", `2¼`, inches, 2*Inch + Inch/4},
		{"fraction in one character after a space", `2 ¼"`, inches, 2*Inch + Inch/4},
		{"fraction in one character after a hyphen", `2-¼"`, inches, 2*Inch + Inch/4},
		{"fraction slash", `1 3⁄8`, inches, Inch + 3*Inch/8},
		{"raised and lowered digits", `2³⁄₈`, inches, 2*Inch + 3*Inch/8},
		{"fraction alone", `7/4`, inches, 7 * Inch / 4},
		{"a hundred and twenty-eighth", `1/128`, inches, 15_875},
		{"feet and inches", `4'3-1/2"`, inches, 51*Inch + Inch/2},
		{"curly marks", `4’ 3-1/2”`, inches, 51*Inch + Inch/2},
		{"primes", `4′ 3-1/2″`, inches, 51*Inch + Inch/2},
		{"two single marks for an inch mark", `3''`, inches, 3 * Inch},
		{"short feet and inches", `1'6"`, inches, 18 * Inch},
		{"inch mark left off after feet", `1'6`, inches, 18 * Inch},
		{"feet dash inches", `1'-6"`, inches, 18 * Inch},
		{"words for feet and inches", `1 ft 6 in`, millis, 18 * Inch},
		{"feet in decimals", `1.5'`, inches, 18 * Inch},
		{"feet with a fraction", `2 1/2 feet`, inches, 30 * Inch},
		{"millimetres joined", `914mm`, inches, 914 * Millimetre},
		{"millimetres", `57 mm`, inches, 57 * Millimetre},
		{"centimetres", `91.4 cm`, inches, 914 * Millimetre},
		{"metres", `1.219 m`, inches, 1219 * Millimetre},
		{"inches in decimals", `2.25in`, millis, 2*Inch + Inch/4},
		{"inch with a full stop", `2.25 In.`, millis, 2*Inch + Inch/4},
		{"the word inches", `2.25 inches`, millis, 2*Inch + Inch/4},
		{"hyphen before the unit", `36-inch`, millis, 36 * Inch},
		{"German word for inches", `12 Zoll`, millis, 12 * Inch},
		{"a thousandth", `0.001`, inches, 2_032},
		{"no zero before the point", `.75`, inches, 3 * Inch / 4},
		{"zero before the point", `0.75`, inches, 3 * Inch / 4},
		{"thousands with a comma", `1,219.5`, millis, 1219*Millimetre + Millimetre/2},
		{"thousands twice", `1,219,5`, comma, 0},
		{"decimal comma in a decimal-comma list", `1.219,5`, comma, 1219*Millimetre + Millimetre/2},
		{"decimal comma in a decimal-point list", `1.219,5`, millis, 1219*Millimetre + Millimetre/2},
		{"thousands with a point in a decimal-comma list", `1.219`, comma, 1219 * Millimetre},
		{"one and a bit in a decimal-point list", `1.219`, millis, 1219 * Micrometre},
		{"one and a bit in a decimal-comma list", `1,219`, comma, 1219 * Micrometre},
		{"lone comma with three digits is thousands", `1,219`, millis, 1219 * Millimetre},
		{"lone comma with one digit is decimal", `1,5`, millis, Millimetre + Millimetre/2},
		{"lone comma with two digits is decimal", `1,25`, millis, Millimetre + Millimetre/4},
		{"lone point with two digits is decimal", `0.75`, comma, 3 * Millimetre / 4},
		{"nothing has thousands of zero", `0.750`, comma, 3 * Millimetre / 4},
		{"thousands in full", `0,019,050`, millis, 19_050 * Millimetre},
		{"no-break space", "34\u00a01/2\u202f\"", inches, 34*Inch + Inch/2},
		{"the longest", `100 m`, inches, LongestLength},
		{"third of an inch, to the nearest 12.5 nm", `1/3`, inches, 677_333},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseLength(tt.text, tt.how)
			if tt.want == 0 {
				require.Error(t, err)
				return
			}
			require.NoError(t, err)
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestParseLengthRefuses(t *testing.T) {
	tests := []struct {
		name string
		text string
		code string
	}{
		{"nothing", "", "length-empty"},
		{"only spaces", " \u00a0\t", "length-empty"},
		{"text", "long", "length-unreadable"},
		{"text after a number", "34 or so", "length-unreadable"},
		{"two numbers", "34 35", "length-unreadable"},
		{"two hyphens", "34--1/2", "length-unreadable"},
		{"hyphen at the end", "34-", "length-unreadable"},
		{"negative", "-34", "length-negative"},
		{"negative with a minus sign", "−34 mm", "length-negative"},
		{"a dash", "-", "length-unreadable"},
		{"zero", "0", "length-zero"},
		{"zero feet and inches", `0'-0"`, "length-zero"},
		{"too small to hold", "0.000000001 mm", "length-zero"},
		{"exponent", "1e9", "length-unreadable"},
		{"infinity", "Inf", "length-unreadable"},
		{"not a number", "NaN", "length-unreadable"},
		{"NUL", "34\x00", "length-unreadable"},
		{"broken UTF-8", "34\xff", "length-unreadable"},
		{"Arabic digits", "٣٤", "length-unreadable"},
		{"over a hundred metres", "100.1 m", "length-too-long"},
		{"thousand million", "1,000,000,000", "length-too-long"},
		{"very many digits", strings.Repeat("9", 39), "length-too-long"},
		{"longer than anyone writes", strings.Repeat("9", 400), "length-unreadable"},
		{"denominator zero", "1/0", "length-unreadable"},
		{"denominator no rule has", "1/129", "length-unreadable"},
		{"improper fraction after a whole number", "2 5/4", "length-unreadable"},
		{"a space forgotten", "21/4", "length-unclear"},
		{"decimal and fraction", "2.5 1/4", "length-unreadable"},
		{"twelve inches after feet", `4'12"`, "length-unreadable"},
		{"inches after part of a foot", `1.5' 6"`, "length-unreadable"},
		{"millimetres after feet", `4' 10 mm`, "length-unreadable"},
		{"two points", "1.2.3", "length-unreadable"},
		{"point at the end", "34.", "length-unreadable"},
		{"only a point", ".", "length-unreadable"},
		{"groups of the wrong size", "12,34.5", "length-unreadable"},
		{"raised digit", "5²", "length-unreadable"},
		{"a date the spreadsheet made of 1/2", "01.02.2026", "length-unreadable"},
		{"formula", "=A1*2", "length-unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ParseLength(tt.text, Writing{Unit: Inches})
			p := AsProblem(err)
			require.NotNil(t, p)
			assert.Equal(t, tt.code, p.Code)
			assert.Equal(t, Invalid, p.Sort)
			assert.NotContains(t, p.Error(), "%!")
			assert.NotContains(t, p.Error(), "\x00")
		})
	}
}

// Sources: 1 in is 25.4 mm exactly by the international yard and pound
// agreement of 1959; the nearest 1/32 in is floor(32 x + 1/2), so an exact
// half goes up. 34 1/2 in is 876.3 mm by the same arithmetic.
func TestFormat(t *testing.T) {
	inch32, inch16 := Style{Unit: Inches, Denominator: 32}, Style{Unit: Inches, Denominator: 16}
	tests := []struct {
		name string
		l    Length
		st   Style
		want string
	}{
		{"450 mm", 450 * Millimetre, inch32, `≈ 17 23/32"`},
		{"600 mm", 600 * Millimetre, inch32, `≈ 23 5/8"`},
		{"18.3 mm", 183 * Millimetre / 10, inch32, `≈ 23/32"`},
		{"19.05 mm is exact", 1905 * Millimetre / 100, inch32, `3/4"`},
		{"457.2 mm is exact", 4572 * Millimetre / 10, inch32, `18"`},
		{"a tie goes up", Inch / 64, inch32, `≈ 1/32"`},
		{"just under a tie", Inch/64 - 1, inch32, `≈ 0"`},
		{"whole and fraction", 34*Inch + Inch/2, inch16, `34 1/2"`},
		{"quarter", 2*Inch + Inch/4, inch16, `2 1/4"`},
		{"coarse shop", 2*Inch + Inch/4, Style{Unit: Inches, Denominator: 2}, `≈ 2 1/2"`},
		{"whole inches only", 2*Inch + Inch/4, Style{Unit: Inches, Denominator: 1}, `≈ 2"`},
		{"no denominator means 32", Inch / 32, Style{Unit: Inches}, `1/32"`},
		{"a denominator that is no power of two means 32", Inch / 32, Style{Unit: Inches, Denominator: 10}, `1/32"`},
		{"fine shop", Inch / 128, Style{Unit: Inches, Denominator: 128}, `1/128"`},
		{"whole millimetres", 914 * Millimetre, Style{Unit: Millimetres}, `914 mm`},
		{"tenths", 34*Inch + Inch/2, Style{Unit: Millimetres}, `876.3 mm`},
		{"tenths with a comma", 34*Inch + Inch/2, Style{Unit: Millimetres, Comma: true}, `876,3 mm`},
		{"3/4 in in millimetres, a tie, goes up", 3 * Inch / 4, Style{Unit: Millimetres}, `≈ 19.1 mm`},
		{"less than nothing, for differences", -Inch - Inch/2, inch16, `-1 1/2"`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, tt.l.Format(tt.st))
		})
	}
}

func TestLengthString(t *testing.T) {
	assert.Equal(t, `34 1/2"`, (34*Inch + Inch/2).String())
	assert.Equal(t, "914 mm", (914 * Millimetre).String())
	assert.Equal(t, "0.0000125 mm", Length(1).String())
	assert.Equal(t, "1.2190 mm", (1219 * Micrometre).String(), "three decimals could be thousands")
}

func TestLengthReadsBackFromString(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(1, int64(LongestLength)).Draw(t, "length"))
		w := Writing{
			Unit:         rapid.SampledFrom([]Unit{Inches, Feet, Millimetres, Centimetres, Metres}).Draw(t, "unit"),
			DecimalComma: rapid.Bool().Draw(t, "comma"),
		}
		got, err := ParseLength(l.String(), w)
		if err != nil || got != l {
			t.Fatalf("%d prints %q and reads %d, %v", l, l.String(), got, err)
		}
	})
}

// A fraction of an inch printed in the shop's denominator is at most half a
// step away, compared in floating point.
func TestFormatIsNearest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Int64Range(int64(Inch), int64(10*Metre)).Draw(t, "length"))
		den := 1 << rapid.IntRange(0, 7).Draw(t, "power")
		text, isRounded := strings.CutPrefix(l.Format(Style{Unit: Inches, Denominator: den}), "≈ ")
		back, err := ParseLength(text, Writing{})
		if err != nil || math.Abs(float64(back-l)) > float64(Inch)/float64(den)/2 || isRounded != (back != l) {
			t.Fatalf("%s is %s in %dths: %v", l, text, den, err)
		}
	})
}

func TestParseSize(t *testing.T) {
	tests := []struct {
		name string
		text string
		want Size
	}{
		{"not given", "", Size{}},
		{"a dash", " – ", Size{}},
		{"a length", "34 1/2", Size{Length: 34*Inch + Inch/2}},
		{"to suit", "to suit", Size{ToSuit: true}},
		{"in capitals", " To Suit ", Size{ToSuit: true}},
		{"with the blank", `to suit 36"`, Size{Length: 36 * Inch, ToSuit: true}},
		{"with the blank in brackets", `to suit (36 1/2)`, Size{Length: 36*Inch + Inch/2, ToSuit: true}},
		{"in German", `passend, 900 mm`, Size{Length: 900 * Millimetre, ToSuit: true}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, err := ParseSize(tt.text, Writing{Unit: Inches})
			require.NoError(t, err)
			assert.Equal(t, tt.want, got)
			again, err := ParseSize(got.String(), Writing{Unit: Millimetres})
			require.NoError(t, err)
			assert.Equal(t, got, again)
		})
	}
	_, err := ParseSize("to suit something", Writing{})
	assert.Equal(t, "length-unreadable", CodeOf(err))
}

func TestSizePrints(t *testing.T) {
	st := Style{Unit: Inches, Denominator: 16}
	assert.Empty(t, Size{}.Format(st))
	assert.Equal(t, "to suit", Size{ToSuit: true}.Format(st))
	assert.Equal(t, `to suit 36"`, Size{Length: 36 * Inch, ToSuit: true}.Format(st))
	data, err := json.Marshal(Size{Length: 36 * Inch, ToSuit: true})
	require.NoError(t, err)
	assert.JSONEq(t, `{"length":73152000,"to_suit":true}`, string(data))
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{`34 1/2`, `4'3-1/2"`, `2¼`, `1 3⁄8`, `1.219,5`, `.75`, `to suit 36"`, "1e9", "\x00", "٣"} {
		f.Add(s, false, 0)
	}
	units := []Unit{Inches, Feet, Millimetres, Centimetres, Metres, "", "ell"}
	f.Fuzz(func(t *testing.T, s string, comma bool, unit int) {
		w := Writing{Unit: units[uint(unit)%uint(len(units))], DecimalComma: comma}
		l, err := ParseLength(s, w)
		if err != nil {
			require.NotNil(t, AsProblem(err))
			require.Zero(t, l)
		} else {
			again, err := ParseLength(l.String(), w)
			require.NoError(t, err)
			require.Equal(t, l, again)
			require.LessOrEqual(t, l, LongestLength)
		}
		size, err := ParseSize(s, w)
		if err == nil {
			again, err := ParseSize(size.String(), w)
			require.NoError(t, err)
			require.Equal(t, size, again)
		}
	})
}
