package labels

import (
	"fmt"
	"io"

	"benchtally/parts"
)

// Ticket is what the slip of a counted group says.
type Ticket struct {
	Address  string       `json:"address"` // complete text of the QR
	Mark     string       `json:"mark"`
	Name     string       `json:"name,omitempty"`
	Size     string       `json:"size,omitempty"`
	Material string       `json:"material,omitempty"`
	Assembly string       `json:"assembly,omitempty"`
	Job      string       `json:"job,omitempty"`
	Note     string       `json:"note,omitempty"`      // what the list says beside the line
	Count    int          `json:"count,omitempty"`     // pieces it stands for, spares not counted; 0 leaves it open
	Spares   int          `json:"spares,omitempty"`    // pieces that ride along
	PerBlank int          `json:"per_blank,omitempty"` // pieces in one blank while they travel as blanks; each blank then gets a stub to tear off
	Rough    string       `json:"rough,omitempty"`     // what to cut while the pieces are rough: "cut 5 blanks 41 3/8\" long"
	RoughWhy string       `json:"rough_why,omitempty"` // why it is so much: "a blank of 3; incl. 7\" for trimming"
	Strip    parts.Strip  `json:"strip"`
	Steps    []TicketStep `json:"steps,omitempty"` // in order
}

// TicketStep is one line of a ticket's list. A wait (rest, in clamps, drying)
// has no station.
type TicketStep struct {
	Name    string `json:"name"`
	Station string `json:"station,omitempty"`
	Done    string `json:"done,omitempty"`   // who and when, short: "RO 2 Mar 07:00"; "" while it is to do
	Unsaid  bool   `json:"unsaid,omitempty"` // it is behind the piece, and nobody recorded that it was done
}

// Tickets lie two by two on a page.
const (
	ticketColumns = 2
	ticketRows    = 2
	ticketsAPage  = ticketColumns * ticketRows
	ticketMargin  = 8  // millimetres inside a ticket's edge, one that is cut by hand
	ticketCode    = 44 // millimetres of its code, quiet zone included
)

// ticketHabit is what every ticket reminds of: no phone at a running cutter.
const ticketHabit = "Scan at the outfeed cart, with the cutter stopped."

// WriteTickets writes tickets as a PDF, four to a page with dashed lines to
// cut along. The stubs of a ticket whose pieces travel as blanks lie beside it.
// paper is "letter" or "a4".
func WriteTickets(w io.Writer, paper string, tickets []Ticket) error {
	pageW, pageH, err := pageSize(paper)
	if err != nil {
		return err
	}
	if len(tickets) == 0 {
		return parts.Problemf(parts.Invalid, "tickets-none", "There are no tickets to print.")
	}
	addresses := make([]string, len(tickets))
	for i, t := range tickets {
		if err := t.check(); err != nil {
			return err
		}
		addresses[i] = t.Address
	}
	codes, err := encodeAll(addresses, ticketCode, pagePress)
	if err != nil {
		return err
	}
	slips, err := slipsOf(tickets, codes)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Tickets")
	page := area{x1: pageW, y1: pageH}
	for i, draw := range slips {
		d := &drawing{}
		if i%ticketsAPage == 0 {
			p.page()
			d.ticketCuts(page, len(slips)-i)
		}
		if draw != nil {
			draw(d, ticketArea(page, i%ticketsAPage))
		}
		p.draw(d)
	}
	return p.finish(w)
}

// check refuses a ticket that cannot be.
func (t Ticket) check() error {
	if clean(t.Mark) == "" {
		return markEmpty()
	}
	if t.Count < 0 || t.Spares < 0 || t.PerBlank < 0 {
		return parts.Problemf(parts.Invalid, "count-negative", "Ticket %s cannot stand for %d pieces and %d spares.", t.Mark, t.Count, t.Spares)
	}
	if t.blanks() > mostStubs {
		return parts.Problemf(parts.Invalid, "blanks-many", "Ticket %s is for %d blanks, and at most %d get a stub.", t.Mark, t.blanks(), mostStubs).
			Next("Check how many parts come from one blank, or divide the line.")
	}
	return nil
}

// slip draws a quarter of a page.
type slip func(d *drawing, in area)

