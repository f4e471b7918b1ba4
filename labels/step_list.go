package labels

import "fmt"

// The lines of a list of steps, in millimetres: from line to line at most,
// with room, and at least, and between two columns.
const (
	stepMost    = 5.8
	stepRoomy   = 3.8
	stepLeast   = 3.5
	stepBetween = 4.0
)

// listSteps draws steps with a box each, open for the pencil of whoever has no
// phone at hand, in as few columns as hold them with room. All lines are in
// one size of type, so that no step looks less than another.
func listSteps(d *drawing, steps []TicketStep, in area) {
	n := len(steps)
	if n == 0 || in.height() < stepLeast {
		return
	}
	columns, rows := stepColumns(n, in.height())
	shown := min(n, columns*rows)
	rows = (shown + columns - 1) / columns
	pitch := min(stepMost, in.height()/float64(rows))
	width := (in.width() - stepBetween*float64(columns-1)) / float64(columns)
	pt := stepType(steps[:shown], width-stepBox(pitch)-1.5, min(9.5, pitch/mm*0.78))
	for i, s := range steps[:shown] {
		x := in.x0 + float64(i/rows)*(width+stepBetween)
		y := in.y0 + float64(i%rows)*pitch
		if i == shown-1 && shown < n {
			d.stack(style{face: regular, pt: pt, fall: 6}.set(fmt.Sprintf("and %d more steps", n-shown+1), width, 1), x, y)
			return
		}
		s.draw(d, area{x, y, x + width, y + pitch}, pt, s.where())
	}
}

// stepColumns is how many columns of how many lines so many steps take in a
// height: one or two with room, two that are tight, at last three.
func stepColumns(n int, height float64) (columns, rows int) {
	for _, try := range []struct {
		columns int
		pitch   float64
	}{{1, stepRoomy}, {2, stepRoomy}, {2, stepLeast}, {3, stepLeast}} {
		columns, rows = try.columns, max(1, int(height/try.pitch))
		if columns*rows >= n {
			break
		}
	}
	return columns, rows
}

// stepBox is the side of the box in a line.
func stepBox(pitch float64) float64 { return min(3.4, pitch*0.68) }

// behind reports whether a step is done, said or not.
func (s TicketStep) behind() bool { return s.Done != "" || s.Unsaid }

// wait reports whether a step is a wait: nobody goes anywhere for it, and
// nobody signs it.
func (s TicketStep) wait() bool { return s.Station == "" }

// where is what stands at the right of a step: where it is done, or once
// it is, who did it and when.
func (s TicketStep) where() string {
	switch {
	case s.Done != "":
		return s.Done
	case s.Unsaid:
		return "not recorded"
	case s.wait():
		return "wait"
	}
	return s.Station
}

// tick draws the box of a step: open for the pencil, filled when the step is
// done, with a dot in it when it was left out, or must have been done and nobody
// recorded it. A wait has none.
func (s TicketStep) tick(d *drawing, x, y, side float64) {
	switch {
	case s.wait() && !s.behind():
		return
	case s.Unsaid:
		d.picture([]figure{disc(side/2, side/2, side/7)}, x, y, 1, 0.1)
	case s.Done != "":
		d.picture([]figure{bar(0, 0, side, side)}, x, y, 1, 0.25)
		return
	}
	d.box(x, y, side, side, 0.25)
}

// stepType is the largest type in which every step fits its line with its
// station, or else with its name alone.
func stepType(steps []TicketStep, width, most float64) float64 {
	fit := func(pt float64, station bool) bool {
		for _, s := range steps {
			name := row{style: style{face: bold, pt: pt}, text: clean(s.Name)}.width()
			if station {
				name += 1.5 + row{style: style{face: regular, pt: pt * 0.88}, text: clean(s.where())}.width()
			}
			if name > width {
				return false
			}
		}
		return true
	}
	for _, station := range []bool{true, false} {
		for pt := most; pt >= 7; pt -= 0.25 {
			if fit(pt, station) {
				return pt
			}
		}
	}
	return min(most, 7.5)
}

// draw draws one step in its line: a box, its name, and at the right where it is
// done. Half a station ("at the ...") says nothing, so it is there whole or not at all.
func (s TicketStep) draw(d *drawing, in area, pt float64, where string) {
	side := stepBox(in.height())
	s.tick(d, in.x0+0.1, in.y0+(in.height()-side)/2, side)
	weight := bold
	if s.wait() {
		weight = regular
	}
	room := in.width() - side - 1.5
	called := style{face: weight, pt: pt, fall: pt}
	name := row{style: called, text: clean(s.Name)}.width()
	if station, whole := (style{face: regular, pt: pt * 0.88, fall: pt * 0.88}).whole(where, max(room*0.6, room-name-1.5)); whole {
		left := room - station[0].width() - 1.5
		if _, fits := called.whole(s.Name, left); fits {
			d.textRight(station[0], in.x1, in.y0+(in.height()+station[0].caps())/2)
			room = left
		}
	}
	for _, r := range called.set(s.Name, room, 1) {
		d.text(r, in.x0+side+1.5, in.y0+(in.height()+r.caps())/2)
	}
}
