package labels

import (
	"strings"

	"benchtally/parts"
)

// inch is one inch in millimetres, exactly.
const inch = 25.4

// labelMargin is kept free inside the edge of a label, in millimetres: sheets
// feed and stickers are cut that much off.
const labelMargin = 2

// Sheet is a sheet of labels by its dimensions, all in millimetres: the page,
// one label, the upper left corner of the first label, and the distances from
// one label to the next.
type Sheet struct {
	Key, Name      string
	PageW, PageH   float64
	LabelW, LabelH float64
	Left, Top      float64
	PitchX, PitchY float64
	Columns, Rows  int
}

// Sheets lists the sheets the shop can buy anywhere, the default first. The
// dimensions are the usual generic ones; each closes to its page.
func Sheets() []Sheet {
	return []Sheet{
		{
			Key: "letter-3x10", Name: "Letter, 3 x 10 labels of 2-5/8 x 1 in",
			PageW: 8.5 * inch, PageH: 11 * inch, LabelW: 2.625 * inch, LabelH: 1 * inch,
			Left: 0.1875 * inch, Top: 0.5 * inch, PitchX: 2.75 * inch, PitchY: 1 * inch,
			Columns: 3, Rows: 10,
		},
		{
			Key: "a4-3x8", Name: "A4, 3 x 8 labels of 70 x 37 mm",
			PageW: 210, PageH: 297, LabelW: 70, LabelH: 37,
			Left: 0, Top: 0.5, PitchX: 70, PitchY: 37,
			Columns: 3, Rows: 8,
		},
	}
}

// SheetByKey finds a sheet by its key, "letter-3x10".
func SheetByKey(key string) (Sheet, error) {
	var keys []string
	for _, s := range Sheets() {
		if s.Key == key {
			return s, nil
		}
		keys = append(keys, s.Key)
	}
	return Sheet{}, parts.Problemf(parts.Invalid, "sheet-unknown", "There is no label sheet %q.", key).
		Next("Use one of: %s.", strings.Join(keys, ", "))
}

// Paper is the size of the sheet by name, "letter" or "a4".
func (s Sheet) Paper() string {
	if s.PageW < 8.4*inch {
		return "a4"
	}
	return "letter"
}

// PerPage is the number of labels on one sheet.
func (s Sheet) PerPage() int { return s.Columns * s.Rows }

// Spot gives the upper left corner, in millimetres from that of the page, of
// the label at a 0-based position: along the rows, then down.
func (s Sheet) Spot(position int) (x, y float64) {
	return s.Left + float64(position%s.Columns)*s.PitchX, s.Top + float64(position/s.Columns)*s.PitchY
}

// area is a rectangle in millimetres from the upper left corner of the page.
type area struct{ x0, y0, x1, y1 float64 }

func (a area) width() float64  { return a.x1 - a.x0 }
func (a area) height() float64 { return a.y1 - a.y0 }

// check finds the sheets that cannot be drawn on.
func (s Sheet) check() error {
	const most = 2000 // millimetres of a side, and more labels than any sheet has
	inside := s.Columns >= 1 && s.Columns <= most && s.Rows >= 1 && s.Rows <= most &&
		s.LabelW > 0 && s.LabelH > 0 && s.PageW > 0 && s.PageW <= most && s.PageH > 0 && s.PageH <= most
	if inside {
		x, y := s.Spot(s.PerPage() - 1)
		inside = s.Left >= 0 && s.Top >= 0 && x+s.LabelW <= s.PageW+0.01 && y+s.LabelH <= s.PageH+0.01
	}
	if !inside || s.PerPage() > most || s.smallest().height() < 15 || s.smallest().width() < 30 {
		return parts.Problemf(parts.Invalid, "sheet-broken", "Labels cannot be laid out on the sheet %q.", s.Key).
			Next("Its labels must lie on the page and leave 30 x 15 mm to print on.")
	}
	return nil
}

// content is the part of the label at a position that may be printed on.
func (s Sheet) content(position int) area {
	x, y := s.Spot(position)
	return area{
		x0: max(x+labelMargin, unprintable), y0: max(y+labelMargin, unprintable),
		x1: min(x+s.LabelW-labelMargin, s.PageW-unprintable), y1: min(y+s.LabelH-labelMargin, s.PageH-unprintable),
	}
}

// smallest is the narrowest width and lowest height that a label of the sheet
// has to print on, from the origin. All labels of a sheet are laid out for it
// and look the same.
func (s Sheet) smallest() area {
	least := area{x1: s.LabelW, y1: s.LabelH}
	for position := range s.PerPage() {
		c := s.content(position)
		least.x1, least.y1 = min(least.x1, c.width()), min(least.y1, c.height())
	}
	return least
}

// codeBox is the side of the square a label has for its code. The quiet zone
// may lie in the margin, as nothing is printed there; more than 42 % of the
// width would leave no room for words.
func (s Sheet) codeBox() float64 {
	return min(s.smallest().height()+2*labelMargin, 0.42*s.LabelW)
}

// place is the upper left corner of a code's dark part on the label at a
// position: level with the middle, its quiet zone in the margin as far as the
// label goes, and on the printer's dots.
func (s Sheet) place(c code, position int) (x, y float64) {
	in := s.content(position)
	left, _ := s.Spot(position)
	return snap(max(in.x0, left+c.margin())), snap((in.y0 + in.y1 - c.dark()) / 2)
}
