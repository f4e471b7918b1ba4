package labels

import "slices"

// tall lays a label out that is higher than wide: mark, name and note beside
// the code, the rest below it over the whole width, what stays free shared out
// above and below the sketch.
func (l Label) tall(d *drawing, beside, in area, top float64, c code) {
	scale := in.width() / 44
	beside.y0, beside.y1 = top, top+c.dark()
	named := l.tallHead(d, beside, min(scale, 1.8))

	y := top + c.dark() + max(c.margin(), 2*scale)
	foot := stripHeight(l.Strip, in.width(), 5*scale)
	bottom := in.y1 - foot
	rows := l.tallRows(in.width(), bottom-y, scale, !named)
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

// sketchCaption says how the part lies in its sketch.
func sketchCaption(width, scale float64) []row {
	return style{face: regular, pt: 7 * scale, fall: 6}.set("show face up, near edge below", width, 1)
}

// tallHead writes mark, note, name and hand into the area beside the code, the
// mark as high as the rest leaves it. It tells whether the name found a place
// there: a long one stands below the code in larger type.
func (l Label) tallHead(d *drawing, in area, scale float64) (named bool) {
	air := roundings + 1.2*scale
	least, most := in.height()/2.6, in.height()/1.7
	for _, try := range []struct {
		share float64
		named bool
	}{{1, true}, {0.85, true}, {0.7, true}, {1, false}, {0.85, false}, {0.7, false}, {0, false}} {
		rows, whole := l.besideCode(in.width(), max(6, 9*scale*try.share), try.named)
		for try.share == 0 && heightOf(rows)+least+air > in.height() {
			rows = rows[:len(rows)-1]
		}
		room := in.height() - air - heightOf(rows)
		if try.share > 0 && (!whole || room < least) {
			continue
		}
		mark := bigMark(l.Mark, 0.985*in.width(), min(room, most)) // large letters lean out of their boxes
		d.text(mark, in.x0, in.y0+roundings+mark.caps())
		d.stack(rows, in.x0, in.y0+air+mark.caps())
		return try.named
	}
	return false
}

// besideCode sets what stands below the mark, beside the code. It is not whole
// when something had to be cut off.
func (l Label) besideCode(width, pt float64, named bool) (rows []row, whole bool) {
	fall := max(6, 0.9*pt)
	strong := style{face: bold, pt: pt, fall: fall}
	if named {
		rows = style{face: regular, pt: pt, fall: fall}.set(l.Name, width, 2)
	}
	rows = append(rows, strong.set(l.handWords(), width, 1)...)
	rows = append(rows, strong.set(l.aside(), width, 2)...)
	return rows, !anyCut(rows)
}

// tallRows sets what stands below the code, each thing on lines of its own: as
// large as leaves the sketch its place, and fewer of them at last.
func (l Label) tallRows(width, height, scale float64, named bool) []row {
	sketch := 0.0
	if v, fits := l.Sketch.fit(width, height/2.5); fits {
		sketch = v.high() + 3*sketchAir + heightOf(sketchCaption(width, scale))
	}
	var things [][]row
	for _, share := range []float64{1.4, 1.2, 1, 0.9, 0.8, 0.7, 0.6} {
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
		out = append(out, style{face: bold, pt: max(6.5, 9*scale), fall: 6}.set(l.Name, width, 2))
	}
	return append(out,
		style{face: bold, pt: max(7, 11*scale), fall: 6, fractions: true}.set(l.Size, width, 2),
		style{face: regular, pt: max(7, 9*scale), fall: 6, fractions: true}.set(l.roughWords(), width, 2),
		l.place(plain, width, 2), plain.set(l.Assembly, width, 2), l.wood(plain, width, 2), plain.set(l.Job, width, 2))
}
