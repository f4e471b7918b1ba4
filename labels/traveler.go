package labels

import (
	"fmt"
	"io"
	"strings"

	"benchtally/parts"
)

// Traveler is the page that goes with an assembly when the network is down:
// what it is made of and what is still to do, to be signed by hand and entered
// afterwards.
type Traveler struct {
	Address string         `json:"address"` // complete text of the QR
	Mark    string         `json:"mark"`
	Name    string         `json:"name,omitempty"`
	Size    string         `json:"size,omitempty"`
	Job     string         `json:"job,omitempty"`
	Note    string         `json:"note,omitempty"`
	Caution string         `json:"caution,omitempty"` // what can hurt on the way; "" for the usual line
	Strip   parts.Strip    `json:"strip"`
	Parts   []TravelerPart `json:"parts,omitempty"`
	Steps   []TicketStep   `json:"steps,omitempty"` // those of the assembly, in order
}

// TravelerPart is one part of the assembly, or before its dry fit several
// equal ones.
type TravelerPart struct {
	Mark     string       `json:"mark"`
	Name     string       `json:"name,omitempty"`
	Count    int          `json:"count,omitempty"` // pieces of it that the assembly takes; 0 for one
	There    string       `json:"there,omitempty"` // how far the pieces of its line are: "5 ready, 1 at the crosscut saw (rough length)"
	Size     string       `json:"size,omitempty"`
	Material string       `json:"material,omitempty"`
	Hand     parts.Hand   `json:"hand,omitempty"`
	Sketch   *Sketch      `json:"sketch,omitempty"`
	Steps    []TicketStep `json:"steps,omitempty"` // those of the part, in order
}

const (
	travelerMargin = 12.0
	travelerCode   = 34.0
	travelerSign   = 7.5 // millimetres from line to line where a person writes
	travelerDone   = 5.2 // and where nobody does
)

// travelerCaution stands on every traveler.
const travelerCaution = "Sign with the cutter stopped. Local rules, the machine's manual and the product's data sheet decide."

// WriteTraveler writes a page for each assembly, more where its parts need
// them. paper is "letter" or "a4".
func WriteTraveler(w io.Writer, paper string, travelers ...Traveler) error {
	pageW, pageH, err := pageSize(paper)
	if err != nil {
		return err
	}
	if len(travelers) == 0 {
		return parts.Problemf(parts.Invalid, "travelers-none", "There are no travelers to print.")
	}
	addresses := make([]string, len(travelers))
	for i, t := range travelers {
		if clean(t.Mark) == "" {
			return markEmpty()
		}
		addresses[i] = t.Address
	}
	codes, err := encodeAll(addresses, travelerCode, pagePress)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Travelers")
	for i, t := range travelers {
		for _, d := range t.pages(codes[i], area{x1: pageW, y1: pageH}) {
			p.page()
			p.draw(d)
		}
	}
	return p.finish(w)
}

// travelerRow draws one part or one line to sign from y down.
type travelerRow struct {
	high float64
	draw func(d *drawing, x, y float64)
}

// pages lays a traveler out: its head on every page, then as many parts and
// lines to sign as a page holds. Nothing is cut across two pages.
func (t Traveler) pages(c code, page area) []*drawing {
	in := area{travelerMargin, travelerMargin, page.x1 - travelerMargin, page.y1 - travelerMargin}
	foot := style{face: regular, pt: 9, fall: 7}.set(t.caution(), in.width(), 2)
	bottom := in.y1 - heightOf(foot) - 2
	var out []*drawing
	var d *drawing
	y := bottom
	for _, r := range t.rows(in.width()) {
		if d == nil || y+r.high > bottom {
			d = &drawing{}
			out = append(out, d)
			y = t.head(d, c, in)
		}
		r.draw(d, in.x0, y)
		y += r.high
	}
	if d == nil {
		d = &drawing{}
		t.head(d, c, in)
		out = append(out, d)
	}
	for i, d := range out {
		d.stack(foot, in.x0, bottom+2)
		if len(out) > 1 {
			r := row{style: style{face: bold, pt: 10}, text: fmt.Sprintf("page %d of %d", i+1, len(out))}
			d.textRight(r, in.x1, in.y0+r.caps())
		}
	}
	return out
}

// caution is the traveler's own before the usual one.
func (t Traveler) caution() string { return strings.TrimSpace(t.Caution + " " + travelerCaution) }

// head draws the code with mark, name and job beside it and the strip below,
// and returns where it ends.
func (t Traveler) head(d *drawing, c code, in area) float64 {
	x, y := c.snap(in.x0), c.snap(in.y0)
	d.code(c, x, y)
	left := x + c.dark() + c.margin() + 2
	width := in.x1 - left
	mark := bigMark(t.Mark, width*0.6, 11)
	d.text(mark, left, y+mark.caps())
	at := y + mark.caps() + 0.2*mark.caps() + 1 // a J hangs below the line
	at = d.stack(style{face: bold, pt: 14, fall: 9}.set(t.Name, width, 1), left, at)
	at = d.stack(style{face: bold, pt: 11, fall: 8, fractions: true}.set(t.Size, width, 1), left, at)
	at = d.stack(style{face: regular, pt: 10, fall: 7}.set(t.Job, width, 1), left, at)
	at = d.stack(style{face: bold, pt: 9, fall: 7}.set(t.Note, width, 1), left, at)
	y = max(y+c.dark()+c.margin(), at+1)
	if high := stripHeight(t.Strip, in.width(), 6); high > 0 {
		d.strip(t.Strip, in.x0, y, in.width(), 6)
		y += high + 2
	}
	return y
}

