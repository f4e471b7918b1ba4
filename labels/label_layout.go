package labels

import (
	"math"
	"slices"
)

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
	if !whole {
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
	y = d.stack(rows, in.x0, y+mark.caps()+gap)
	if picture > 0 {
		d.sketch(l.Sketch, in.x0, y+sketchAir/2, in.width(), picture-sketchAir)
		y += picture
	}
	d.strip(l.Strip, in.x0, y+gap, in.width(), foot)
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

// tall lays a label out that is higher than wide: mark, name and note beside
// the code, the rest below it over the whole width, what stays free shared out
// above and below the sketch.
func (l Label) tall(d *drawing, beside, in area, top float64, c code) {
	scale := in.width() / 44
	beside.y0, beside.y1 = top, top+c.dark()
	l.tallHead(d, beside, min(scale, 1.8))

	y := top + c.dark() + max(c.margin(), 2*scale)
	foot := stripHeight(l.Strip, in.width(), 5*scale)
	bottom := in.y1 - foot
	rows := l.tallRows(in.width(), bottom-y, scale)
	y = d.stack(rows, in.x0, y)
	room := bottom - y - 2*sketchAir
	if v, fits := l.Sketch.fit(in.width(), room); fits {
		high := v.high() + 2*sketchLine
		caption := style{face: regular, pt: 7 * scale, fall: 6}.set("show face up, near edge below", in.width(), 1)
		if high+heightOf(caption) > room {
			caption = nil
		}
		y += sketchAir + (room-high-heightOf(caption))/2
		y += d.sketch(l.Sketch, in.x0, y, in.width(), room) + 0.5
		d.stack(caption, in.x0, y)
	}
	d.strip(l.Strip, in.x0, bottom, in.width(), foot)
}

// tallHead writes mark, note and name into the area beside the code.
func (l Label) tallHead(d *drawing, in area, scale float64) {
	mark := bigMark(l.Mark, in.width(), in.height()/2.6)
	d.text(mark, in.x0, in.y0+roundings+mark.caps())
	y := in.y0 + roundings + mark.caps() + 1.2*scale
	for _, share := range []float64{1, 0.85, 0.7, 0.55, 0} {
		pt := max(6, 9*scale*share)
		rows := style{face: bold, pt: pt, fall: 6}.set(l.aside(), in.width(), 2)
		rows = append(rows, style{face: regular, pt: pt, fall: 6}.set(l.Name, in.width(), 2)...)
		rows = append(rows, style{face: bold, pt: pt, fall: 6}.set(l.handWords(), in.width(), 1)...)
		if y+heightOf(rows) <= in.y1+0.5 || share == 0 {
			for len(rows) > 0 && y+heightOf(rows) > in.y1+0.5 {
				rows = rows[:len(rows)-1]
			}
			d.stack(rows, in.x0, y)
			return
		}
	}
}

// tallRows sets what stands below the code, each thing on lines of its own,
// smaller until it leaves the sketch its place, and fewer of them at last.
func (l Label) tallRows(width, height, scale float64) []row {
	sketch := 0.0
	if v, fits := l.Sketch.fit(width, height/2.5); fits {
		sketch = v.high() + 3*sketchAir
	}
	var things [][]row
	for _, share := range []float64{1, 0.9, 0.8, 0.7, 0.6} {
		pt := scale * share
		plain := style{face: regular, pt: max(6, 8*pt), fall: 6}
		things = [][]row{
			style{face: bold, pt: max(7, 11*pt), fall: 6, fractions: true}.set(l.Size, width, 2),
			style{face: regular, pt: max(7, 9*pt), fall: 6, fractions: true}.set(l.roughWords(), width, 2),
		}
		for _, text := range []string{l.placeWords(), l.Assembly, l.wood(), l.Job} {
			things = append(things, plain.set(text, width, 2))
		}
		if all := slices.Concat(things...); heightOf(all)+sketch <= height {
			return all
		}
	}
	var out []row
	for _, rows := range things {
		if heightOf(out)+heightOf(rows) > height {
			break
		}
		out = append(out, rows...)
	}
	return out
}
