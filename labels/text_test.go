package labels

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/jung-kurt/gofpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWidths checks the widths read from the font files against the PDF
// library's own reading of them.
func TestWidths(t *testing.T) {
	pdf := gofpdf.New("P", "mm", "A4", "")
	for _, f := range []*face{regular, bold} {
		pdf.AddUTF8FontFromBytes("shop", f.style, f.bytes())
		pdf.SetFont("shop", f.style, 10)
		shapes := 0
		for r := rune(' '); r < 0xFFFF; r++ {
			if w := f.advance(r); w > 0 && utf8.ValidRune(r) {
				shapes++
				require.InDelta(t, pdf.GetStringSymbolWidth(string(r)), w, 1, "%U", r)
			}
		}
		assert.Greater(t, shapes, 5000, "the face knows many alphabets")
		for _, r := range `0123456789/"×·…–ÄÖÜäöüßéñøłЖΩ½′″` + string(missing) {
			assert.Positive(t, f.advance(r), "%q", r)
		}
	}
}

func TestClean(t *testing.T) {
	for in, want := range map[string]string{
		"Stile":                 "Stile",
		"  two\n\tlines ":       "two lines",
		"😀":                     "\uFFFD",
		"Rail \U0001F6A3\u6f22": "Rail \uFFFD\uFFFD",
		"bad\xff\xfebytes":      "bad\uFFFD\uFFFDbytes",
		"\x00\x1b[2J":           "[2J",
		"":                      "",
	} {
		assert.Equal(t, want, clean(in), "%q", in)
	}
}

func TestAtoms(t *testing.T) {
	for in, want := range map[string][]string{
		`34 1/2" × 2 1/4" × 3/4"`: {`34 1/2"`, `× 2 1/4"`, `× 3/4"`},
		"877 mm × 57 mm":          {"877 mm", "× 57 mm"},
		"rail of 12 pcs, 3 left":  {"rail", "of", "12 pcs,", "3", "left"},
		"Locker front 7":          {"Locker", "front", "7"},
	} {
		assert.Equal(t, want, atoms(in), in)
	}
}

func TestSpans(t *testing.T) {
	tests := []struct {
		name, text string
		want       []string // numerator and denominator, "+" before a piece that is joined to a whole number
	}{
		{"mixed number", `34 1/2"`, []string{"34", "+1", "/", "2", `"`}},
		{"alone", `3/4"`, []string{"3", "/", "4", `"`}},
		{"sixty-fourths", "1 63/64", []string{"1", "+63", "/", "64", ""}},
		{"three in a row", `34 1/2" × 2 1/4" × 3/4"`, []string{"34", "+1", "/", "2", `" × 2`, "+1", "/", "4", `" × `, "3", "/", "4", `"`}},
		{"a date is not a fraction", "1/2/2026", []string{"1/2/2026"}},
		{"nor is a code", "A1/2", []string{"A1/2"}},
		{"decimals", "2.25 in", []string{"2.25 in"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, s := range (style{face: bold, pt: 9, fractions: true}).spans(tt.text) {
				if s.gap > 0 {
					s.text = "+" + s.text
				}
				got = append(got, s.text)
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestSet(t *testing.T) {
	s := style{face: regular, pt: 9, fall: 6}
	long := "Upper drawer front rail with a very long descriptive name running on to 80 chars"

	assert.Nil(t, s.set(" ", 40, 1))
	one := s.set("Stile", 40, 1)
	require.Len(t, one, 1)
	assert.Equal(t, 9.0, one[0].pt, "as large as it may be")

	smaller := s.set("Upper drawer front rail, curved", 40, 1)
	assert.Less(t, smaller[0].pt, 9.0)
	assert.Equal(t, "Upper drawer front rail, curved", smaller[0].text)

	cut := s.set(long, 40, 1)
	assert.Equal(t, 6.0, cut[0].pt)
	assert.True(t, strings.HasSuffix(cut[0].text, " …"))
	assert.True(t, strings.HasPrefix(long, strings.TrimSuffix(cut[0].text, " …")+" "), "cut at a word: %q", cut[0].text)

	two := s.set(long, 50, 2)
	require.Len(t, two, 2)
	assert.Equal(t, long, two[0].text+" "+two[1].text)
}

// TestCutKeepsNumbersWhole narrows a column step by step: what is left of a
// text must never end in a piece of a number, which would be a wrong length.
func TestCutKeepsNumbersWhole(t *testing.T) {
	numbers := map[string]bool{"34": true, `34 1/2"`: true, `2 1/4"`: true, `3/4"`: true, "877": true, "12.5": true, "mm": true, "12.5 mm": true}
	for _, text := range []string{`34 1/2" × 2 1/4" × 3/4"`, "877 × 12.5 mm"} {
		s := style{face: bold, pt: 9, fall: 6, fractions: true}
		for width := 1.0; width < 60; width += 0.25 {
			for _, r := range s.set(text, width, 1) {
				got := strings.TrimSuffix(strings.TrimSuffix(r.text, ellipsis), " ")
				if got == "" || got == text {
					continue
				}
				for _, n := range strings.Split(got, " × ") {
					assert.True(t, numbers[n] && n != "34", "%q at %.2f mm", r.text, width)
				}
			}
		}
	}
}

// FuzzSet: whatever the text and the column, nothing panics, nothing is wider
// than the column but a lone ellipsis, and there are no more lines than asked.
func FuzzSet(f *testing.F) {
	f.Add(`34 1/2" × 2 1/4" × 3/4"`, 40.0, 2)
	f.Add("Stile", 3.0, 1)
	f.Add("%00 0 !0/0", 12.0, 1)
	f.Add("0", -30.0, 2)
	f.Add(strings.Repeat("\xff", 5000), 18.0, 2)
	f.Add("😀 1/2 \xff 99999999999999999999/1", 12.0, 3)
	f.Fuzz(func(t *testing.T, text string, width float64, lines int) {
		if !(width < 1000) {
			t.Skip()
		}
		for _, s := range []style{{face: regular, pt: 9, fall: 6}, {face: bold, pt: 12, fall: 6, fractions: true}} {
			rows := s.set(text, width, lines%5)
			require.LessOrEqual(t, len(rows), max(0, lines%5))
			for _, r := range rows {
				require.True(t, r.width() <= width || r.text == ellipsis, "%q is %g wide in %g", r.text, r.width(), width)
				require.GreaterOrEqual(t, r.pt, s.fall)
				require.LessOrEqual(t, r.pt, s.pt)
			}
			for _, r := range s.pair(text, text, width, 1+len(rows)%2) {
				require.GreaterOrEqual(t, r.pt, s.fall)
			}
		}
	})
}
