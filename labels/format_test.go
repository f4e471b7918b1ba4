package labels

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// The dimensions of the labels are common practice, no source; that they close
// to the page is arithmetic, and the pages are those of ISO 216 (A4) and of
// common practice (letter, 8-1/2 x 11 in).
func TestSheetsCloseToThePage(t *testing.T) {
	for _, f := range Formats() {
		t.Run(f.Key, func(t *testing.T) {
			require.NoError(t, CheckFormat(f))
			g := f.lay(Adjust{})
			switch {
			case strings.HasPrefix(f.Key, "letter"):
				assert.Equal(t, [2]float64{215.9, 279.4}, [2]float64{g.pageW, g.pageH})
			case strings.HasPrefix(f.Key, "a4"):
				assert.Equal(t, [2]float64{210, 297}, [2]float64{g.pageW, g.pageH})
			}
			across := 2*f.Left + parts.Length(f.Columns-1)*f.PitchX + f.LabelW
			down := 2*f.Top + parts.Length(f.Rows-1)*f.PitchY + f.LabelH
			// Thirds of an inch are no whole number of micrometres.
			assert.InDelta(t, float64(f.PageW), float64(across), float64(parts.Micrometre))
			assert.InDelta(t, float64(f.PageH), float64(down), float64(parts.Micrometre))
			assert.GreaterOrEqual(t, f.PitchX, f.LabelW, "labels overlap")
			assert.GreaterOrEqual(t, f.PitchY, f.LabelH, "labels overlap")
			for i := range f.PerPage() {
				in, l := g.content(i), g.label(i)
				assert.GreaterOrEqual(t, in.x0, max(l.x0+g.margin, g.edge)-1e-9)
				assert.LessOrEqual(t, in.x1, min(l.x1-g.margin, g.pageW-g.edge)+1e-9)
				assert.GreaterOrEqual(t, in.y0, max(l.y0+g.margin, g.edge)-1e-9)
				assert.LessOrEqual(t, in.y1, min(l.y1-g.margin, g.pageH-g.edge)+1e-9)
			}
		})
	}
}

// The published closures: letter 3 x 10 has sides of 3/16 in and a gutter of
// 1/8 in, 2 x 5 sides of 5/32 and a gutter of 3/16, 2 x 7 a top of 5/6 in; A4
// 2 x 7 of 99.1 x 38.1 mm a side of 4.65, a gutter of 2.5 and a top of 15.15 mm
// (usual generic sheets, common practice, no source).
func TestUsualMargins(t *testing.T) {
	in := func(v float64) float64 { return v * 25.4 }
	for key, want := range map[string][4]float64{ // left, top, pitch across, pitch down
		"letter-3x10": {in(0.1875), in(0.5), in(2.75), in(1)},
		"letter-2x5":  {in(0.15625), in(0.5), in(4.1875), in(2)},
		"letter-2x7":  {in(0.15625), in(5.0 / 6), in(4.1875), in(4.0 / 3)},
		"a4-3x8":      {0, 0.5, 70, 37},
		"a4-2x7":      {4.65, 15.15, 101.6, 38.1},
	} {
		f, err := FormatByKey(key)
		require.NoError(t, err)
		got := [4]float64{inMM(f.Left), inMM(f.Top), inMM(f.PitchX), inMM(f.PitchY)}
		for i := range want {
			assert.InDelta(t, want[i], got[i], 0.001, "%s %d", key, i)
		}
	}
}

func TestSheetByKey(t *testing.T) {
	s, err := SheetByKey("letter-3x10")
	require.NoError(t, err)
	assert.Equal(t, "letter", s.Paper())
	assert.Equal(t, 30, s.PerPage())
	assert.Equal(t, []string{"letter-3x10", "a4-3x8"}, []string{Sheets()[0].Key, Sheets()[1].Key}, "the usual ones first")
	roll, err := SheetByKey("roll-57x32")
	require.NoError(t, err)
	assert.Empty(t, roll.Paper())

	_, err = SheetByKey("letter-9x9")
	require.Equal(t, "sheet-unknown", parts.CodeOf(err))
	assert.Equal(t, parts.Invalid, parts.AsProblem(err).Sort)
	keys := map[string]bool{}
	for _, f := range Formats() {
		assert.Contains(t, err.Error(), f.Key)
		assert.False(t, keys[f.Key], "%s twice", f.Key)
		keys[f.Key] = true
	}
}

// A shop's own formats are kept as JSON.
func TestFormatSurvivesJSON(t *testing.T) {
	for _, f := range Formats() {
		text, err := json.Marshal(f)
		require.NoError(t, err)
		var back Format
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, f, back)
	}
}

