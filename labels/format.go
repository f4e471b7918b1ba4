package labels

import (
	"strings"

	"benchtally/parts"
)

// Format is paper with labels on it, by its dimensions: the page, one label,
// the upper left corner of the first label, and the distances from one label
// to the next. It is data: a shop may add its own, and CheckFormat says whether
// labels can be laid out on it.
type Format struct {
	Key     string       `json:"key"`  // never changes: "letter-3x10"
	Name    string       `json:"name"` // as people choose it
	Kind    FormatKind   `json:"kind"`
	PageW   parts.Length `json:"page_w"`
	PageH   parts.Length `json:"page_h"`
	LabelW  parts.Length `json:"label_w"`
	LabelH  parts.Length `json:"label_h"`
	Left    parts.Length `json:"left,omitempty"`
	Top     parts.Length `json:"top,omitempty"`
	PitchX  parts.Length `json:"pitch_x"`
	PitchY  parts.Length `json:"pitch_y"`
	Columns int          `json:"columns"`
	Rows    int          `json:"rows"`
	Corner  parts.Length `json:"corner,omitempty"` // radius of the label's corners
	DPI     int          `json:"dpi"`              // dots to the inch of the usual printer; codes are drawn in whole ones
	Hole    TagHole      `json:"hole,omitzero"`    // of a tag that hangs
}

// Sheet is a Format, by the word of who chooses stickers on a page.
type Sheet = Format

// TagHole is the hole a tag hangs by, in the middle across; no hole when its
// diameter is zero.
type TagHole struct {
	Diameter parts.Length `json:"diameter"`
	Down     parts.Length `json:"down"` // its middle below the tag's upper edge
}

// FormatKind says how labels come out of the printer.
type FormatKind string

// The kinds of format.
const (
	OnSheet FormatKind = "sheet" // stickers on a page
	OnRoll  FormatKind = "roll"  // one sticker is one page
	OnTag   FormatKind = "tag"   // printed on card and cut along lines, with a hole to hang by
)

// FormatByKey finds a ready-made format by its key, "letter-3x10".
func FormatByKey(key string) (Format, error) {
	var keys []string
	for _, f := range Formats() {
		if f.Key == key {
			return f, nil
		}
		keys = append(keys, f.Key)
	}
	return Format{}, parts.Problemf(parts.Invalid, "sheet-unknown", "There is no label sheet %q.", key).
		Next("Use one of: %s.", strings.Join(keys, ", "))
}

// SheetByKey is FormatByKey.
func SheetByKey(key string) (Sheet, error) { return FormatByKey(key) }

// Sheets lists the ready-made formats that are sheets of stickers, the default
// first.
func Sheets() []Sheet {
	var out []Sheet
	for _, f := range Formats() {
		if f.Kind == OnSheet {
			out = append(out, f)
		}
	}
	return out
}

// Paper is the size of the page by name, "letter" or "a4", for the tickets
// that go with the labels. A roll gives "" as it has none.
func (f Format) Paper() string {
	switch {
	case f.Kind == OnRoll:
		return ""
	case f.PageW < mmLength(213):
		return "a4"
	}
	return "letter"
}

// PerPage is the number of labels on one page.
func (f Format) PerPage() int { return f.Columns * f.Rows }

// inMM is a length in millimetres, mmLength the length of so many millimetres
// to the next tenth of a micrometre.
func inMM(l parts.Length) float64 { return float64(l) / float64(parts.Millimetre) }
func mmLength(mm float64) parts.Length {
	return parts.Length(mm*10_000+0.5) * (parts.Micrometre / 10)
}

// What a format must have room for, in millimetres: the code of a usual
// address at its least module, and beside or below it a mark with one line.
const (
	leastColumn = 14
	leastHeight = 11
)

// CheckFormat finds out why labels cannot be laid out on a format. The sizes
// it asks for leave room for a code that scans and a mark that can be read.
func CheckFormat(f Format) error {
	checks := []func(Format) *parts.Problem{checkNames, checkSides, checkPlaces, checkHole, checkRoom}
	for _, check := range checks {
		if p := check(f); p != nil {
			return p.Fact("format", f.Key)
		}
	}
	return nil
}

func checkNames(f Format) *parts.Problem {
	plain := strings.Trim(f.Key, "abcdefghijklmnopqrstuvwxyz0123456789-") == ""
	switch {
	case f.Key == "" || len(f.Key) > 40 || !plain:
		return parts.Problemf(parts.Invalid, "format-key", "A format cannot be called %q.", short(f.Key)).
			Next("Give it a short key of small letters, figures and hyphens, such as roll-57x32.")
	case f.Kind != OnSheet && f.Kind != OnRoll && f.Kind != OnTag:
		return parts.Problemf(parts.Invalid, "format-kind", "There is no kind of format %q.", string(f.Kind)).
			Next("Use one of: %s.", "sheet, roll, tag")
	case f.DPI < 150 || f.DPI > 2400:
		return parts.Problemf(parts.Invalid, "format-dpi", "A printer of %d dots to the inch cannot be.", f.DPI).
			Next("Label printers have 203, 300 or 600; for a page printer write 300.")
	}
	return nil
}

