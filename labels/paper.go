package labels

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"github.com/jung-kurt/gofpdf"

	"benchtally/parts"
)

// pointsPerMM turns millimetres into the unit of PDF.
const pointsPerMM = 72 / inch

// unprintable is the margin, in millimetres, that some printers leave white.
const unprintable = 5

// paper is a PDF being drawn. Lengths are millimetres from the upper left
// corner of the page. Everything is black: shop printers have nothing else.
type paper struct {
	pdf  *gofpdf.Fpdf
	w, h float64
}

// pageSize gives the width and height of a paper by its name.
func pageSize(name string) (w, h float64, err error) {
	switch name {
	case "letter":
		return letter[0], letter[1], nil
	case "a4":
		return a4[0], a4[1], nil
	}
	return 0, 0, parts.Problemf(parts.Invalid, "paper-unknown", "There is no paper %q.", name).
		Next("Use one of: %s.", "a4, letter")
}

// newPaper begins a document. Its dates are fixed and its objects sorted, so
// that it depends on nothing but what is drawn.
func newPaper(w, h float64, title string) *paper {
	pdf := gofpdf.NewCustom(&gofpdf.InitType{UnitStr: "mm", Size: gofpdf.SizeType{Wd: w, Ht: h}})
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	pdf.SetCreationDate(fixed)
	pdf.SetModificationDate(fixed)
	pdf.SetCatalogSort(true)
	pdf.SetCompression(true)
	pdf.SetMargins(0, 0, 0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetTitle(title, true)
	for _, f := range []*face{regular, bold} {
		pdf.AddUTF8FontFromBytes("shop", f.style, f.bytes())
	}
	return &paper{pdf: pdf, w: w, h: h}
}

// page begins a new page.
func (p *paper) page() { p.pdf.AddPage() }

// draw writes a drawing on the page.
func (p *paper) draw(d *drawing) {
	for _, o := range d.ops {
		switch o := o.(type) {
		case textOp:
			p.text(o)
		case lineOp:
			p.line(o)
		case boxOp:
			p.pdf.SetLineWidth(o.width)
			p.pdf.Rect(o.x0, o.y0, o.area.width(), o.area.height(), "D")
		case pictureOp:
			p.picture(o)
		case codeOp:
			p.code(o)
		}
	}
}

// text draws a row span by span.
func (p *paper) text(o textOp) {
	o.eachSpan(func(s span, x, y float64) {
		p.pdf.SetFont("shop", o.face.style, o.pt*s.size)
		p.pdf.Text(x, y, s.text)
	})
}

func (p *paper) line(o lineOp) {
	if o.dashed {
		p.pdf.SetDashPattern([]float64{dashLong, dashGap}, 0)
		defer p.pdf.SetDashPattern(nil, 0)
	}
	p.pdf.SetLineWidth(o.width)
	p.pdf.Line(o.x1, o.y1, o.x2, o.y2)
}

// code draws a code as one fill, so that no viewer shows seams.
func (p *paper) code(o codeOp) {
	out := p.frame(nil, o.x, o.y, o.dot/fine)
	for _, r := range o.rectangles() {
		out = appendInts(out, "re\n", r[:]...)
	}
	p.pdf.RawWriteStr(string(append(out, "f Q"...)))
}

// frame begins a drawing in a frame of its own: its origin at x, y, its unit so
// many millimetres, y down. The drawing ends with the operator Q.
func (p *paper) frame(out []byte, x, y, unit float64) []byte {
	u := unit * pointsPerMM
	return fmt.Appendf(out, "q %.6f 0 0 %.6f %.4f %.4f cm\n", u, -u, x*pointsPerMM, (p.h-y)*pointsPerMM)
}

// picture draws figures: all lines in one stroke, all areas in one fill with a
// line round them.
func (p *paper) picture(o pictureOp) {
	out := fmt.Appendf(p.frame(nil, o.x, o.y, o.scale), "%.4f w 1 j\n", o.width/o.scale)
	for _, filled := range []bool{false, true} {
		any := false
		for _, f := range o.figures {
			if f.filled == filled {
				out, any = appendPath(out, f), true
			}
		}
		switch {
		case any && filled:
			out = append(out, "B\n"...)
		case any:
			out = append(out, "S\n"...)
		}
	}
	p.pdf.RawWriteStr(string(append(out, 'Q')))
}

// appendPath writes a figure as path operators.
func appendPath(out []byte, f figure) []byte {
	op := "m\n"
	for _, at := range f.points {
		out = append(appendNumber(out, at.x), ' ')
		out = append(appendNumber(out, at.y), ' ')
		out, op = append(out, op...), "l\n"
	}
	if f.filled {
		out = append(out, "h\n"...)
	}
	return out
}

// appendNumber writes a length of a picture to two decimals at most.
func appendNumber(out []byte, v float64) []byte {
	return strconv.AppendFloat(out, math.Round(v*100)/100, 'f', -1, 64)
}

// finish writes the document.
func (p *paper) finish(w io.Writer) error {
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write PDF: %w", err)
	}
	return nil
}
