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
	Note     string       `json:"note,omitempty"`   // what the list says beside the line
	Count    int          `json:"count,omitempty"`  // pieces it stands for, spares not counted; 0 leaves it open
	Spares   int          `json:"spares,omitempty"` // pieces that ride along
	Strip    parts.Strip  `json:"strip"`
	Steps    []TicketStep `json:"steps,omitempty"` // in order
}

// TicketStep is one line of a ticket's list. A wait (rest, in clamps, drying)
// has no station.
type TicketStep struct {
	Name    string `json:"name"`
	Station string `json:"station,omitempty"`
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
// cut along. paper is "letter" or "a4".
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
		if clean(t.Mark) == "" {
			return markEmpty()
		}
		if t.Count < 0 || t.Spares < 0 {
			return parts.Problemf(parts.Invalid, "count-negative", "Ticket %s cannot stand for %d pieces and %d spares.", t.Mark, t.Count, t.Spares)
		}
		addresses[i] = t.Address
	}
	codes, err := encodeAll(addresses, ticketCode)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Tickets")
	for i, t := range tickets {
		if i%ticketsAPage == 0 {
			p.page()
			p.cutLines(len(tickets) - i)
		}
		t.draw(p, codes[i], p.ticketArea(i%ticketsAPage))
	}
	return p.finish(w)
}

// cutLines draws where to cut a page that has so many tickets or more.
func (p *paper) cutLines(tickets int) {
	p.dashes(unprintable, p.h/ticketRows, p.w-unprintable, p.h/ticketRows)
	foot := p.h - unprintable
	if tickets <= ticketColumns {
		foot = p.h / ticketRows
	}
	p.dashes(p.w/ticketColumns, unprintable, p.w/ticketColumns, foot)
}

// ticketArea is where ticket i of a page, along the rows, may be printed on.
func (p *paper) ticketArea(i int) area {
	w, h := p.w/ticketColumns, p.h/ticketRows
	x, y := w*float64(i%ticketColumns), h*float64(i/ticketColumns)
	return area{x + ticketMargin, y + ticketMargin, x + w - ticketMargin, y + h - ticketMargin}
}

// draw draws a ticket: the code with mark and count beside it, what the pieces
// are, the strip, and the list of steps down to the foot.
func (t Ticket) draw(p *paper, c code, in area) {
	x, y := snap(in.x0), snap(in.y0)
	c.draw(p, x, y)
	right := area{x + c.dark() + c.margin() + 1, y, in.x1, y + c.dark()}
	t.head(p, right)

	y += c.dark() + c.margin()
	y = p.stack(style{face: bold, pt: 13, fall: 8}.set(t.Name, in.width(), 2), in.x0, y)
	y = p.stack(style{face: bold, pt: 14, fall: 8, fractions: true}.set(t.Size, in.width(), 2), in.x0, y)
	y = p.stack(style{face: regular, pt: 10, fall: 7}.pair(t.Material, t.Assembly, in.width(), 2), in.x0, y)
	y = p.stack(style{face: regular, pt: 10, fall: 7}.set(t.Job, in.width(), 1), in.x0, y)
	y = p.stack(style{face: bold, pt: 10, fall: 7}.set(t.Note, in.width(), 2), in.x0, y)
	y += 1.5
	if high := stripHeight(t.Strip, in.width(), 5); high > 0 {
		p.strip(t.Strip, in.x0, y, in.width(), 5)
		y += high + 2
	}
	habit := style{face: regular, pt: 7, fall: 6}.set(ticketHabit, in.width(), 1)
	foot := in.y1 - heightOf(habit)
	p.stack(habit, in.x0, foot)
	t.list(p, area{in.x0, y, in.x1, foot - 1})
}

// head draws the mark and below it, at the foot of the area, the count.
func (t Ticket) head(p *paper, in area) {
	mark := style{face: bold, pt: 40, fall: 10}.set(t.Mark, in.width(), 1)[0]
	p.text(mark, in.x0, in.y0+mark.caps())
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
		p.text(r, in.x0, y)
		y -= r.height() + 0.8
	}
	for _, r := range (style{face: bold, pt: 27, fall: 10}).set(count, in.width(), 1) {
		p.text(r, in.x0, y)
	}
}

// list draws the steps with an open box each, for the pencil of whoever has no
// phone at hand, in as few columns as hold them.
func (t Ticket) list(p *paper, in area) {
	const most, least, between = 5.8, 3.5, 4.0 // millimetres from line to line, and between columns
	n := len(t.Steps)
	if n == 0 || in.height() < least {
		return
	}
	rows := int(in.height() / least)
	columns := min(3, (n+rows-1)/rows)
	shown := min(n, rows*columns)
	rows = (shown + columns - 1) / columns
	pitch := min(most, in.height()/float64(rows))
	width := (in.width() - between*float64(columns-1)) / float64(columns)
	for i, s := range t.Steps[:shown] {
		x := in.x0 + float64(i/rows)*(width+between)
		y := in.y0 + float64(i%rows)*pitch
		if i == shown-1 && shown < n {
			more := style{face: regular, pt: 8, fall: 6}.set(fmt.Sprintf("and %d more steps", n-shown+1), width, 1)
			p.stack(more, x, y)
			return
		}
		s.draw(p, area{x, y, x + width, y + pitch})
	}
}

// draw draws one step in its line: a box, its name, and where it is done.
func (s TicketStep) draw(p *paper, in area) {
	side := min(3.4, in.height()*0.68)
	p.box(in.x0+0.1, in.y0+(in.height()-side)/2, side, side, 0.25)
	pt := min(9.5, in.height()/mm*0.78)
	where, weight := s.Station, bold
	if where == "" {
		where, weight = "wait", regular // nobody goes anywhere for it
	}
	room := in.width() - side - 1.5
	called := style{face: weight, pt: pt, fall: 6}
	// Half a station ("at the ...") says nothing, so it is there whole or not
	// at all; and it may not push out the name.
	station, whole := style{face: regular, pt: pt * 0.88, fall: 6}.whole(where, room*0.6)
	if whole {
		left := room - station[0].width() - 1.5
		if _, fits := called.whole(s.Name, left); fits || left > room/2 {
			p.textRight(station[0], in.x1, in.y0+(in.height()+station[0].caps())/2)
			room = left
		}
	}
	for _, r := range called.set(s.Name, room, 1) {
		p.text(r, in.x0+side+1.5, in.y0+(in.height()+r.caps())/2)
	}
}