// rows gives the parts and then the steps of the assembly to sign.
func (t Traveler) rows(width float64) []travelerRow {
	var out []travelerRow
	if len(t.Parts) > 0 {
		out = append(out, listHead(fmt.Sprintf("Parts (%d)", t.pieces()), "", width))
	}
	for _, p := range t.Parts {
		out = append(out, p.row(width))
	}
	if len(t.Steps) > 0 {
		out = append(out, listHead("Steps of the whole", "who, when", width))
	}
	for _, s := range t.Steps {
		out = append(out, s.toSign(width))
	}
	return out
}

// pieces is how many parts the assembly has.
func (t Traveler) pieces() int {
	n := 0
	for _, p := range t.Parts {
		n += max(1, p.Count)
	}
	return n
}

// toSign is a step of the whole with a line to sign on, or with who did it and
// when. A wait has neither.
func (s TicketStep) toSign(width float64) travelerRow {
	high := travelerSign
	if s.behind() || s.wait() {
		high = travelerDone
	}
	where := s.Station
	if s.wait() {
		where = s.where()
	}
	return travelerRow{high, func(d *drawing, x, y float64) {
		right := x + width*0.63
		s.draw(d, area{x, y, x + width*0.6, y + high}, 10, where)
		switch {
		case s.behind():
			for _, r := range (style{face: regular, pt: 10, fall: 7}).set(s.where(), x+width-right, 1) {
				d.text(r, right, y+(high+r.caps())/2)
			}
		case !s.wait():
			d.line(right, y+high-1.5, x+width, y+high-1.5, 0.2)
		}
	}}
}

// listHead is a line that begins a list, with what the lines to the right are
// for.
func listHead(text, right string, width float64) travelerRow {
	return travelerRow{8, func(d *drawing, x, y float64) {
		r := row{style: style{face: bold, pt: 11}, text: text}
		d.text(r, x, y+6)
		if right != "" {
			small := row{style: style{face: regular, pt: 8}, text: right}
			d.text(small, x+width*0.63, y+6)
		}
		d.line(x, y+7, x+width, y+7, 0.2)
	}}
}

// row lays out one part: mark, name and size at the left, its sketch at the
// right, and below both a box for each coming step.
func (p TravelerPart) row(width float64) travelerRow {
	const pad, boxPT = 1.2, 8.5
	left := width * 0.48
	mark := row{style: style{face: bold, pt: 15}, text: clean(p.Mark)}
	name := p.Name
	if p.Hand != "" {
		name += ", " + string(p.Hand) + " hand"
	}
	beside := left - mark.width() - 3
	words := style{face: regular, pt: 10, fall: 7}.set(name, beside, 2)
	words = append(words, style{face: bold, pt: 10, fall: 7, fractions: true}.set(p.Size, beside, 1)...)
	words = append(words, style{face: bold, pt: 10, fall: 7}.set(p.There, beside, 2)...)
	words = append(words, style{face: regular, pt: 8, fall: 6}.set(p.Material, beside, 1)...)
	high := max(heightOf(words), mark.height())
	sketchW := width - left - 4
	if v, fits := p.Sketch.fit(sketchW, 16); fits {
		high = max(high, v.high()+2*sketchLine)
	}
	lines := boxLines(p.Steps, width, boxPT)
	total := high + 2*pad + float64(len(lines))*5 + 1
	return travelerRow{total, func(d *drawing, x, y float64) {
		d.text(mark, x, y+pad+mark.caps())
		d.stack(words, x+mark.width()+3, y+pad)
		d.sketch(p.Sketch, x+left+4, y+pad, sketchW, 16)
		for i, line := range lines {
			at := x
			for _, b := range line {
				base := y + high + 2*pad + float64(i)*5 + 3.2
				b.step.tick(d, at+0.1, base-2.6, 3)
				d.text(b.row, at+4.2, base)
				at += b.width()
			}
		}
		d.line(x, y+total-0.3, x+width, y+total-0.3, 0.1)
	}}
}

// boxed is a step of a part with its name set.
type boxed struct {
	step TicketStep
	row  row
}

// width is what a boxed step takes of its line, in millimetres.
func (b boxed) width() float64 { return 4.2 + b.row.width() + 4 }

// boxLines breaks the steps of a part into lines of boxes with their names, and
// what is done with who did it and when.
func boxLines(steps []TicketStep, width, pt float64) [][]boxed {
	var out [][]boxed
	used := width
	for _, s := range steps {
		set := style{face: regular, pt: pt, fall: pt}.set(strings.TrimSpace(s.Name+" "+s.Done), width/2, 1)
		if len(set) == 0 {
			continue
		}
		b := boxed{s, set[0]}
		if used+b.width() > width {
			out, used = append(out, nil), 0
		}
		out[len(out)-1] = append(out[len(out)-1], b)
		used += b.width()
	}
	return out
}
