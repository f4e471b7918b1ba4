package labels

import "benchtally/parts"

// drawing is a list of what is drawn, in order, in millimetres from the upper
// left corner of the page. Layout makes one, and the PDF and the preview are
// both written from it, so that they cannot differ. Everything is black: shop
// printers have nothing else.
type drawing struct{ ops []op }

// op is one thing that is drawn: a textOp, lineOp, boxOp, pictureOp or codeOp.
type op any

// textOp is a row with its left end and baseline at x, y.
type textOp struct {
	row
	x, y float64
}

// lineOp is a straight line of a width; a dashed one is to cut along.
type lineOp struct {
	x1, y1, x2, y2, width float64
	dashed                bool
}

// boxOp is an empty rectangle with a line of a width.
type boxOp struct {
	area
	width float64
}

// pictureOp is figures, scaled and moved to x, y, with lines of a width.
type pictureOp struct {
	figures            []figure
	x, y, scale, width float64
}

// codeOp is a code with the upper left corner of its dark part at x, y.
type codeOp struct {
	code
	x, y float64
}

// The dashes of a line to cut along, in millimetres.
const (
	dashLong = 2.0
	dashGap  = 1.5
)

// finest is the finest line that prints everywhere, one dot of a label printer
// of 203 to the inch.
const finest = inch / 203

// eachSpan gives the spans of a row with where each begins.
func (o textOp) eachSpan(do func(s span, x, y float64)) {
	x := o.x
	for _, s := range o.spans(o.row.text) {
		x += s.gap * o.pt * mm
		do(s, x, o.y-s.rise*o.pt*mm)
		x += float64(o.face.width(s.text)) / 1000 * s.size * o.pt * mm
	}
}

func (d *drawing) add(o op) { d.ops = append(d.ops, o) }

// text draws a row with its left end and baseline at x, y.
func (d *drawing) text(r row, x, y float64) { d.add(textOp{r, x, y}) }

// textRight draws a row with its right end at x.
func (d *drawing) textRight(r row, x, y float64) { d.text(r, x-r.width(), y) }

// textCentre draws a row with its middle at x.
func (d *drawing) textCentre(r row, x, y float64) { d.text(r, x-r.width()/2, y) }

// stack draws rows one below the other from y down and returns where they end.
func (d *drawing) stack(rows []row, x, y float64) float64 {
	for _, r := range rows {
		d.text(r, x, y+r.caps()+(r.height()-r.caps())/2)
		y += r.height()
	}
	return y
}

// centred draws rows below each other round a middle and returns where they
// end.
func (d *drawing) centred(rows []row, x, y float64) float64 {
	for _, r := range rows {
		d.textCentre(r, x, y+r.caps()+(r.height()-r.caps())/2)
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

// line draws a line of a width, dashes one to cut along.
func (d *drawing) line(x1, y1, x2, y2, width float64) { d.add(lineOp{x1, y1, x2, y2, width, false}) }
func (d *drawing) dashes(x1, y1, x2, y2 float64)      { d.add(lineOp{x1, y1, x2, y2, 0.2, true}) }

// box draws an empty rectangle.
func (d *drawing) box(x, y, w, h, width float64) { d.add(boxOp{area{x, y, x + w, y + h}, width}) }

// picture draws figures, scaled and moved to x, y, with lines of a width.
func (d *drawing) picture(figures []figure, x, y, scale, width float64) {
	d.add(pictureOp{figures, x, y, scale, width})
}

// code draws a code with the upper left corner of its dark part at x, y.
func (d *drawing) code(c code, x, y float64) { d.add(codeOp{c, x, y}) }

// strip draws a strip with its upper left corner at x, y, as large as w and h
// millimetres allow.
func (d *drawing) strip(s parts.Strip, x, y, w, h float64) {
	if len(s.Notches) == 0 {
		return
	}
	scale := stripScale(s, w, h)
	d.picture(stripFigures(s), x+stickBleed*scale, y+stickBleed*scale, scale, max(stickLine*scale, finest))
}
