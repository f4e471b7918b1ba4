package labels

import (
	"math"
	"slices"

	"benchtally/parts"
)

// Sketch is what the picture of a part is drawn from: the part to scale, as it
// lies with its show face up and its near edge towards who looks at it.
type Sketch struct {
	Length parts.Length `json:"length"`
	Width  parts.Length `json:"width"`
	Thick  parts.Length `json:"thick,omitempty"`
	Holes  []parts.Hole `json:"holes,omitempty"` // as they are on this part; of a right part those of the mirrored pattern
	Seat   parts.Face   `json:"seat,omitempty"`  // the face the label sits on; "" when it is not on the part
	Grain  parts.Grain  `json:"grain,omitempty"` // which way it runs; "" for no arrow
}

// A sketch is at least so wide and its show face at least so high that its
// holes can be told apart, in millimetres; between the views is a gap. A view
// of the edge thinner than leastEdge is left out.
const (
	leastSketchW = 18.0
	leastSketchH = 1.5
	leastEdge    = 0.9
	viewGap      = 1.0
	sketchLine   = 0.18
	leastHole    = 0.45 // diameter that a hole is drawn with at least
)

// views is how a sketch lies on paper: its scale and the height of its two
// views, that of the show face and below it that of the near edge.
type views struct {
	scale            float64 // millimetres on paper for one of the part
	long, wide, thin float64
}

// high is the height of both views.
func (v views) high() float64 {
	if v.thin == 0 {
		return v.wide
	}
	return v.wide + viewGap + v.thin
}

// fit lays a sketch into a width and height. It is nothing when the part is
// too slender to be told from a line there.
func (s *Sketch) fit(w, h float64) (views, bool) {
	if s == nil || s.Length <= 0 || s.Width <= 0 || w < leastSketchW {
		return views{}, false
	}
	w -= 2 * sketchLine
	h -= 2 * sketchLine
	length, width, thick := inMM(s.Length), inMM(s.Width), inMM(s.Thick)
	k := min(w/length, h/width)
	if thick > 0 {
		if both := min(w/length, (h-viewGap)/(width+thick)); thick*both >= leastEdge {
			return views{both, length * both, width * both, thick * both}, width*both >= leastSketchH
		}
	}
	return views{scale: k, long: length * k, wide: width * k}, width*k >= leastSketchH
}

// sketch draws a part with its upper left corner at x, y, as large as w and h
// allow, and returns the height it took.
func (d *drawing) sketch(s *Sketch, x, y, w, h float64) float64 {
	v, fits := s.fit(w, h)
	if !fits {
		return 0
	}
	d.picture(s.figures(v), x+sketchLine, y+sketchLine, 1, sketchLine)
	if at, room := s.seatWord(v); room {
		d.text(seatWord, x+sketchLine+at.x0, y+sketchLine+at.y1)
	}
	return v.high() + 2*sketchLine
}

// figures is the picture in millimetres on paper from its upper left corner.
// A view's far edge is at the top.
func (s *Sketch) figures(v views) []figure {
	top := v.wide + viewGap
	out := []figure{outline(0, 0, v.long, v.wide)}
	if v.thin > 0 {
		out = append(out, outline(0, top, v.long, top+v.thin))
	}
	for _, h := range s.Holes {
		out = append(out, s.hole(h, v)...)
		if v.thin > 0 && h.Into == parts.IntoNearEdge {
			x, z := s.from(h.Along, h.FromFar, s.Length)*v.scale, s.from(h.Across, h.AcrossFar, s.Thick)*v.scale
			out = append(out, disc(x, top+z, s.rim(h, v)))
		}
	}
	out = append(out, s.seat(v)...)
	return append(out, s.grain(v)...)
}

// from is a distance in millimetres from the side that places are measured
// from: zero is the middle.
func (s *Sketch) from(l parts.Length, far bool, size parts.Length) float64 {
	switch {
	case l == 0:
		return inMM(size) / 2
	case far:
		return inMM(size - l)
	}
	return inMM(l)
}

// rim is the radius of a hole on paper.
func (s *Sketch) rim(h parts.Hole, v views) float64 {
	return max(inMM(h.Diameter)*v.scale, leastHole) / 2
}

