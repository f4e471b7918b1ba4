package labels

import (
	"fmt"
	"io"
)

// calibrationSteps is what a person does with the calibration page.
var calibrationSteps = []string{
	"1. Print this page at 100 %, not “fit to page”, on the paper your labels come on.",
	"2. With a steel rule measure from the left edge of the paper to the middle of cross A: %s if the printer is right.",
	"3. Measure from the upper edge of the paper to the middle of cross A: %s.",
	"4. Measure from cross A to cross B: %s. Then from cross A to cross C: %s.",
	"5. Type the four lengths where the printer is set up (left, top, across, down), to half a millimetre or 1/64 in.",
	"6. Print one page of labels on plain paper and hold it with an empty sheet of labels against the light.",
}

// WriteCalibration writes a page to measure how far a printer is off: rulers
// in millimetres and inches along both axes, and three crosses whose distances
// AdjustFor turns into an Adjust. paper is "letter" or "a4".
func WriteCalibration(w io.Writer, paper string) error {
	pageW, pageH, err := pageSize(paper)
	if err != nil {
		return err
	}
	p := newPaper(pageW, pageH, "Printer check")
	p.page()
	p.draw(calibration(area{x1: pageW, y1: pageH}))
	return p.finish(w)
}

// calibration draws the page.
func calibration(page area) *drawing {
	d := &drawing{}
	from := inMM(crossFrom)
	right, foot := from+inMM(crossAcross), from+inMM(crossDown)
	for _, c := range []struct {
		name string
		x, y float64
	}{{"A", from, from}, {"B", right, from}, {"C", from, foot}} {
		d.cross(c.name, c.x, c.y)
	}
	// Rulers count from the paper's edges, so that a cut corner is seen too.
	d.ruler(40, false, page.x1, 1, 10, "mm")
	d.ruler(52, false, page.x1, inch/16, 16, "in")
	d.ruler(40, true, page.y1, 1, 10, "mm")
	d.ruler(58, true, page.y1, inch/16, 16, "in")

	in := area{78, 78, page.x1 - 15, page.y1}
	y := d.stack(style{face: bold, pt: 18, fall: 12}.set("Is the printer right?", in.width(), 1), in.x0, in.y0) + 3
	for i, text := range calibrationSteps {
		text = fillIn(i, text)
		y = d.stack(style{face: regular, pt: 11, fall: 10}.set(text, in.width(), 4), in.x0, y) + 2.5
	}
	y += 4
	for _, what := range []string{"left", "top", "across", "down"} {
		r := style{face: bold, pt: 13, fall: 10}.set(what, 30, 1)[0]
		d.text(r, in.x0, y+8)
		d.line(in.x0+25, y+9, in.x0+80, y+9, 0.3)
		y += 13
	}
	return d
}

// fillIn writes the true lengths into step i.
func fillIn(i int, text string) string {
	from, across, down := inMM(crossFrom), inMM(crossAcross), inMM(crossDown)
	both := func(v float64) string { return fmt.Sprintf("%g mm", v) }
	switch i {
	case 1, 2:
		return fmt.Sprintf(text, both(from))
	case 3:
		return fmt.Sprintf(text, both(across), both(down))
	}
	return text
}

// cross draws a cross with its name beside it.
func (d *drawing) cross(name string, x, y float64) {
	const arm = 7
	d.line(x-arm, y, x+arm, y, 0.15)
	d.line(x, y-arm, x, y+arm, 0.15)
	d.picture([]figure{{points: circle(0, 0, 1)}}, x, y, 3, 0.15)
	d.text(row{style: style{face: bold, pt: 14}, text: name}, x+3.5, y-3.5)
}

// ruler draws a ruler along an axis, at a distance from the other one: a tick
// for each unit, longer at halves of a number and longest, with its figure,
// after each number of them.
func (d *drawing) ruler(at float64, down bool, length, unit float64, number int, name string) {
	const line = 0.13
	put := func(from, a, b float64) {
		if down {
			d.line(a, from, b, from, line)
		} else {
			d.line(from, a, from, b, line)
		}
	}
	for i := 0; ; i++ {
		where := float64(i) * unit
		if where > length-unprintable {
			return
		}
		if where < unprintable || down && where > 36 && where < 68 { // where the other rulers lie
			continue
		}
		long := 2.0
		switch {
		case i%number == 0:
			long = 5
			d.figureAt(at, where, down, i, number, name)
		case i%(number/2) == 0:
			long = 3.5
		}
		put(where, at, at+long)
	}
}

// figureAt writes the figure of a long tick.
func (d *drawing) figureAt(at, where float64, down bool, i, number int, name string) {
	count := i / number
	text := fmt.Sprint(count)
	if name == "mm" {
		text = fmt.Sprint(i)
	}
	if count == 1 {
		text += " " + name
	}
	r := row{style: style{face: regular, pt: 7}, text: text}
	if down {
		d.text(r, at+5.6, where+r.caps()/2)
		return
	}
	d.textCentre(r, where, at+5.6+r.caps())
}
