package bench

import (
	"cmp"
	"strconv"
	"strings"

	"benchtally/labels"
	"benchtally/parts"
)

// TypedFormat is a format as a person types it from the packet. What is left
// empty is what it mostly is: the shop's paper, labels that touch, in the
// middle of the page, and the usual printer.
type TypedFormat struct {
	Key, Name, Kind      string
	Paper                string // "letter", "a4" or OtherPaper; "" for the shop's
	Unit                 string // of a bare number, "in" or "mm"; "" for the shop's
	Columns, Rows, DPI   string
	PageWide, PageHigh   string
	LabelWide, LabelHigh string
	Left, Top            string
	PitchX, PitchY       string
	Corner               string
	HoleWide, HoleDown   string
}

// OtherPaper is a page that has no name: its sides are typed.
const OtherPaper = "other"

// Read makes a format of what was typed.
func (t TypedFormat) Read(set parts.Settings) (labels.Format, error) {
	f := labels.Format{Key: t.Key, Name: t.Name, Kind: labels.FormatKind(t.Kind)}
	unit := set.Unit
	if u := parts.Unit(t.Unit); u == parts.Inches || u == parts.Millimetres {
		unit = u
	}
	if err := t.lengths(&f, parts.Writing{Unit: unit}); err != nil {
		return f, err
	}
	if err := t.page(&f, set.Paper); err != nil {
		return f, err
	}
	var err error
	usual := 300
	if f.Kind == labels.OnRoll {
		usual = 203
	}
	if f.DPI, err = wholeOr(t.DPI, usual); err != nil {
		return f, err
	}
	if f.Columns, err = wholeOr(t.Columns, 1); err != nil {
		return f, err
	}
	if f.Rows, err = wholeOr(t.Rows, 1); err != nil {
		return f, err
	}
	t.fill(&f)
	return f, nil
}

// page gives the format the sides of its paper. Those that were typed count
// only where no paper with a name was chosen.
func (t TypedFormat) page(f *labels.Format, usual string) error {
	paper := cmp.Or(t.Paper, usual)
	switch {
	case f.Kind == labels.OnRoll:
		f.PageW, f.PageH = f.LabelW, f.LabelH
		return nil
	case t.Paper == "" && f.PageW != 0 && f.PageH != 0:
		return nil
	case t.Paper == OtherPaper && (f.PageW == 0 || f.PageH == 0):
		return parts.Problemf(parts.Invalid, "format-page", "The page has no width or no height.").
			Next("Measure the page and give both, or choose the paper by its name.")
	case t.Paper == OtherPaper:
		return nil
	}
	w, h := 17*parts.Inch/2, 11*parts.Inch
	if paper == "a4" {
		w, h = 210*parts.Millimetre, 297*parts.Millimetre
	}
	if t.Paper != "" || f.PageW == 0 {
		f.PageW = w
	}
	if t.Paper != "" || f.PageH == 0 {
		f.PageH = h
	}
	return nil
}

// lengths reads the lengths that were typed.
func (t TypedFormat) lengths(f *labels.Format, w parts.Writing) error {
	for _, field := range []struct {
		name, text string
		length     *parts.Length
	}{
		{"width of the page", t.PageWide, &f.PageW}, {"height of the page", t.PageHigh, &f.PageH},
		{"width of a label", t.LabelWide, &f.LabelW}, {"height of a label", t.LabelHigh, &f.LabelH},
		{"left margin", t.Left, &f.Left}, {"top margin", t.Top, &f.Top},
		{"step across", t.PitchX, &f.PitchX}, {"step down", t.PitchY, &f.PitchY},
		{"corner", t.Corner, &f.Corner}, {"hole", t.HoleWide, &f.Hole.Diameter}, {"place of the hole", t.HoleDown, &f.Hole.Down},
	} {
		if text := strings.TrimSpace(field.text); text == "" || text == "0" {
			continue
		}
		var err error
		if *field.length, err = parts.ParseLength(field.text, w); err != nil {
			if p := parts.AsProblem(err); p != nil {
				return p.Fact("field", field.name)
			}
			return err
		}
	}
	return nil
}

// fill gives what was left empty the value that it mostly has. A margin that
// was typed as 0 is none.
func (t TypedFormat) fill(f *labels.Format) {
	if f.Kind == labels.OnRoll {
		f.Columns, f.Rows, f.Left, f.Top = 1, 1, 0, 0
	}
	or := func(l *parts.Length, usual parts.Length) {
		if *l == 0 {
			*l = usual
		}
	}
	or(&f.PitchX, f.LabelW)
	or(&f.PitchY, f.LabelH)
	if f.Kind == labels.OnRoll {
		return
	}
	if strings.TrimSpace(t.Left) == "" {
		f.Left = max(0, (f.PageW-parts.Length(f.Columns-1)*f.PitchX-f.LabelW)/2)
	}
	if strings.TrimSpace(t.Top) == "" {
		f.Top = max(0, (f.PageH-parts.Length(f.Rows-1)*f.PitchY-f.LabelH)/2)
	}
}

// wholeOr reads a whole number, or gives the usual one for nothing.
func wholeOr(text string, usual int) (int, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return usual, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > 10_000 {
		return 0, parts.Problemf(parts.Invalid, "format-number", "%q is not a whole number from 1 up.", text).
			Next("Count the labels across and down, and look up the printer's dots to the inch.")
	}
	return n, nil
}

// TypedOf is a format as it is typed again, exactly.
func TypedOf(f labels.Format) TypedFormat {
	text := func(l parts.Length) string {
		if l == 0 {
			return "0"
		}
		return l.String()
	}
	paper := ""
	if f.Kind != labels.OnRoll {
		paper = cmp.Or(labels.PaperOf(f.PageW, f.PageH), OtherPaper)
	}
	return TypedFormat{
		Key: f.Key, Name: f.Name, Kind: string(f.Kind), Paper: paper,
		Columns: strconv.Itoa(f.Columns), Rows: strconv.Itoa(f.Rows), DPI: strconv.Itoa(f.DPI),
		PageWide: text(f.PageW), PageHigh: text(f.PageH), LabelWide: text(f.LabelW), LabelHigh: text(f.LabelH),
		Left: text(f.Left), Top: text(f.Top), PitchX: text(f.PitchX), PitchY: text(f.PitchY),
		Corner: text(f.Corner), HoleWide: text(f.Hole.Diameter), HoleDown: text(f.Hole.Down),
	}
}