func TestCheckFormat(t *testing.T) {
	sheet, roll, tag := Formats()[0], Formats()[8], Formats()[15]
	require.Equal(t, []FormatKind{OnSheet, OnRoll, OnTag}, []FormatKind{sheet.Kind, roll.Kind, tag.Kind})
	tests := []struct {
		name   string
		base   Format
		change func(*Format)
		code   string
	}{
		{"no key", sheet, func(f *Format) { f.Key = "" }, "format-key"},
		{"a key with a space", sheet, func(f *Format) { f.Key = "my labels" }, "format-key"},
		{"no kind", sheet, func(f *Format) { f.Kind = "" }, "format-kind"},
		{"no printer", sheet, func(f *Format) { f.DPI = 0 }, "format-dpi"},
		{"no columns", sheet, func(f *Format) { f.Columns = 0 }, "format-count"},
		{"a negative page", sheet, func(f *Format) { f.PageW = -f.PageW }, "format-size"},
		{"a page of a mile", sheet, func(f *Format) { f.PageH = 1600 * parts.Metre }, "format-size"},
		{"inches taken for millimetres", sheet, func(f *Format) { f.LabelH = parts.Millimetre }, "format-size"},
		{"two to a page of a roll", roll, func(f *Format) { f.Rows = 2 }, "format-roll"},
		{"a round label", sheet, func(f *Format) { f.Corner = f.LabelH }, "format-corner"},
		{"labels on each other", sheet, func(f *Format) { f.PitchY -= parts.Millimetre }, "format-overlap"},
		{"a row too many", sheet, func(f *Format) { f.Rows++ }, "format-outside"},
		{"begins off the page", sheet, func(f *Format) { f.Left = -parts.Millimetre }, "format-outside"},
		{"a hole at the edge", tag, func(f *Format) { f.Hole.Down = f.Hole.Diameter / 2 }, "format-hole"},
		{"a hole as wide as the tag", tag, func(f *Format) { f.Hole.Diameter = f.LabelW }, "format-hole"},
		{"too low for a code", roll, func(f *Format) { f.LabelH, f.PageH = 14*parts.Millimetre, 14*parts.Millimetre }, "format-small"},
		{"too narrow for words", roll, func(f *Format) { f.LabelW, f.PageW = 30*parts.Millimetre, 30*parts.Millimetre }, "format-small"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := tt.base
			tt.change(&f)
			err := CheckFormat(f)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.NotContains(t, err.Error(), "%!")
			assert.NotEmpty(t, parts.AsProblem(err).Do, "says what to do")
		})
	}
}

// TestAnyCheckedFormatPrints: a format that passes the check prints a usual
// label, whatever its sizes, and its labels lie on the page.
func TestAnyCheckedFormatPrints(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tenths := func(name string, least, most int) parts.Length {
			return parts.Length(rapid.IntRange(least, most).Draw(t, name)) * parts.Millimetre / 10
		}
		f := Format{Key: "own", Kind: rapid.SampledFrom([]FormatKind{OnSheet, OnTag}).Draw(t, "kind"),
			PageW: tenths("page w", 100, 4000), PageH: tenths("page h", 100, 4000),
			LabelW: tenths("label w", 100, 2000), LabelH: tenths("label h", 100, 2000),
			Left: tenths("left", 0, 300), Top: tenths("top", 0, 300),
			Columns: rapid.IntRange(1, 6).Draw(t, "columns"), Rows: rapid.IntRange(1, 12).Draw(t, "rows"),
			DPI: rapid.SampledFrom([]int{203, 300, 600}).Draw(t, "dpi")}
		f.PitchX, f.PitchY = f.LabelW+tenths("gap x", 0, 50), f.LabelH+tenths("gap y", 0, 50)
		if err := CheckFormat(f); err != nil {
			require.NotNil(t, parts.AsProblem(err))
			return
		}
		var out bytes.Buffer
		require.NoError(t, WriteLabels(&out, f, 1, fullLabels()[:1]))
		last := f.lay(Adjust{}).label(f.PerPage() - 1)
		assert.LessOrEqual(t, last.x1, inMM(f.PageW)+0.11)
		assert.LessOrEqual(t, last.y1, inMM(f.PageH)+0.11)
	})
}