// slipsOf gives what lies on each quarter, nil for one that stays free: a
// ticket with stubs begins at the left, so that they hang on it.
func slipsOf(tickets []Ticket, codes []code) ([]slip, error) {
	var out []slip
	for i, t := range tickets {
		if t.blanks() > 0 && len(out)%ticketColumns != 0 {
			out = append(out, nil)
		}
		out = append(out, func(d *drawing, in area) { t.draw(d, codes[i], in) })
		if t.blanks() == 0 {
			continue
		}
		small, err := encode(t.Address, stubCode, pagePress)
		if err != nil {
			return nil, err
		}
		for from := 1; from <= t.blanks(); from += stubsASlip {
			out = append(out, func(d *drawing, in area) { t.stubs(d, small, in, from) })
		}
	}
	return out, nil
}

// ticketCuts draws where to cut a page that has so many slips or more.
func (d *drawing) ticketCuts(page area, slips int) {
	d.dashes(unprintable, page.y1/ticketRows, page.x1-unprintable, page.y1/ticketRows)
	foot := page.y1 - unprintable
	if slips <= ticketColumns {
		foot = page.y1 / ticketRows
	}
	d.dashes(page.x1/ticketColumns, unprintable, page.x1/ticketColumns, foot)
}

// ticketArea is where slip i of a page, along the rows, may be printed on.
func ticketArea(page area, i int) area {
	w, h := page.x1/ticketColumns, page.y1/ticketRows
	x, y := w*float64(i%ticketColumns), h*float64(i/ticketColumns)
	return area{x + ticketMargin, y + ticketMargin, x + w - ticketMargin, y + h - ticketMargin}
}

// draw draws a ticket: the code with mark and count beside it, what the pieces
// are, the strip, and the list of steps down to the foot.
func (t Ticket) draw(d *drawing, c code, in area) {
	x, y := c.snap(in.x0), c.snap(in.y0)
	d.code(c, x, y)
	right := area{x + c.dark() + c.margin() + 1, y, in.x1, y + c.dark()}
	t.head(d, right)

	y += c.dark() + c.margin()
	y = d.stack(style{face: bold, pt: 13, fall: 8}.set(t.Name, in.width(), 2), in.x0, y)
	y = d.stack(style{face: bold, pt: 14, fall: 8, fractions: true}.set(t.Size, in.width(), 2), in.x0, y)
	y = d.stack(style{face: bold, pt: 14, fall: 8, fractions: true}.set(t.Rough, in.width(), 2), in.x0, y)
	y = d.stack(style{face: regular, pt: 9, fall: 7, fractions: true}.set(t.RoughWhy, in.width(), 2), in.x0, y)
	y = d.stack(style{face: regular, pt: 10, fall: 7}.pair(t.Material, t.Assembly, in.width(), 2), in.x0, y)
	y = d.stack(style{face: regular, pt: 10, fall: 7}.set(t.Job, in.width(), 1), in.x0, y)
	y = d.stack(style{face: bold, pt: 10, fall: 7}.set(t.Note, in.width(), 2), in.x0, y)
	y += 1.5
	if high := stripHeight(t.Strip, in.width(), 5); high > 0 {
		d.strip(t.Strip, in.x0, y, in.width(), 5)
		y += high + 2
	}
	habit := style{face: regular, pt: 7, fall: 6}.set(ticketHabit, in.width(), 1)
	foot := in.y1 - heightOf(habit)
	d.stack(habit, in.x0, foot)
	listSteps(d, t.Steps, area{in.x0, y, in.x1, foot - 1})
}

// head draws the mark and below it, at the foot of the area, the count.
func (t Ticket) head(d *drawing, in area) {
	mark := style{face: bold, pt: 40, fall: 10}.set(t.Mark, in.width(), 1)[0]
	d.text(mark, in.x0, in.y0+mark.caps())
	var count, spares string
	switch {
	case t.Count == 1:
		count = "1 piece"
	case t.Count > 1:
		count = fmt.Sprintf("%d pieces", t.Count)
	}
	switch {
	case t.Spares == 1:
		spares = "and 1 spare"
	case t.Spares > 1:
		spares = fmt.Sprintf("and %d spares", t.Spares)
	}
	y := in.y1
	for _, r := range (style{face: regular, pt: 12, fall: 8}).set(spares, in.width(), 1) {
		d.text(r, in.x0, y)
		y -= r.height() + 0.8
	}
	for _, r := range (style{face: bold, pt: 27, fall: 10}).set(count, in.width(), 1) {
		d.text(r, in.x0, y)
	}
}
