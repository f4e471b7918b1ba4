package labels

import (
	"fmt"
	"html"
	"slices"
	"strings"

	"benchtally/parts"
)

// The notched strip is a stick seen from the side: a notch cut into its upper
// edge for each step, a nick into its lower edge where there was rework. The
// figures below are in units of a twentieth of the stick's height, and the
// proportions are the same on paper and on a screen, at every size.
const (
	stickHeight = 20.0
	stickEnd    = 6.0  // plain wood before the first and after the last notch
	notchPitch  = 16.0 // from notch to notch
	notchTop    = 5.5  // half the width of a notch at the edge
	notchFloor  = 3.5  // and at its floor
	notchDepth  = 11.0
	nickHalf    = 4.0
	nickHeight  = 5.5
	breakGap    = 11.0 // between the halves of a broken stick
	stickLine   = 1.2
	stickBleed  = 1.0 // room round the stick for half its line
)

// point is a place in the picture, x to the right and y down.
type point struct{ x, y float64 }

// figure is a line through points, or an area with a line round it.
type figure struct {
	class  string
	points []point
	filled bool
}

// The classes of figures, for a page's style sheet.
const (
	classStick   = "stick"
	classOpen    = "open"
	classDone    = "done"
	classUnsaid  = "unrecorded"
	classWaiting = "waiting"
	classNick    = "nick"
)

// stickLength is the natural length of a strip's picture.
func stickLength(s parts.Strip) float64 {
	length := 2*stickEnd + notchPitch*float64(len(s.Notches))
	if s.Broken {
		length += breakGap
	}
	return length
}

// breakAt is the number of notches before the break of a broken strip: it
// broke after the last step that was begun.
func breakAt(s parts.Strip) int {
	for i := len(s.Notches); i > 0; i-- {
		if s.Notches[i-1].Shape != parts.OpenNotch {
			return i
		}
	}
	return 0
}

// stripFigures is the picture of a strip. Empty for a strip without notches.
func stripFigures(s parts.Strip) []figure {
	n := len(s.Notches)
	if n == 0 {
		return nil
	}
	if !s.Broken {
		return append(stick(0, n, 0, false, false), notches(s.Notches, 0, 0)...)
	}
	k := breakAt(s)
	out := append(stick(0, k, 0, false, true), notches(s.Notches[:k], 0, 0)...)
	out = append(out, stick(k, n, breakGap, true, false)...)
	return append(out, notches(s.Notches[k:], k, breakGap)...)
}

// centre is the middle of notch i.
func centre(i int) float64 { return stickEnd + notchPitch*(float64(i)+0.5) }

// stick draws the plain wood round the notches from one to another, moved right
// by shift: the upper edge between notches, then the ends and the lower edge in
// one line. The ends may be broken.
func stick(from, to int, shift float64, brokenLeft, brokenRight bool) []figure {
	left := end(shift)
	if brokenLeft {
		left = jag(shift + stickEnd + notchPitch*float64(from) - 4)
	}
	right := end(shift + 2*stickEnd + notchPitch*float64(to))
	if brokenRight {
		right = jag(shift + stickEnd + notchPitch*float64(to) - 0.5)
	}
	slices.Reverse(right)
	around := append(left, right...)
	if from == to {
		return []figure{{class: classStick, points: append(around, left[0])}}
	}
	var out []figure
	first, last := shift+centre(from)-notchTop, shift+centre(to-1)+notchTop
	for i := from + 1; i < to; i++ {
		out = append(out, figure{class: classStick, points: []point{
			{shift + centre(i-1) + notchTop, 0}, {shift + centre(i) - notchTop, 0}}})
	}
	around = append([]point{{first, 0}}, around...)
	return append(out, figure{class: classStick, points: append(around, point{last, 0})})
}

// end is a plain end of a stick at x from top to bottom.
func end(x float64) []point { return []point{{x, 0}, {x, stickHeight}} }

// jag is a broken end at x from top to bottom, with splinters of four units to
// the right. Both sides of a break have the same, so that they would fit.
func jag(x float64) []point {
	return []point{{x + 2, 0}, {x + 5, 0.3 * stickHeight}, {x, 0.5 * stickHeight}, {x + 5, 0.75 * stickHeight}, {x + 2, stickHeight}}
}

// notches draws notches, the first of which is number first, moved right by
// shift.
func notches(list []parts.Notch, first int, shift float64) []figure {
	var out []figure
	for i, n := range list {
		c := shift + centre(first+i)
		cut := []point{{c - notchTop, 0}, {c - notchFloor, notchDepth}, {c + notchFloor, notchDepth}, {c + notchTop, 0}}
		switch n.Shape {
		case parts.FilledNotch:
			out = append(out, figure{classDone, cut, true})
		case parts.DottedNotch:
			out = append(out, dots(cut)...)
		case parts.HatchedNotch:
			out = append(out, figure{classWaiting, cut, false})
			out = append(out, hatch(c)...)
		default:
			out = append(out, figure{classOpen, cut, false})
		}
		if n.Nick {
			out = append(out, figure{classNick, []point{
				{c - nickHalf, stickHeight}, {c, stickHeight - nickHeight}, {c + nickHalf, stickHeight}}, true})
		}
	}
	return out
}

