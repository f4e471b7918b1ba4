package labels

import "math"

// inch is one inch in millimetres, exactly.
const inch = 25.4

// geometry is a format in millimetres, moved by the printer's adjustment: all
// that the layout of a page needs.
type geometry struct {
	pageW, pageH   float64
	labelW, labelH float64
	left, top      float64
	pitchX, pitchY float64
	columns, rows  int
	margin         float64 // kept free inside a label's edge: pages feed askew and stickers are cut that much off
	edge           float64 // of the page, that some printers leave white
	dpi            int
	corner         float64
	hole           area // kept clear on a label, from its upper left corner
	holeSize       float64
	least          area // the narrowest width and lowest height that a label has to print on
}

// cutAir is kept between a line to cut or punch along and a code's quiet zone.
const cutAir = 0.3

// holeAir is kept clear round a hole: a punch in the hand is not exact.
const holeAir = 3

// lay gives a format's geometry. What moves is where labels lie; a label is
// drawn in its true size about its middle, so that the modules of its code
// stay whole dots.
func (f Format) lay(a Adjust) geometry {
	g := geometry{
		pageW: inMM(f.PageW), pageH: inMM(f.PageH), labelW: inMM(f.LabelW), labelH: inMM(f.LabelH),
		left: inMM(f.Left), top: inMM(f.Top), pitchX: inMM(f.PitchX), pitchY: inMM(f.PitchY),
		columns: f.Columns, rows: f.Rows, dpi: f.DPI, corner: inMM(f.Corner), holeSize: inMM(f.Hole.Diameter),
	}
	switch f.Kind {
	case OnRoll:
		g.margin = 1.5
	case OnTag:
		g.margin, g.edge = 3, unprintable
	default:
		g.margin, g.edge = 2, unprintable
	}
	if g.holeSize > 0 {
		reach, down := g.holeSize/2+holeAir, inMM(f.Hole.Down)
		g.hole = area{g.labelW/2 - reach, down - reach, g.labelW/2 + reach, down + reach}
	}
	if k := a.factor(); k != 1 {
		g.left, g.top = g.left*k+(k-1)*g.labelW/2, g.top*k+(k-1)*g.labelH/2
		g.pitchX, g.pitchY = g.pitchX*k, g.pitchY*k
	}
	g.left, g.top = g.left+inMM(a.DX), g.top+inMM(a.DY)
	g.least = g.smallest()
	return g
}

// perPage is the number of labels on one page.
func (g geometry) perPage() int { return g.columns * g.rows }

// spot gives the upper left corner, in millimetres from that of the page, of
// the label at a 0-based position: along the rows, then down.
func (g geometry) spot(position int) (x, y float64) {
	return g.left + float64(position%g.columns)*g.pitchX, g.top + float64(position/g.columns)*g.pitchY
}

// area is a rectangle in millimetres from the upper left corner of the page.
type area struct{ x0, y0, x1, y1 float64 }

func (a area) width() float64  { return a.x1 - a.x0 }
func (a area) height() float64 { return a.y1 - a.y0 }

// label is the whole label at a position.
func (g geometry) label(position int) area {
	x, y := g.spot(position)
	return area{x, y, x + g.labelW, y + g.labelH}
}

// content is the part of the label at a position that may be printed on. A
// hole takes all the height down to its foot.
func (g geometry) content(position int) area {
	l := g.label(position)
	return area{
		x0: max(l.x0+g.margin, g.edge), y0: max(l.y0+max(g.margin, g.hole.y1), g.edge),
		x1: min(l.x1-g.margin, g.pageW-g.edge), y1: min(l.y1-g.margin, g.pageH-g.edge),
	}
}

// smallest is the narrowest width and lowest height that a label of the page
// has to print on, from the origin. All labels of a page are laid out for it
// and look the same.
func (g geometry) smallest() area {
	least := area{x1: g.labelW, y1: g.labelH}
	for position := range g.perPage() {
		c := g.content(position)
		least.x1, least.y1 = min(least.x1, c.width()), min(least.y1, c.height())
	}
	return least
}

// column is the width that every label of the page has for words beside a
// code, less the dot that codes move by.
func (g geometry) column(c code) float64 {
	least := g.labelW
	for position := range g.perPage() {
		x, _ := g.place(c, position)
		least = min(least, g.content(position).x1-x-c.dark()-c.margin())
	}
	return least - c.dot - wordsAir
}

// tall tells whether the words go below the code instead of beside it.
func (g geometry) tall() bool { return g.least.height() > 0.9*g.least.width() }

// codeBox is the side of the square a label has for its code. The quiet zone
// may lie in the margin, as nothing is printed there. More than 42 % of the
// width would leave no room for words, unless the code of a usual address
// needs it; a tall label with the mark below its code gives 62 % where a column
// of 20 mm stays for the name. More than 36 mm, on a large label 48, is not
// needed to read it from arm's length.
func (g geometry) codeBox() float64 {
	mostCode := 36.0
	if g.tall() || g.labelH >= 80 {
		mostCode = 48
	}
	share := 0.42
	if g.tall() && g.labelW >= 50 {
		share = 0.62
	}
	usual := usualModules*g.press().least() + 1e-3
	return min(g.least.height()+2*g.margin, max(share*g.labelW, usual), mostCode)
}

// press is what a label's codes are drawn for. On a low label the words need
// what a larger module would take.
func (g geometry) press() press {
	switch {
	case g.labelH < 30:
		return press{dpi: g.dpi, most: 0.51}
	case g.labelH < 40:
		return press{dpi: g.dpi, most: 0.64}
	}
	return press{dpi: g.dpi}
}

// place is the upper left corner of a code's dark part on the label at a
// position: level with the middle, or at the top of a tall label, its quiet
// zone in the margin as far as the label goes, and on the printer's dots.
func (g geometry) place(c code, position int) (x, y float64) {
	in, l := g.content(position), g.label(position)
	x, y = max(in.x0, l.x0+c.margin()), (in.y0+in.y1-c.dark())/2
	if g.tall() {
		y = max(in.y0, l.y0+max(c.margin(), g.hole.y1))
	}
	if g.holeSize > 0 { // the line to cut along and the mark of the hole are ink
		x, y = max(x, l.x0+c.margin()+cutAir), max(y, l.y0+g.hole.y1-holeAir+c.margin()+cutAir)
	}
	return c.snap(x), c.snap(y)
}

// snap moves a length to dots of a size.
func snap(x, dot float64) float64 { return math.Round(x/dot) * dot }
