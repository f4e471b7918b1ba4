package labels

import "slices"

// tall lays a label out that is higher than wide: the code with name and note
// beside it, below them the mark over the whole width, both to be read from a
// step away, and then the rest. What stays free is shared out above and below
// the sketch.
func (l Label) tall(d *drawing, beside, in area, top float64, c code) {
	scale := in.width() / 44
	beside.y0, beside.y1 = top, top+c.dark()
	named := l.tallHead(d, beside, min(scale, 1.8))

	y := top + c.dark() + max(c.margin()+roundings, 2*scale)
	mark := bigMark(l.Mark, 0.985*in.width(), tallMark*in.width()) // large letters lean out of their boxes
	d.text(mark, in.x0, y+mark.caps())
	y += mark.caps() + 1.2*scale
	foot := stripHeight(l.Strip, in.width(), 5*scale)
	bottom := in.y1 - foot
	rows := l.tallRows(in.width(), bottom-y-roundings, scale, !named)
	y = d.stack(rows, in.x0, y)
	room := bottom - y - 2*sketchAir
	if v, fits := l.Sketch.fit(in.width(), room); fits {
		high := v.high() + 2*sketchLine
		caption := sketchCaption(in.width(), scale)
		if high+heightOf(caption) > room {
			caption = nil
		}
		y += sketchAir + (room-high-heightOf(caption))/2
		y += d.sketch(l.Sketch, in.x0, y, in.width(), room) + 0.5
		d.stack(caption, in.x0, y)
	}
	d.strip(l.Strip, in.x0, bottom, in.width(), foot)
}

// tallMark is how high the mark of a tall label is at most, as a share of the
// width.
const tallMark = 0.2

// sketchCaption says how the part lies in its sketch.
func sketchCaption(width, scale float64) []row {
	return style{face: regular, pt: 7 * scale, fall: 6}.set("show face up, near edge below", width, 1)
}

// tallHead writes name, hand and note into the area beside the code, the name
// as large as they leave it. It tells whether the name found a place there: a
// long one stands below the mark over the whole width.
func (l Label) tallHead(d *drawing, in area, scale float64) (named bool) {
	for _, try := range []struct {
		pt    float64
		named bool
	}{{18, true}, {16, true}, {14, true}, {12, true}, {10.5, true}, {9, true}, {9, false}, {7.5, false}, {6, false}} {
		rows, whole := l.besideCode(in.width(), max(6, try.pt*scale), scale, try.named)
		last := try.pt == 6
		for last && heightOf(rows) > in.height() {
			rows = rows[:len(rows)-1]
		}
		if last || whole && heightOf(rows) <= in.height() {
			d.stack(rows, in.x0, in.y0)
			return try.named
		}
	}
	return false
}

// besideCode sets what stands beside the code. It is not whole when something
// had to be cut off.
func (l Label) besideCode(width, pt, scale float64, named bool) (rows []row, whole bool) {
	if named {
		rows = style{face: bold, pt: pt, fall: pt}.set(l.Name, width, 3)
	}
	small := min(pt, 10*scale)
	strong := style{face: bold, pt: small, fall: max(6, 0.8*small)}
	rows = append(rows, strong.set(l.handWords(), width, 2)...)
	rows = append(rows, strong.set(l.aside(), width, 3)...)
	return rows, !anyCut(rows)
}

// tallRows sets what stands below the code, each thing on lines of its own: as
// large as leaves the sketch its place, and fewer of them at last.
func (l Label) tallRows(width, height, scale float64, named bool) []row {
	sketch := 0.0
	if v, fits := l.Sketch.fit(width, height/5); fits {
		sketch = min(v.high()+heightOf(sketchCaption(width, scale)), height/5) + 2*sketchAir
	}
	var things [][]row
	for _, share := range []float64{1.8, 1.4, 1.2, 1, 0.9, 0.8, 0.7, 0.6} {
		if share > 1.2 && sketch > 0 { // what the words leave makes the sketch larger
			continue
		}
		things = l.tallThings(width, scale*share, named)
		if heightOf(slices.Concat(things...))+sketch <= height {
			return slices.Concat(things...)
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

// tallThings sets each thing that stands below the code, in the order of need.
func (l Label) tallThings(width, scale float64, named bool) [][]row {
	plain := style{face: regular, pt: max(6, 8*scale), fall: 6}
	var out [][]row
	if named {
		out = append(out, style{face: bold, pt: max(6.5, 12*scale), fall: 6}.set(l.Name, width, 2))
	}
	return append(out,
		style{face: bold, pt: max(7, 11*scale), fall: 6, fractions: true}.set(l.Size, width, 2),
		style{face: regular, pt: max(7, 9*scale), fall: 6, fractions: true}.set(l.roughWords(), width, 2),
		l.place(style{face: bold, pt: plain.pt, fall: 6}, width, 2), plain.set(l.Assembly, width, 2), l.wood(plain, width, 2), plain.set(l.Job, width, 2))
}
