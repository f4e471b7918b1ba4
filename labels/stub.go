package labels

import "fmt"

// Stubs lie two by five on a quarter of a page; each names one blank of a
// ticket, goes with it, and scans like the ticket.
const (
	stubColumns = 2
	stubRows    = 5
	stubsASlip  = stubColumns * stubRows
	stubCode    = 20.9 // millimetres of its code, quiet zone included
	mostStubs   = 200
)

// blanks is how many blanks the ticket's pieces travel as; 0 when they are
// pieces already.
func (t Ticket) blanks() int {
	if t.PerBlank < 2 {
		return 0
	}
	return (t.Count + t.Spares + t.PerBlank - 1) / t.PerBlank
}

// inBlank is how many pieces come from blank n, counted from 1: the last may
// be short.
func (t Ticket) inBlank(n int) int {
	return min(t.PerBlank, t.Count+t.Spares-(n-1)*t.PerBlank)
}

// stubs draws the stubs of one slip, the first for blank number from.
func (t Ticket) stubs(d *drawing, c code, in area, from int) {
	w, h := in.width()/stubColumns, in.height()/stubRows
	last := min(t.blanks(), from+stubsASlip-1)
	rows := (last-from)/stubColumns + 1
	for i := 1; i <= rows && i < stubRows; i++ {
		d.dashes(in.x0-3, in.y0+float64(i)*h, in.x1+3, in.y0+float64(i)*h)
	}
	d.dashes(in.x0+w, in.y0-3, in.x0+w, in.y0+float64(rows)*h)
	for n := from; n <= last; n++ {
		x, y := in.x0+float64((n-from)%stubColumns)*w, in.y0+float64((n-from)/stubColumns)*h
		t.stub(d, c, area{x, y, x + w, y + h}, n)
	}
}

// stub draws the stub of blank n.
func (t Ticket) stub(d *drawing, c code, in area, n int) {
	x, y := c.snap(in.x0+c.margin()), c.snap((in.y0+in.y1-c.dark())/2)
	d.code(c, x, y)
	left, width := x+c.dark()+c.margin(), in.x1-(x+c.dark()+c.margin())-2
	rows := bigMarkRows(t.Mark, width)
	rows = append(rows, style{face: bold, pt: 9, fall: 6}.set(fmt.Sprintf("blank %d of %d", n, t.blanks()), width, 1)...)
	rows = append(rows, style{face: regular, pt: 8.5, fall: 6}.set(fmt.Sprintf("%d × %s", t.inBlank(n), t.Name), width, 2)...)
	rows = append(rows, style{face: regular, pt: 7.5, fall: 6, fractions: true}.set(t.Size, width, 2)...)
	for len(rows) > 1 && heightOf(rows) > in.height()-2 {
		rows = rows[:len(rows)-1]
	}
	d.stack(rows, left, (in.y0+in.y1-heightOf(rows))/2)
}

// bigMarkRows is a mark as a line of a stub.
func bigMarkRows(mark string, width float64) []row {
	return style{face: bold, pt: 15, fall: 8}.set(mark, width, 1)
}
