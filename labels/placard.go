package labels

import (
	"io"
	"strings"

	"benchtally/parts"
)

// Placard is a full page that hangs at a station, a rack or a cart, or a badge
// that a person carries.
type Placard struct {
	Address string `json:"address"`        // complete text of the QR
	Title   string `json:"title"`          // "At the jointer"
	Mark    string `json:"mark,omitempty"` // of a cart or a rack, to be typed where the code cannot be scanned
	Lead    string `json:"lead,omitempty"`
	Caution string `json:"caution,omitempty"`
}

// A placard is read from a step away: at 1 m a phone wants a code of 120 mm,
// which a box of 170 gives in every version.
const (
	placardMargin = 13  // millimetres
	placardCode   = 170 // millimetres of its code, quiet zone included
)

// WritePlacards writes placards as a PDF, one to a page. paper is "letter" or
// "a4".
func WritePlacards(w io.Writer, paper string, placards []Placard) error {
	pageW, pageH, err := pageSize(paper)
	if err != nil {
		return err
	}
	if len(placards) == 0 {
		return parts.Problemf(parts.Invalid, "placards-none", "There are no placards to print.")
	}
	addresses := make([]string, len(placards))
	for i, pl := range placards {
		addresses[i] = pl.Address
	}
	codes, err := encodeAll(addresses, placardCode, pagePress)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Placards")
	for i, pl := range placards {
		p.page()
		d, err := pl.draw(codes[i], area{x1: pageW, y1: pageH})
		if err != nil {
			return err
		}
		p.draw(d)
	}
	return p.finish(w)
}

// draw draws a placard down the page: title, code with its mark and address in letters,
// how to use it, and at the foot the caution.
func (pl Placard) draw(c code, page area) (*drawing, error) {
	d := &drawing{}
	in := area{placardMargin, placardMargin, page.x1 - placardMargin, page.y1 - placardMargin}
	bottom, err := pl.caution(d, in)
	if err != nil {
		return nil, err
	}
	title, mark, address, lead, free := pl.words(in.width(), bottom-in.y0-c.side())
	// What the code leaves free is shared out above and below it. Its quiet
	// zone is part of it: no letter comes nearer.
	centre := page.x1 / 2
	y := d.centred(title, centre, in.y0) + free*0.3 + c.margin()
	d.code(c, c.snap(centre-c.dark()/2), c.snap(y))
	y = d.centred(mark, centre, y+c.dark()+c.margin())
	y = d.centred(address, centre, y)
	d.centred(lead, centre, y+free*0.3)
	return d, nil
}

// words sets title, mark, address and lead in a column as large as the height
// has room for, both in millimetres, and tells how much stays free.
func (pl Placard) words(width, height float64) (title, mark, address, lead []row, free float64) {
	const least = 6 // millimetres of air
	for _, share := range []float64{1, 0.9, 0.8, 0.7, 0.6, 0.5} {
		title = style{face: bold, pt: 60 * share, fall: 26}.set(pl.Title, width, 2)
		mark = style{face: bold, pt: 48 * share, fall: 20}.set(pl.Mark, width, 1)
		address = style{face: regular, pt: max(9, 12*share), fall: 6}.set(pl.Address, width, 2)
		lead = style{face: regular, pt: max(11, 20*share), fall: 11}.set(pl.Lead, width, 3)
		free = height - heightOf(title) - heightOf(mark) - heightOf(address) - heightOf(lead)
		if free >= least {
			break
		}
	}
	return title, mark, address, lead, max(0, free)
}

// caution draws the caution in a frame at the foot of an area, beside the
// general warning sign, and returns where the frame begins. A caution is never
// cut short: one that does not fit is a problem.
func (pl Placard) caution(d *drawing, in area) (top float64, err error) {
	const pad, sign = 4.0, 15.0 // millimetres
	rows := style{face: bold, pt: 16, fall: 10}.set(pl.Caution, in.width()-3*pad-sign, 4)
	if len(rows) == 0 {
		return in.y1, nil
	}
	if isCut(rows, pl.Caution) {
		return 0, cautionLong(pl.Title)
	}
	high := max(heightOf(rows), sign*0.87) + 2*pad
	top = in.y1 - high
	d.box(in.x0, top, in.width(), high, 1)
	d.warning(in.x0+pad, top+(high-sign*0.87)/2, sign)
	d.stack(rows, in.x0+2*pad+sign, top+(high-heightOf(rows))/2)
	return top - 4, nil
}

// isCut tells whether the rows are not all of a text.
func isCut(rows []row, text string) bool {
	return strings.HasSuffix(rows[len(rows)-1].text, ellipsis) && !strings.HasSuffix(clean(text), ellipsis)
}

func cautionLong(title string) error {
	return parts.Problemf(parts.Invalid, "caution-long", "The caution of %q is too long for a placard.", title).
		Next("Say the one thing that matters there.")
}

// warning draws the triangle of the general warning sign (ISO 7010 W001) in
// black, w millimetres wide, with an exclamation mark cut out of plain shapes.
func (d *drawing) warning(x, y, w float64) {
	d.picture([]figure{
		{points: []point{{0.5, 0.03}, {0.97, 0.84}, {0.03, 0.84}, {0.5, 0.03}, {0.97, 0.84}}},
		{points: []point{{0.48, 0.33}, {0.52, 0.33}, {0.51, 0.55}, {0.49, 0.55}}, filled: true},
		{points: []point{{0.48, 0.68}, {0.52, 0.68}, {0.52, 0.70}, {0.48, 0.70}}, filled: true},
	}, x, y, w, w*0.06)
}