// hole draws a hole into the view of the show face: from above as a disc, from
// below as a ring, right through as a ring with a cross, and from an edge or an
// end as a bar as deep as it is.
func (s *Sketch) hole(h parts.Hole, v views) []figure {
	r, deep := s.rim(h, v), inMM(h.Depth)*v.scale
	x := s.from(h.Along, h.FromFar, s.Length) * v.scale
	y := v.wide - s.from(h.Across, h.AcrossFar, s.Width)*v.scale
	end := v.wide - s.from(h.Along, h.FromFar, s.Width)*v.scale // an end's Along runs across
	through := h.Depth == 0
	switch h.Into {
	case parts.IntoNearEdge, parts.IntoFarEdge:
		if through {
			deep = v.wide
		}
		if h.Into == parts.IntoNearEdge {
			return []figure{bar(x-r, v.wide-min(deep, v.wide), x+r, v.wide)}
		}
		return []figure{bar(x-r, 0, x+r, min(deep, v.wide))}
	case parts.IntoLeftEnd, parts.IntoRightEnd:
		if through {
			deep = v.long
		}
		if h.Into == parts.IntoLeftEnd {
			return []figure{bar(0, end-r, min(deep, v.long), end+r)}
		}
		return []figure{bar(v.long-min(deep, v.long), end-r, v.long, end+r)}
	}
	switch {
	case through:
		arm := 1.5 * r
		return []figure{{points: circle(x, y, r)}, {points: []point{{max(0, x-arm), y}, {min(v.long, x+arm), y}}}, {points: []point{{x, max(0, y-arm)}, {x, min(v.wide, y+arm)}}}}
	case h.Into == parts.IntoBack:
		return []figure{{points: circle(x, y, r)}}
	}
	return []figure{disc(x, y, r)}
}

// seatSlip is where the slip of a label on the show face or the back is drawn.
func seatSlip(v views) area {
	w, h := min(0.22*v.long, 9), min(0.6*v.wide, 4.0)
	x, y := (v.long-w)/2, (v.wide-h)/2
	return area{x, y, x + w, y + h}
}

// seat marks where the label sits: a slip on the show face, the same dotted on
// the back, a thick line along an edge or at an end.
func (s *Sketch) seat(v views) []figure {
	slip := seatSlip(v)
	x, y, w, h := slip.x0, slip.y0, slip.width(), slip.height()
	const thick = 0.5 // of the line along an edge
	switch s.Seat {
	case parts.ShowFace:
		f := outline(x, y, x+w, y+h)
		return []figure{f, {points: []point{{x, y}, {x + w, y + h}}}, {points: []point{{x, y + h}, {x + w, y}}}}
	case parts.BackFace:
		return dotted(x, y, x+w, y+h)
	case parts.Edges:
		return []figure{bar(x, v.wide-thick, x+w, v.wide)}
	case parts.Ends:
		return []figure{bar(0, 0.2*v.wide, thick, 0.8*v.wide)}
	}
	return nil
}

// seatWord is what is written in the slip, or beside one that is too low.
var seatWord = row{style: style{face: regular, pt: 6}, text: "label"}

// seatWord is where the word is written, false where neither the slip nor the
// face beside it has room.
func (s *Sketch) seatWord(v views) (area, bool) {
	const air = 0.3
	slip, w, h := seatSlip(v), seatWord.width(), seatWord.caps()
	if s.Seat != parts.BackFace {
		return area{}, false
	}
	middle := (slip.y0 + slip.y1 + h) / 2
	if slip.width() >= w+2*air && slip.height() >= h+2*air {
		x := (slip.x0 + slip.x1 - w) / 2
		return area{x, middle - h, x + w, middle}, true
	}
	for _, x := range []float64{slip.x1 + 2*air, slip.x0 - 2*air - w} {
		at := area{x, middle - h, x + w, middle}
		inside := at.x0 >= air && at.x1 <= v.long-air && at.y0 >= air/2 && at.y1 <= v.wide-air/2
		if inside && !slices.ContainsFunc(s.drawnHoles(v), at.meets) {
			return at, true
		}
	}
	return area{}, false
}

// outline and bar are an empty and a filled rectangle, disc a filled circle.
func outline(x0, y0, x1, y1 float64) figure {
	return figure{points: []point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}, {x0, y0}}}
}

func bar(x0, y0, x1, y1 float64) figure {
	return figure{points: []point{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, filled: true}
}

func disc(x, y, r float64) figure { return figure{points: circle(x, y, r), filled: true} }

// circle is a closed line of short chords.
func circle(x, y, r float64) []point {
	const chords = 16
	out := make([]point, chords+1)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i%chords) / chords)
		out[i] = point{x + r*cos, y + r*sin}
	}
	return out
}

// dotted is a rectangle of dots, for what lies behind.
func dotted(x0, y0, x1, y1 float64) []figure {
	const apart = 0.7
	var out []figure
	side := func(a, b point) {
		n := max(1, int(math.Hypot(b.x-a.x, b.y-a.y)/apart+0.5))
		for i := range n {
			t := float64(i) / float64(n)
			x, y := a.x+(b.x-a.x)*t, a.y+(b.y-a.y)*t
			out = append(out, bar(x-0.06, y-0.06, x+0.06, y+0.06))
		}
	}
	side(point{x0, y0}, point{x1, y0})
	side(point{x1, y0}, point{x1, y1})
	side(point{x1, y1}, point{x0, y1})
	side(point{x0, y1}, point{x0, y0})
	return out
}
