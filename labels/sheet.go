package labels

import (
	"strings"

	"benchtally/parts"
)

// inch is one inch in millimetres, exactly.
const inch = 25.4

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

// PerPage is the number of labels on one sheet.
func (s Sheet) PerPage() int { return s.Columns * s.Rows }

// Spot gives the upper left corner, in millimetres from that of the page, of
// the label at a 0-based position: along the rows, then down.
func (s Sheet) Spot(position int) (x, y float64) {
	return s.Left + float64(position%s.Columns)*s.PitchX, s.Top + float64(position/s.Columns)*s.PitchY
}