// dots sets small areas along the outline of a notch, which their line makes
// round. A dash pattern would look different in each format.
func dots(cut []point) []figure {
	const half, apart = 0.25, 3.7
	var out []figure
	dot := func(x, y float64) {
		out = append(out, figure{classUnsaid, []point{
			{x - half, y - half}, {x + half, y - half}, {x + half, y + half}, {x - half, y + half}}, true})
	}
	for i := 1; i < len(cut); i++ {
		a, b := cut[i-1], cut[i]
		long := max(b.x-a.x, b.y-a.y, a.y-b.y) // the sides are nearly upright
		count := int(long/apart + 0.5)
		for k := range count {
			t := float64(k) / float64(count)
			dot(a.x+(b.x-a.x)*t, a.y+(b.y-a.y)*t)
		}
	}
	dot(cut[len(cut)-1].x, cut[len(cut)-1].y)
	return out
}

// hatch fills the notch at c with slanting lines, each from wall or edge to
// wall or floor.
func hatch(c float64) []figure {
	const apart, lean = 3.6, 0.8 // lean is x gained per y lost
	wall := func(y float64) float64 { return notchTop - (notchTop-notchFloor)*y/notchDepth }
	var out []figure
	for foot := -notchFloor - lean*notchDepth + apart/2; foot < notchFloor; foot += apart {
		// The line is x = foot + lean*(depth-y). Walk it down to find where it
		// is inside the notch; a quarter of a unit is finer than any printer.
		var line []point
		for y := 0.0; y <= notchDepth; y += 0.25 {
			if x := foot + lean*(notchDepth-y); x >= -wall(y) && x <= wall(y) {
				line = append(line, point{c + x, y})
			}
		}
		if len(line) > 4 {
			out = append(out, figure{classWaiting, []point{line[0], line[len(line)-1]}, false})
		}
	}
	return out
}

// stripScale is the scale at which a strip fills w or h millimetres.
func stripScale(s parts.Strip, w, h float64) float64 {
	return min(w/(stickLength(s)+2*stickBleed), h/(stickHeight+2*stickBleed))
}

// stripHeight is the height in millimetres of a strip drawn into w and h.
func stripHeight(s parts.Strip, w, h float64) float64 {
	if len(s.Notches) == 0 {
		return 0
	}
	return (stickHeight + 2*stickBleed) * stripScale(s, w, h)
}

// StripSVG draws the notched strip for a web page in the text's own colour,
// one path for each state so that a style sheet can tint them: stick, open,
// done, unrecorded, waiting, nick. It says in words what it shows. A strip
// without notches is the empty string.
func StripSVG(strip parts.Strip) string {
	if len(strip.Notches) == 0 {
		return ""
	}
	lines, areas := map[string][]byte{}, map[string][]byte{}
	for _, f := range stripFigures(strip) {
		if f.filled {
			areas[f.class] = appendFigure(areas[f.class], f)
		} else {
			lines[f.class] = appendFigure(lines[f.class], f)
		}
	}
	w, h := stickLength(strip)+2*stickBleed, stickHeight+2*stickBleed
	class := "strip"
	if strip.Broken {
		class += " broken"
	}
	title := html.EscapeString(stripWords(strip))
	var out strings.Builder
	fmt.Fprintf(&out, `<svg xmlns="http://www.w3.org/2000/svg" class="%s" width="%g" height="%g" viewBox="%g %g %g %g" stroke-width="%g" stroke-linejoin="round" role="img" aria-label="%s"><title>%s</title>`,
		class, w, h, -stickBleed, -stickBleed, w, h, stickLine, title, title)
	for _, c := range []string{classStick, classOpen, classDone, classUnsaid, classWaiting, classNick} {
		if d := areas[c]; d != nil {
			fmt.Fprintf(&out, `<path class="%s" fill="currentColor" stroke="currentColor" d="%s"/>`, c, d)
		}
		if d := lines[c]; d != nil {
			fmt.Fprintf(&out, `<path class="%s" fill="none" stroke="currentColor" d="%s"/>`, c, d)
		}
	}
	out.WriteString("</svg>")
	return out.String()
}

// appendFigure writes a figure as path data, each point by its way from the
// last: equal notches then read alike, which compresses well.
func appendFigure(out []byte, f figure) []byte {
	at := f.points[0]
	out = append(appendNumber(append(out, 'M'), at.x), ' ')
	out = appendNumber(out, at.y)
	for _, p := range f.points[1:] {
		switch dx, dy := p.x-at.x, p.y-at.y; {
		case dy == 0:
			out = appendNumber(append(out, 'h'), dx)
		case dx == 0:
			out = appendNumber(append(out, 'v'), dy)
		default:
			out = append(appendNumber(append(out, 'l'), dx), ' ')
			out = appendNumber(out, dy)
		}
		at = p
	}
	if f.filled {
		out = append(out, 'z')
	}
	return out
}

// stripWords says what a strip shows: "5 of 12 steps done, 1 waiting".
func stripWords(s parts.Strip) string {
	var done, unsaid, waiting, rework int
	for _, n := range s.Notches {
		switch n.Shape {
		case parts.FilledNotch:
			done++
		case parts.DottedNotch:
			done++
			unsaid++
		case parts.HatchedNotch:
			waiting++
		}
		if n.Nick {
			rework++
		}
	}
	words := fmt.Sprintf("%d of %d steps done", done, len(s.Notches))
	for _, more := range []struct {
		count int
		what  string
	}{{unsaid, "not recorded"}, {waiting, "waiting"}, {rework, "with rework"}} {
		if more.count > 0 {
			words += fmt.Sprintf(", %d %s", more.count, more.what)
		}
	}
	if s.Broken {
		words += ", scrapped"
	}
	return words
}
