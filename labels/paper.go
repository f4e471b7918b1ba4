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
		return 8.5 * inch, 11 * inch, nil
	case "a4":
		return 210, 297, nil
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

// text draws a row with its left end and baseline at x, y.
func (p *paper) text(r row, x, y float64) {
	for _, s := range r.spans(r.text) {
		x += s.gap * r.pt * mm
		p.pdf.SetFont("shop", r.face.style, r.pt*s.size)
		p.pdf.Text(x, y-s.rise*r.pt*mm, s.text)
		x += float64(r.face.width(s.text)) / 1000 * s.size * r.pt * mm
	}
}

// textRight draws a row with its right end at x.
func (p *paper) textRight(r row, x, y float64) { p.text(r, x-r.width(), y) }

// textCentre draws a row with its middle at x.
func (p *paper) textCentre(r row, x, y float64) { p.text(r, x-r.width()/2, y) }

// stack draws rows one below the other from y down and returns where they end.
func (p *paper) stack(rows []row, x, y float64) float64 {
	for _, r := range rows {
		p.text(r, x, y+r.caps()+(r.height()-r.caps())/2)
		y += r.height()
	}
	return y
}

// heightOf adds up the heights of rows.
func heightOf(rows []row) float64 {
	h := 0.0
	for _, r := range rows {
		h += r.height()
	}
	return h
}

// line draws a line of a width.
func (p *paper) line(x1, y1, x2, y2, width float64) {
	p.pdf.SetLineWidth(width)
	p.pdf.Line(x1, y1, x2, y2)
}

// dashes draws a line to cut along.
func (p *paper) dashes(x1, y1, x2, y2 float64) {
	p.pdf.SetDashPattern([]float64{2, 1.5}, 0)
	p.line(x1, y1, x2, y2, 0.2)
	p.pdf.SetDashPattern(nil, 0)
}

// box draws an empty rectangle.
func (p *paper) box(x, y, w, h, width float64) {
	p.pdf.SetLineWidth(width)
	p.pdf.Rect(x, y, w, h, "D")
}

// frame begins a drawing in a frame of its own: its origin at x, y, its unit so
// many millimetres, y down. The drawing ends with the operator Q.
func (p *paper) frame(out []byte, x, y, unit float64) []byte {
	u := unit * pointsPerMM
	return fmt.Appendf(out, "q %.6f 0 0 %.6f %.4f %.4f cm\n", u, -u, x*pointsPerMM, (p.h-y)*pointsPerMM)
}

// picture draws figures, scaled and moved to x, y, with lines of a width: all
// lines in one stroke, all areas in one fill with a line round them.
func (p *paper) picture(figures []figure, x, y, scale, width float64) {
	out := fmt.Appendf(p.frame(nil, x, y, scale), "%.4f w 1 j\n", width/scale)
	for _, filled := range []bool{false, true} {
		any := false
		for _, f := range figures {
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
