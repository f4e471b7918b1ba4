package labels

import (
	"fmt"
	"io"
	"iter"
	"math"

	"benchtally/parts"
)

// Say gives an English text or format in the language of a paper.
type Say func(english string) string

// English says a text as it stands.
func English(text string) string { return text }

// calibrationSteps is what a person does with the calibration page.
func calibrationSteps(say Say, right Measured) []string {
	return []string{
		say("1. Print this page at 100 %, not “fit to page”, on the paper your labels come on."),
		fmt.Sprintf(say("2. With a steel rule measure from the left edge of the paper to the middle of cross A: %s if the printer is right."), inWords(right.Left)),
		fmt.Sprintf(say("3. Measure from the upper edge of the paper to the middle of cross A: %s."), inWords(right.Top)),
		fmt.Sprintf(say("4. Measure from cross A to cross B: %s. Then from cross A to cross C: %s."), inWords(right.Across), inWords(right.Down)),
		say("5. Type the four lengths where the printer is set up, to half a millimetre or 1/64 in."),
		say("6. Print one page of labels on plain paper and hold it with an empty sheet of labels against the light."),
	}
}

// WriteCalibration writes a page to measure how far a printer is off on a
// format: rulers in millimetres, on large paper also in inches, and three
// crosses whose distances AdjustFor turns into an Adjust. The page of a roll is
// one of its labels.
func WriteCalibration(w io.Writer, f Format, say Say) error {
	if err := CheckFormat(f); err != nil {
		return err
	}
	page := area{x1: inMM(f.PageW), y1: inMM(f.PageH)}
	p := newPaper(page.x1, page.y1, say("Printer check"))
	p.page()
	if f.Kind == OnRoll || page.x1 < 200 || page.y1 < 265 {
		p.draw(smallCalibration(page, f.Right(), say))
	} else {
		p.draw(calibration(page, f.Right(), say))
	}
	return p.finish(w)
}

// crosses draws the three crosses of a page with arms of a length.
func (d *drawing) crosses(right Measured, arm float64) {
	x, y := inMM(right.Left), inMM(right.Top)
	d.cross("A", x, y, arm)
	d.cross("B", x+inMM(right.Across), y, arm)
	d.cross("C", x, y+inMM(right.Down), arm)
}

// calibration draws the page of a page printer.
func calibration(page area, right Measured, say Say) *drawing {
	d := &drawing{}
	d.crosses(right, 7)
	// Rulers count from the paper's edges, so that a cut corner is seen too.
	d.ruler(40, unprintable, page.x1-unprintable, 1, 10, "mm")
	d.ruler(52, unprintable, page.x1-unprintable, inch/16, 16, "in")
	for _, reach := range [][2]float64{{unprintable, 36}, {68, page.y1 - unprintable}} { // the other rulers lie between
		d.rulerDown(40, reach[0], reach[1], 1, 10, "mm")
		d.rulerDown(58, reach[0], reach[1], inch/16, 16, "in")
	}

	in := area{78, 78, page.x1 - 15, page.y1}
	y := d.stack(style{face: bold, pt: 18, fall: 12}.set(say("Is the printer right?"), in.width(), 1), in.x0, in.y0) + 3
	for _, text := range calibrationSteps(say, right) {
		y = d.stack(style{face: regular, pt: 11, fall: 10}.set(text, in.width(), 4), in.x0, y) + 2.5
	}
	y += 4
	for _, what := range []string{say("Left"), say("Top"), say("A to B"), say("A to C")} {
		r := style{face: bold, pt: 13, fall: 10}.set(what, 30, 1)[0]
		d.text(r, in.x0, y+8)
		d.line(in.x0+25, y+9, in.x0+80, y+9, 0.3)
		y += 13
	}
	return d
}

// inWords is a length as it is read off a rule.
func inWords(l parts.Length) string { return fmt.Sprintf("%g mm", inMM(l)) }