// A simulated printer puts p at s*p + o. Whatever it does, what AdjustFor makes
// of the lengths measured on its calibration page brings labels back to where
// the format says, to the rounding of the scale.
func TestAdjustPutsAPrinterRight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0.97, 1.03).Draw(t, "scale")
		// A length of less than nothing cannot be measured: a cross of a roll is 4 mm from its edge.
		ox, oy := rapid.Float64Range(-3, 5).Draw(t, "right"), rapid.Float64Range(-3, 5).Draw(t, "down")
		to := func(l parts.Length, o float64) parts.Length { return mmLength(inMM(l)*s + o) }
		for _, f := range Formats() {
			right := f.Right()
			a, err := AdjustFor(f, Measured{Left: to(right.Left, ox), Top: to(right.Top, oy), Across: to(right.Across, 0), Down: to(right.Down, 0)})
			require.NoError(t, err)
			true0, drawn := f.lay(Adjust{}), f.lay(a)
			for _, position := range []int{0, f.PerPage() - 1} {
				want, got := true0.label(position), drawn.label(position)
				// The middle of the label is what lands in the right place.
				x := (got.x0+got.x1)/2*s + ox
				y := (got.y0+got.y1)/2*s + oy
				assert.InDelta(t, (want.x0+want.x1)/2, x, 0.01, f.Key)
				assert.InDelta(t, (want.y0+want.y1)/2, y, 0.01, f.Key)
			}
		}
	})
}

func TestAdjustRefuses(t *testing.T) {
	right := Measured{20 * parts.Millimetre, 20 * parts.Millimetre, 160 * parts.Millimetre, 220 * parts.Millimetre}
	f := Formats()[0]
	a, err := AdjustFor(f, right)
	require.NoError(t, err)
	assert.Equal(t, Adjust{}, a)
	for code, change := range map[string]func(*Measured){
		"measure-missing": func(m *Measured) { m.Down = 0 },
		"adjust-far":      func(m *Measured) { m.Left += 11 * parts.Millimetre },
		"adjust-scale":    func(m *Measured) { m.Across, m.Down = m.Across*9/10, m.Down*9/10 }, // “fit to page”
	} {
		m := right
		change(&m)
		_, err := AdjustFor(f, m)
		require.Equal(t, code, parts.CodeOf(err))
		assert.NotContains(t, err.Error(), "%!")
	}
}

// TestAdjustMovesWhatIsPrinted reads back where the words of an adjusted page
// are: a wider printing, moved, and codes of the same size.
func TestAdjustMovesWhatIsPrinted(t *testing.T) {
	f := Formats()[0]
	f.Left += 5 * parts.Millimetre // clear of the edge that printers leave white
	f.PageW += 10 * parts.Millimetre
	var straight, moved bytes.Buffer
	require.NoError(t, WriteLabels(&straight, f, 1, stiles(30)))
	a := Adjust{DX: 2 * parts.Millimetre, DY: -parts.Millimetre, Scale: 100_500}
	require.NoError(t, WriteLabelsFor(&moved, f, a, 1, stiles(30)))
	before, after := words(t, straight.Bytes())[0], words(t, moved.Bytes())[0]
	require.Len(t, after, len(before))
	for i := range before {
		require.Equal(t, before[i].Text, after[i].Text)
		g := f.lay(Adjust{})
		column := int(before[i].XMin / (g.pageW / 3))
		l := g.label(column)
		middle := (l.x0 + l.x1) / 2
		// Codes keep to the printer's dots, so words beside them may move by half a dot.
		assert.InDelta(t, before[i].XMin+middle*0.005+2, after[i].XMin, 0.1, before[i].Text)
	}
}

// The pages in points are those of the PDF standard's usual media boxes:
// letter 612 x 792, A4 595.276 x 841.890; a roll's page is its label.
func TestMediaBox(t *testing.T) {
	boxes := map[string]string{"letter": "0 0 612.00 792.00", "a4": "0 0 595.28 841.89"}
	box := regexp.MustCompile(`/MediaBox \[([^\]]*)\]`)
	for paper, want := range boxes {
		var out bytes.Buffer
		require.NoError(t, WritePlacards(&out, paper, []Placard{{Address: "http://192.168.1.20:8080/S/7K", Title: "At the saw"}}))
		found := box.FindSubmatch(out.Bytes())
		require.NotNil(t, found, paper)
		assert.Equal(t, want, string(found[1]), paper)
	}
	for _, f := range Formats() {
		var out bytes.Buffer
		require.NoError(t, WriteLabels(&out, f, 1, stiles(1)))
		pages := pageBoxes(t, out.Bytes())
		require.Len(t, pages, 1)
		// Read by poppler, in points of 1/72 in, written to two decimals.
		assert.InDelta(t, inMM(f.PageW)*72/25.4, pages[0][0], 0.011, f.Key)
		assert.InDelta(t, inMM(f.PageH)*72/25.4, pages[0][1], 0.011, f.Key)
	}
}
