package labels

import "math"

// labelAir is what the gaps below the mark and above the strip take at least,
// and roundings what round figures stand out above the mark's capitals and the
// strip's line below it, in millimetres.
const (
	labelAir  = 1.5
	roundings = 0.3
)

// words writes everything but the code into an area beside it: the mark as
// large as the rest leaves room, the rest below it, the sketch if it still
// finds a place, the strip at the foot.
func (l Label) words(d *drawing, in area, scale float64) {
	foot := stripHeight(l.Strip, in.width(), 2.5*scale)
	room := in.height() - foot - labelAir*scale
	picture := l.sketchRoom(in.width(), room, scale)
	room -= picture
	rows, _ := l.rows(in.width(), room, scale, false)
	mark, note, whole := l.head(in.width(), min(room-heightOf(rows), 6*scale), scale)
	end := -1 // of which row the note stands at
	if !whole {
		end = l.freeEnd(rows, in.width())
	}
	switch {
	case end >= 0:
		mark = bigMark(l.Mark, in.width(), min(room-heightOf(rows), 6*scale))
	case !whole:
		rows, _ = l.rows(in.width(), room, scale, true)
		mark = bigMark(l.Mark, in.width(), min(room-heightOf(rows), 6*scale))
	}

	used := mark.caps() + heightOf(rows) + foot + picture
	gap := min((in.height()-used-roundings)/2, 1.4*scale)
	y := (in.y0 + in.y1 - used - 2*gap) / 2
	d.text(mark, in.x0, y+mark.caps())
	noteY := y
	for _, r := range note {
		d.textRight(r, in.x1, noteY+ascent*r.pt*mm)
		noteY += r.height()
	}
	y += mark.caps() + gap
	if end >= 0 {
		r := l.smallNote()
		d.textRight(r, in.x1, baseline(rows, end, y))
	}
	y = d.stack(rows, in.x0, y)
	if picture > 0 {
		d.sketch(l.Sketch, in.x0, y+sketchAir/2, in.width(), picture-sketchAir)
		y += picture
	}
	d.strip(l.Strip, in.x0, y+gap, in.width(), foot)
}

// freeEnd is the row that leaves room for the note at its right end, -1 for
// none: one of words before one of figures, which it could be mistaken for.
func (l Label) freeEnd(rows []row, width float64) int {
	const apart = 2.5 // millimetres
	found := -1
	for i, r := range rows {
		if r.width()+apart+l.smallNote().width() > width {
			continue
		}
		if !r.fractions {
			return i
		}
		found = i
	}
	return found
}

// smallNote is the note in the smallest type.
func (l Label) smallNote() row {
	return row{style: style{face: bold, pt: 6, fall: 6}, text: clean(l.aside())}
}

// baseline is where row i of a stack that begins at y stands.
func baseline(rows []row, i int, y float64) float64 {
	r := rows[i]
	return y + heightOf(rows[:i]) + r.caps() + (r.height()-r.caps())/2
}

// sketchAir is kept free above and below a sketch, together, in millimetres.
const sketchAir = 1.2

// sketchRoom is the height a sketch takes in a column, 0 for none: no more
// than a third, and nothing if a thing that matters more, or the type, would
// have to give way to it.
func (l Label) sketchRoom(width, height, scale float64) float64 {
	v, fits := l.Sketch.fit(width, height/3)
	if !fits {
		return 0
	}
	need := v.high() + 2*sketchLine + sketchAir
	trims := l.trims()
	_, plain := l.rows(width, height, scale, false)
	_, with := l.rows(width, height-need, scale, false)
	lost := func(i int) int {
		if i == len(trims) {
			return math.MaxInt
		}
		return trims[i].leave
	}
	if with == len(trims) || lost(with) > max(lost(plain), leaveJob) || trims[with].share*min(1, scale) < 0.85 && trims[with].share*scale < 1 {
		return 0
	}
	return need
}