// smallCalibration draws the page of a label printer: the crosses in its
// corners, a ruler across below the upper ones, one down where there is room,
// and the lengths to measure; on a low label between the upper crosses.
func smallCalibration(page area, right Measured, say Say) *drawing {
	const arm, least = 3.0, 1.0
	d := &drawing{}
	d.crosses(right, arm)
	left, at := inMM(right.Left)+arm+1, inMM(right.Top)+arm+0.6
	from := least
	if page.y1 < 24 {
		from = left // beside the cross C
	}
	d.ruler(at, from, page.x1-least, 1, 10, "mm")
	texts := []string{fmt.Sprintf(say("Left edge to A: %s"), inWords(right.Left)), fmt.Sprintf(say("Upper edge to A: %s"), inWords(right.Top)),
		fmt.Sprintf(say("A across to B: %s"), inWords(right.Across)), fmt.Sprintf(say("A down to C: %s"), inWords(right.Down))}
	in := area{left + 0.5, at + 8.2, page.x1 - 1.5, page.y1 - 0.8}
	switch {
	case page.y1 < 30:
		in = area{left + 2, 0.8, left + inMM(right.Across) - 2*arm - 1.5, at - 0.4}
		texts = []string{"A–B " + inWords(right.Across), "A–C " + inWords(right.Down)}
	case page.y1 >= 48:
		d.rulerDown(left, at+9, page.y1-least, 1, 10, "mm")
		in.x0, in.y0 = in.x0+11, in.y0+2
	}
	size := style{face: bold, pt: min(11, max(6, in.height()/5/mm/1.2)), fall: 6}
	var rows []row
	for _, text := range texts {
		rows = append(rows, size.set(text, in.width(), 1)...)
	}
	d.stack(rows, in.x0, in.y0)
	return d
}

// cross draws a cross with its name beside it.
func (d *drawing) cross(name string, x, y, arm float64) {
	d.line(x-arm, y, x+arm, y, 0.15)
	d.line(x, y-arm, x, y+arm, 0.15)
	d.picture([]figure{{points: circle(0, 0, 1)}}, x, y, arm*3/7, 0.15)
	d.text(row{style: style{face: bold, pt: 2 * arm}, text: name}, x+arm/2, y-arm/2)
}

// ruler draws a ruler across with its ticks at a height, from one place to
// another: a tick for each unit from the page's edge, longer at halves of a
// number and longest, with its figure, after each number of them.
func (d *drawing) ruler(at, from, to, unit float64, number int, name string) {
	for i, where := range ticks(from, to, unit) {
		d.line(where, at, where, at+tickLength(i, number), tickLine)
		if i%number == 0 {
			r := figureOf(i, number, name)
			if where-r.width()/2 < from { // no room for its unit
				r.text = fmt.Sprint(i)
			}
			if left := where - r.width()/2; left > from-0.2 && left+r.width() < to+0.2 {
				d.text(r, left, at+5.6+r.caps())
			}
		}
	}
}

// rulerDown is ruler along the other axis.
func (d *drawing) rulerDown(at, from, to, unit float64, number int, name string) {
	for i, where := range ticks(from, to, unit) {
		d.line(at, where, at+tickLength(i, number), where, tickLine)
		if i%number == 0 {
			r := figureOf(i, number, name)
			d.text(r, at+5.6, where+r.caps()/2)
		}
	}
}

// tickLine is how thick a tick is, in millimetres.
const tickLine = 0.13

// ticks gives the ticks of a ruler by their numbers, with where each is.
func ticks(from, to, unit float64) iter.Seq2[int, float64] {
	return func(yield func(int, float64) bool) {
		for i := int(math.Ceil(from/unit - 1e-9)); float64(i)*unit <= to+1e-9; i++ {
			if !yield(i, float64(i)*unit) {
				return
			}
		}
	}
}

// tickLength is how long tick i is, in millimetres.
func tickLength(i, number int) float64 {
	switch {
	case i%number == 0:
		return 5
	case i%(number/2) == 0:
		return 3.5
	}
	return 2
}

// figureOf is the figure of a long tick.
func figureOf(i, number int, name string) row {
	count := i / number
	text := fmt.Sprint(count)
	if name == "mm" {
		text = fmt.Sprint(i)
	}
	if count == 1 {
		text += " " + name
	}
	return row{style: style{face: regular, pt: 7}, text: text}
}
