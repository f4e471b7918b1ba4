package labels

import (
	"fmt"

	"benchtally/parts"
)

// Formats lists the ready-made formats, the default first. Their dimensions
// are the usual generic ones (common practice, no source); each sheet closes
// to its page.
func Formats() []Format {
	out := []Format{
		onPage("letter-3x10", "Letter, 3 x 10 labels of 2-5/8 x 1 in", letter, grid{3, 10, 2.625 * inch, 1 * inch, 2.75 * inch, 1 * inch}),
		onPage("a4-3x8", "A4, 3 x 8 labels of 70 x 37 mm", a4, grid{3, 8, 70, 37, 70, 37}),
		onPage("letter-2x5", "Letter, 2 x 5 labels of 4 x 2 in", letter, grid{2, 5, 4 * inch, 2 * inch, 4.1875 * inch, 2 * inch}),
		onPage("letter-3x8", "Letter, 3 x 8 labels of 2-5/8 x 1-1/4 in", letter, grid{3, 8, 2.625 * inch, 1.25 * inch, 2.75 * inch, 1.25 * inch}),
		onPage("letter-2x7", "Letter, 2 x 7 labels of 4 x 1-1/3 in", letter, grid{2, 7, 4 * inch, 4 * inch / 3, 4.1875 * inch, 4 * inch / 3}),
		onPage("a4-3x10", "A4, 3 x 10 labels of 70 x 29.7 mm", a4, grid{3, 10, 70, 29.7, 70, 29.7}),
		onPage("a4-2x5", "A4, 2 x 5 labels of 99.1 x 57 mm", a4, grid{2, 5, 99.1, 57, 101.6, 57}),
		onPage("a4-2x7", "A4, 2 x 7 labels of 99.1 x 38.1 mm", a4, grid{2, 7, 99.1, 38.1, 101.6, 38.1}),
	}
	for _, r := range [][2]float64{{38, 18}, {51, 25}, {57, 32}, {62, 29}, {100, 50}, {102, 152}} {
		out = append(out, onRoll(r[0], r[1]))
	}
	return append(out, hanging("letter-tag-3x2", "Letter, 3 x 2 tags of 60 x 100 mm to cut out", letter),
		hanging("a4-tag-3x2", "A4, 3 x 2 tags of 60 x 100 mm to cut out", a4))
}

// Letter is 8-1/2 x 11 in (common practice), A4 is that of ISO 216.
var (
	letter = [2]float64{8.5 * inch, 11 * inch}
	a4     = [2]float64{210, 297}
)

// grid is how labels lie on a page: their number across and down, their size
// and their pitch in millimetres.
type grid struct {
	columns, rows  int
	w, h           float64
	pitchX, pitchY float64
}

// pageDPI is that of page printers. They have 300, 600 or 1200 dots to the
// inch: what is whole in the coarsest is whole in all of them.
const pageDPI = 300

// onPage is a sheet whose labels lie in the middle of the page.
func onPage(key, name string, page [2]float64, g grid) Format {
	across := float64(g.columns-1)*g.pitchX + g.w
	down := float64(g.rows-1)*g.pitchY + g.h
	f := Format{
		Key: key, Name: name, Kind: OnSheet, PageW: mmLength(page[0]), PageH: mmLength(page[1]),
		LabelW: mmLength(g.w), LabelH: mmLength(g.h), PitchX: mmLength(g.pitchX), PitchY: mmLength(g.pitchY),
		Left: mmLength((page[0] - across) / 2), Top: mmLength((page[1] - down) / 2),
		Columns: g.columns, Rows: g.rows, DPI: pageDPI,
	}
	if g.pitchX > g.w { // labels that touch have square corners
		f.Corner = 3 * parts.Millimetre / 2
	}
	return f
}

// onRoll is a roll for a label printer of the commonest kind.
func onRoll(w, h float64) Format {
	return Format{
		Key: fmt.Sprintf("roll-%gx%g", w, h), Name: fmt.Sprintf("Roll, labels of %g x %g mm", w, h), Kind: OnRoll,
		PageW: mmLength(w), PageH: mmLength(h), LabelW: mmLength(w), LabelH: mmLength(h), PitchX: mmLength(w), PitchY: mmLength(h),
		Columns: 1, Rows: 1, Corner: 3 * parts.Millimetre / 2, DPI: 203,
	}
}

// hanging is a page of card with tags to cut out. A hole of 6 mm is what an
// office punch makes.
func hanging(key, name string, page [2]float64) Format {
	f := onPage(key, name, page, grid{3, 2, 60, 100, 60, 100})
	f.Kind, f.Hole = OnTag, TagHole{Diameter: 6 * parts.Millimetre, Down: 8 * parts.Millimetre}
	return f
}