func checkSides(f Format) *parts.Problem {
	const most = 100 // labels across and down
	longest := parts.Metre
	if f.Columns < 1 || f.Rows < 1 || f.Columns > most || f.Rows > most {
		return parts.Problemf(parts.Invalid, "format-count", "A page cannot have %d x %d labels.", f.Columns, f.Rows).
			Next("Count the labels across and down the page.")
	}
	for _, side := range []struct {
		name   string
		length parts.Length
	}{{"page is wide", f.PageW}, {"page is high", f.PageH}, {"label is wide", f.LabelW}, {"label is high", f.LabelH}} {
		if side.length < 10*parts.Millimetre || side.length > longest {
			return parts.Problemf(parts.Invalid, "format-size", "No %s %s.", side.name, side.length.String()).
				Next("Measure it, and look whether inches or millimetres were meant.")
		}
	}
	if f.Kind == OnRoll && (f.PerPage() != 1 || f.PageW != f.LabelW || f.PageH != f.LabelH) {
		return parts.Problemf(parts.Invalid, "format-roll", "On a roll every label is a page of its own.").
			Next("Give the page the size of the label, and one label to a page.")
	}
	if f.Corner < 0 || 2*f.Corner > min(f.LabelW, f.LabelH) {
		return parts.Problemf(parts.Invalid, "format-corner", "The corners of the label are rounder than it is wide.").
			Next("Give the radius of a corner, or nothing.")
	}
	return nil
}

// checkPlaces finds labels that lie on each other or leave the page. A hair of
// a tenth of a millimetre is the rounding of what is printed on the packet.
func checkPlaces(f Format) *parts.Problem {
	hair := parts.Millimetre / 10
	if f.Columns > 1 && f.PitchX < f.LabelW-hair || f.Rows > 1 && f.PitchY < f.LabelH-hair {
		return parts.Problemf(parts.Invalid, "format-overlap", "The labels lie on each other: from one to the next is %s across and %s down.", f.PitchX.String(), f.PitchY.String()).
			Next("Measure from the left edge of a label to the left edge of the next one, and from top to top.")
	}
	right := f.Left + parts.Length(f.Columns-1)*f.PitchX + f.LabelW
	foot := f.Top + parts.Length(f.Rows-1)*f.PitchY + f.LabelH
	if f.Left < 0 || f.Top < 0 || right > f.PageW+hair || foot > f.PageH+hair {
		if p := otherPaper(f, right, foot); p != nil {
			return p
		}
		return parts.Problemf(parts.Invalid, "format-outside", "The labels leave the page: they reach %s of %s across and %s of %s down.",
			right.String(), f.PageW.String(), foot.String(), f.PageH.String()).
			Next("Measure the first label from the page's upper left corner, then the steps from label to label.")
	}
	return nil
}

// namedPapers are the papers that people know by name, with their keys.
var namedPapers = []struct {
	key, name string
	w, h      parts.Length
}{{"letter", "Letter", mmLength(letter[0]), mmLength(letter[1])}, {"a4", "A4", mmLength(a4[0]), mmLength(a4[1])}}

// PaperOf gives the key of the paper that a page is, "letter" or "a4", and ""
// for any other size.
func PaperOf(w, h parts.Length) string {
	for _, p := range namedPapers {
		if w == p.w && h == p.h {
			return p.key
		}
	}
	return ""
}

// otherPaper finds out whether labels that reach over a paper with a name fit
// on the other: then the paper was mistaken, not the measures.
func otherPaper(f Format, right, foot parts.Length) *parts.Problem {
	hair := parts.Millimetre / 10
	key := PaperOf(f.PageW, f.PageH)
	if key == "" || f.Left < 0 || f.Top < 0 {
		return nil
	}
	is, other := namedPapers[0], namedPapers[1]
	if is.key != key {
		is, other = other, is
	}
	fits := right-f.Left <= other.w+hair && foot-f.Top <= other.h+hair // the margins are those of the wrong paper
	wide, high := f.Columns > 1 && right > f.PageW+hair, f.Rows > 1 && foot > f.PageH+hair
	var p *parts.Problem
	switch {
	case fits && wide:
		p = parts.Problemf(parts.Invalid, "format-outside", "%d labels %s wide do not fit on %s: is it %s?", f.Columns, f.LabelW.String(), is.name, other.name)
	case fits && high:
		p = parts.Problemf(parts.Invalid, "format-outside", "%d labels %s high do not fit on %s: is it %s?", f.Rows, f.LabelH.String(), is.name, other.name)
	default:
		return nil
	}
	return p.Next("Choose the paper that is named on the packet.")
}

func checkHole(f Format) *parts.Problem {
	h := f.Hole
	if h == (TagHole{}) {
		return nil
	}
	if h.Diameter < parts.Millimetre || h.Diameter > f.LabelW/2 || h.Down < h.Diameter/2+parts.Millimetre || h.Down > f.LabelH/2 {
		return parts.Problemf(parts.Invalid, "format-hole", "The hole of the tag is not inside its upper half.").
			Next("Give its diameter, and how far its middle is below the upper edge.")
	}
	return nil
}

func checkRoom(f Format) *parts.Problem {
	g := f.lay(Adjust{})
	code := usualModules * g.press().least()
	w, h := g.least.width(), g.least.height()
	if g.tall() {
		h -= code
	} else {
		w -= code
	}
	if g.codeBox() < code || w < leastColumn || h < leastHeight {
		return parts.Problemf(parts.Invalid, "format-small", "A label of %s x %s is too small for a code and a mark.", f.LabelW.String(), f.LabelH.String()).
			Next("The smallest that works is about 38 x 18 mm; smaller parts travel with a ticket or a tag.")
	}
	return nil
}
