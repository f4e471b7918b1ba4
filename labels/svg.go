package labels

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// svg writes the drawing of the first label of a page for a web page, with the
// edge of the label and its hole round it. Letters are outlines of the same
// typeface as in the PDF, set by the same widths, so that nothing depends on
// what the browser has.
func (d *drawing) svg(g geometry, words string) string {
	l := g.label(0)
	var out strings.Builder
	words = html.EscapeString(words)
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" class="label" width="%smm" height="%smm" viewBox="%s %s %s %s" role="img" aria-label="%s"><title>%s</title>`,
		number(l.width()), number(l.height()), number(l.x0), number(l.y0), number(l.width()), number(l.height()), words, words)
	fmt.Fprintf(&out, `<rect class="edge" x="%s" y="%s" width="%s" height="%s" rx="%s" fill="#fff" stroke="#999" stroke-width="0.2"/>`,
		number(l.x0+0.1), number(l.y0+0.1), number(l.width()-0.2), number(l.height()-0.2), number(g.corner))
	if g.holeSize > 0 {
		fmt.Fprintf(&out, `<circle class="hole" cx="%s" cy="%s" r="%s" fill="none" stroke="#999" stroke-width="0.2"/>`,
			number(l.x0+(g.hole.x0+g.hole.x1)/2), number(l.y0+(g.hole.y0+g.hole.y1)/2), number(g.holeSize/2))
	}
	for _, o := range d.ops {
		writeSVG(&out, o)
	}
	out.WriteString("</svg>")
	return out.String()
}

// writeSVG writes one thing as elements, its kind as their class.
func writeSVG(out *strings.Builder, o op) {
	switch o := o.(type) {
	case textOp:
		o.eachSpan(func(s span, x, y float64) {
			unit := o.pt * s.size * mm / o.face.unitsPerEm()
			fmt.Fprintf(out, `<path class="text" transform="translate(%s %s) scale(%s)" d="%s"/>`, number(x), number(y), exactly(unit), o.face.path(s.text))
		})
	case lineOp:
		dashes := ""
		if o.dashed {
			dashes = fmt.Sprintf(` stroke-dasharray="%g %g"`, dashLong, dashGap)
		}
		fmt.Fprintf(out, `<path class="line" fill="none" stroke="#000" stroke-width="%s"%s d="M%s %sL%s %s"/>`,
			number(o.width), dashes, number(o.x1), number(o.y1), number(o.x2), number(o.y2))
	case boxOp:
		fmt.Fprintf(out, `<rect class="box" fill="none" stroke="#000" stroke-width="%s" x="%s" y="%s" width="%s" height="%s"/>`,
			number(o.width), number(o.x0), number(o.y0), number(o.area.width()), number(o.height()))
	case pictureOp:
		o.writeSVG(out)
	case codeOp:
		var path []byte
		for _, r := range o.rectangles() {
			path = fmt.Appendf(path, "M%d %dh%dv%dh-%dz", r[0], r[1], r[2], r[3], r[2])
		}
		fmt.Fprintf(out, `<path class="qr" transform="translate(%s %s) scale(%s)" d="%s"/>`, exactly(o.x), exactly(o.y), exactly(o.dot/fine), path)
	}
}

func (o pictureOp) writeSVG(out *strings.Builder) {
	var lines, areas []byte
	for _, f := range o.figures {
		if f.filled {
			areas = appendFigure(areas, f)
		} else {
			lines = appendFigure(lines, f)
		}
	}
	for _, part := range []struct {
		fill string
		path []byte
	}{{"none", lines}, {"#000", areas}} {
		if part.path != nil {
			fmt.Fprintf(out, `<path class="picture" fill="%s" stroke="#000" stroke-width="%s" stroke-linejoin="round" transform="translate(%s %s) scale(%s)" d="%s"/>`,
				part.fill, exactly(o.width/o.scale), number(o.x), number(o.y), exactly(o.scale), part.path)
		}
	}
}

// number writes millimetres to a thousandth, exactly to a millionth.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*1000)/1000, 'f', -1, 64)
}
func exactly(v float64) string { return strconv.FormatFloat(v, 'f', 6, 64) }
