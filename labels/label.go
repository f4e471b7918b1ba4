package labels

import (
	"io"

	"benchtally/parts"
)

// Label is what one sticker says. A print order keeps its labels as JSON, so
// that the same order prints the same bytes for ever. What is empty is not
// drawn.
//
// A label too small for all of it keeps, in this order: code, mark, strip, name
// and hand, copy number and note, finished size, rough size, place, assembly
// and material with its grain, sketch, job. Type is 6 point at least, mark
// 14 where anything else can give way (common practice, no source).
type Label struct {
	Address  string      `json:"address"` // complete text of the QR: http://192.168.1.20:8080/P/1A5K
	Mark     string      `json:"mark"`
	Name     string      `json:"name,omitempty"`
	Size     string      `json:"size,omitempty"` // finished size as the shop writes it
	Material string      `json:"material,omitempty"`
	Assembly string      `json:"assembly,omitempty"`
	Job      string      `json:"job,omitempty"`
	Note     string      `json:"note,omitempty"` // "spare", "remake of 1A5K"
	Copy     int         `json:"copy,omitempty"` // 2 for the second sticker of the same part
	Strip    parts.Strip `json:"strip"`
	Rough    string      `json:"rough,omitempty"` // rough size while the part is rough, as the shop writes it
	Grain    parts.Grain `json:"grain,omitempty"` // which way the grain runs, "" for none
	Hand     parts.Hand  `json:"hand,omitempty"`  // which of a pair it is
	Place    string      `json:"place,omitempty"` // where the label sits: "On the back face until sanded."
	// PlaceShort says the same where that has no room, the fullest way first.
	PlaceShort []string `json:"place_short,omitempty"`
	Sketch     *Sketch  `json:"sketch,omitempty"`
}

// batch is the number of labels whose codes are held at once.
const batch = 256

// WriteLabels writes labels as a PDF to be printed on a format at 100 %. first
// is the 1-based position of the first free label on the first, used page.
func WriteLabels(w io.Writer, f Format, first int, labels []Label) error {
	return WriteLabelsFor(w, f, Adjust{}, first, labels)
}

// WriteLabelsFor is WriteLabels for a printer that is a little off.
func WriteLabelsFor(w io.Writer, f Format, a Adjust, first int, labels []Label) error {
	if err := checkPrint(f, a, first, labels); err != nil {
		return err
	}
	g := f.lay(a)
	p := newPaper(g.pageW, g.pageH, "Labels")
	for from := 0; from < len(labels); from += batch {
		some := labels[from:min(from+batch, len(labels))]
		codes, err := encodeAll(addressesOf(some), g.codeBox(), g.press())
		if err != nil {
			return err
		}
		for i, l := range some {
			position := (first - 1 + from + i) % g.perPage()
			if from+i == 0 || position == 0 {
				p.page()
				p.draw(g.cutLines())
			}
			p.draw(l.draw(codes[i], g, position))
		}
	}
	return p.finish(w)
}

// LabelSVG draws a label as it lies on a format, for a web page: the same
// drawing as the PDF, letters as outlines, with the edge of the label and its
// hole in grey round it. Its unit is the millimetre.
func LabelSVG(f Format, l Label) (string, error) {
	if err := checkPrint(f, Adjust{}, 1, []Label{l}); err != nil {
		return "", err
	}
	g := f.lay(Adjust{})
	c, err := encode(l.Address, g.codeBox(), g.press())
	if err != nil {
		return "", err
	}
	return l.draw(c, g, 0).svg(g, l.spoken()), nil
}

// checkPrint refuses what cannot be printed.
func checkPrint(f Format, a Adjust, first int, labels []Label) error {
	if err := CheckFormat(f); err != nil {
		return err
	}
	if err := CheckAdjust(a); err != nil {
		return err
	}
	if first < 1 || first > f.PerPage() {
		return parts.Problemf(parts.Invalid, "first-out", "A sheet has no label %d.", first).
			Next("Give the first free label, 1 to %d.", f.PerPage())
	}
	if len(labels) == 0 {
		return parts.Problemf(parts.Invalid, "labels-none", "There are no labels to print.")
	}
	for _, l := range labels {
		if clean(l.Mark) == "" {
			return markEmpty()
		}
	}
	return nil
}

func markEmpty() error {
	return parts.Problemf(parts.Invalid, "mark-empty", "A label needs a mark: a dirty code can only be typed.")
}

func addressesOf(labels []Label) []string {
	out := make([]string, len(labels))
	for i, l := range labels {
		out[i] = l.Address
	}
	return out
}

// spoken is what a person who cannot see the preview is told.
func (l Label) spoken() string {
	text := "Label " + l.Mark
	for _, more := range []string{l.Name, l.Size, l.Place} {
		if more != "" {
			text += ", " + more
		}
	}
	return text
}

// wordsAir keeps a letter that leans out of its box out of the quiet zone, in millimetres.
const wordsAir = 0.2

// draw draws a label at a position of the page. All labels of a page get the
// room that the smallest has, so that they look the same.
func (l Label) draw(c code, g geometry, position int) *drawing {
	d := &drawing{ops: make([]op, 0, 16)}
	x, y := g.place(c, position)
	d.code(c, x, y)
	in, beside := g.content(position), area{x0: x + c.dark() + c.margin() + wordsAir}
	beside.x1 = beside.x0 + g.column(c)
	if g.tall() {
		in.x1, in.y1 = in.x0+g.least.width(), in.y0+g.least.height()
		l.tall(d, beside, in, y, c)
		return d
	}
	middle := (in.y0 + in.y1) / 2
	beside.y0, beside.y1 = middle-g.least.height()/2, middle+g.least.height()/2
	// Type grows with the height; above a third more only with the width too.
	scale := min(g.least.height()/21.4, max(1.3, beside.width()/34))
	l.words(d, beside, max(scale, 0.7))
	return d
}

// cutLines is where tags are cut out of their page and punched; empty for
// stickers, which come cut.
func (g geometry) cutLines() *drawing {
	d := &drawing{}
	if g.holeSize == 0 {
		return d
	}
	last := g.label(g.perPage() - 1)
	for i := range g.columns + 1 {
		x := g.left + float64(i)*g.pitchX
		d.dashes(x, g.edge, x, g.pageH-g.edge)
	}
	for i := range g.rows + 1 {
		y := g.top + float64(i)*g.pitchY
		d.dashes(min(g.left, g.edge), y, max(last.x1, g.pageW-g.edge), y)
	}
	for position := range g.perPage() {
		l := g.label(position)
		x, y := l.x0+(g.hole.x0+g.hole.x1)/2, l.y0+(g.hole.y0+g.hole.y1)/2
		d.picture(punch(), x, y, g.holeSize/2, 0.2)
	}
	return d
}

// punch is the mark of a hole of radius 1: its rim and its middle.
func punch() []figure {
	return []figure{{points: circle(0, 0, 1)},
		{points: []point{{-0.4, 0}, {0.4, 0}}}, {points: []point{{0, -0.4}, {0, 0.4}}}}
}
