package labels

import (
	"io"
	"strings"

	"benchtally/parts"
)

// Placard is a full page that hangs at a station, a rack or a cart.
type Placard struct {
	Address string `json:"address"` // complete text of the QR
	Title   string `json:"title"`   // "At the jointer"
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
	codes, err := encodeAll(addresses, placardCode)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Placards")
	for i, pl := range placards {
		p.page()
		if err := pl.draw(p, codes[i]); err != nil {
			return err
		}
	}
	return p.finish(w)
}

// draw draws a placard down the page: title, code with its address in letters,
// how to use it, and at the foot the caution.
func (pl Placard) draw(p *paper, c code) error {
	in := area{placardMargin, placardMargin, p.w - placardMargin, p.h - placardMargin}
	bottom, err := pl.caution(p, in)
	if err != nil {
		return err
	}
	title, address, lead, free := pl.words(in.width(), bottom-in.y0-c.side())
	// What the code leaves free is shared out above and below it. Its quiet
	// zone is part of it: no letter comes nearer.
	centre := p.w / 2
	y := p.centred(title, centre, in.y0) + free*0.3 + c.margin()
	c.draw(p, snap(centre-c.dark()/2), snap(y))
	y = p.centred(address, centre, y+c.dark()+c.margin())
	p.centred(lead, centre, y+free*0.3)
	return nil
}

// words sets title, address and lead in a column as large as the height has
// room for, both in millimetres, and tells how much stays free.
func (pl Placard) words(width, height float64) (title, address, lead []row, free float64) {
	const least = 6 // millimetres of air
	for _, share := range []float64{1, 0.8, 0.65, 0.5} {
		title = style{face: bold, pt: 60 * share, fall: 26}.set(pl.Title, width, 2)
		address = style{face: regular, pt: max(9, 12*share), fall: 6}.set(pl.Address, width, 2)
		lead = style{face: regular, pt: max(11, 20*share), fall: 11}.set(pl.Lead, width, 3)
		free = height - heightOf(title) - heightOf(address) - heightOf(lead)
		if free >= least {
			break
		}
	}
	return title, address, lead, max(0, free)
}

// centred draws rows below each other round a middle and returns where they
// end.
func (p *paper) centred(rows []row, x, y float64) float64 {
	for _, r := range rows {
		p.textCentre(r, x, y+r.caps()+(r.height()-r.caps())/2)
		y += r.height()
	}
	return y
}

// caution draws the caution in a frame at the foot of an area, beside the
// general warning sign, and returns where the frame begins. A caution is never
// cut short: one that does not fit is a problem.
func (pl Placard) caution(p *paper, in area) (top float64, err error) {
	const pad, sign = 4.0, 15.0 // millimetres
	rows := style{face: bold, pt: 16, fall: 10}.set(pl.Caution, in.width()-3*pad-sign, 4)
	if len(rows) == 0 {
		return in.y1, nil
	}
	if strings.HasSuffix(rows[len(rows)-1].text, ellipsis) && !strings.HasSuffix(clean(pl.Caution), ellipsis) {
		return 0, parts.Problemf(parts.Invalid, "caution-long", "The caution of %q is too long for a placard.", pl.Title).
			Next("Say the one thing that matters there.")
	}
	high := max(heightOf(rows), sign*0.87) + 2*pad
	top = in.y1 - high
	p.box(in.x0, top, in.width(), high, 1)
	p.warning(in.x0+pad, top+(high-sign*0.87)/2, sign)
	p.stack(rows, in.x0+2*pad+sign, top+(high-heightOf(rows))/2)
	return top - 4, nil
}

// warning draws the triangle of the general warning sign (ISO 7010 W001) in
// black, w millimetres wide, with an exclamation mark cut out of plain shapes.
func (p *paper) warning(x, y, w float64) {
	p.picture([]figure{
		{points: []point{{0.5, 0.03}, {0.97, 0.84}, {0.03, 0.84}, {0.5, 0.03}, {0.97, 0.84}}},
		{points: []point{{0.48, 0.33}, {0.52, 0.33}, {0.51, 0.55}, {0.49, 0.55}}, filled: true},
		{points: []point{{0.48, 0.68}, {0.52, 0.68}, {0.52, 0.70}, {0.48, 0.70}}, filled: true},
	}, x, y, w, w*0.06)
}
