package labels

import (
	"slices"

	"benchtally/parts"
)

// The arrow of the grain in a sketch, in millimetres: its longest ways, its
// heads, the air round it, and the least height of a face that has room for it.
const (
	grainLong   = 9.0
	grainAcross = 7.0
	grainHead   = 0.7
	grainAir    = 0.5
	grainFace   = 2*grainHead + 2*grainAir
)

// grain is the arrow with two heads that shows which way the grain of the show
// face runs, where neither a hole nor the label's seat is in its way. A face
// with no room for it has none: the words say it.
func (s *Sketch) grain(v views) []figure {
	if s.Grain != parts.GrainLong && s.Grain != parts.GrainAcross || v.wide < grainFace {
		return nil
	}
	w, h := min(0.18*v.long, grainLong), 2*grainHead
	if s.Grain == parts.GrainAcross {
		w, h = 2*grainHead, min(0.7*v.wide, grainAcross)
	}
	if max(w, h) < 3*grainHead { // nobody could tell which way it points
		return nil
	}
	taken := s.taken(v)
	for _, down := range []float64{0.5, 0.28, 0.72} {
		for _, along := range []float64{0.25, 0.75, 0.33, 0.67, 0.16, 0.84, 0.5} {
			x, y := along*v.long, down*v.wide
			want := area{x - w/2 - grainAir, y - h/2 - grainAir, x + w/2 + grainAir, y + h/2 + grainAir}
			if want.x0 >= 0 && want.x1 <= v.long && want.y0 >= 0 && want.y1 <= v.wide && !slices.ContainsFunc(taken, want.meets) {
				return arrow(x, y, w, h)
			}
		}
	}
	return nil
}

// taken are the places of the show face where something is drawn already.
func (s *Sketch) taken(v views) []area {
	out := s.drawnHoles(v)
	if s.Seat == parts.ShowFace || s.Seat == parts.BackFace {
		out = append(out, seatSlip(v))
	}
	if word, room := s.seatWord(v); room {
		out = append(out, word)
	}
	return out
}

// drawnHoles are the places of the holes.
func (s *Sketch) drawnHoles(v views) []area {
	var out []area
	for _, h := range s.Holes {
		for _, f := range s.hole(h, v) {
			out = append(out, f.bounds())
		}
	}
	return out
}

// arrow is a line with a head at both ends round a middle, along the longer of
// two ways.
func arrow(x, y, w, h float64) []figure {
	if w >= h {
		a, b := x-w/2, x+w/2
		return []figure{
			{points: []point{{a, y}, {b, y}}},
			{points: []point{{a + grainHead, y - grainHead}, {a, y}, {a + grainHead, y + grainHead}}},
			{points: []point{{b - grainHead, y - grainHead}, {b, y}, {b - grainHead, y + grainHead}}},
		}
	}
	a, b := y-h/2, y+h/2
	return []figure{
		{points: []point{{x, a}, {x, b}}},
		{points: []point{{x - grainHead, a + grainHead}, {x, a}, {x + grainHead, a + grainHead}}},
		{points: []point{{x - grainHead, b - grainHead}, {x, b}, {x + grainHead, b - grainHead}}},
	}
}

// bounds is the rectangle round a figure.
func (f figure) bounds() area {
	out := area{f.points[0].x, f.points[0].y, f.points[0].x, f.points[0].y}
	for _, p := range f.points {
		out = area{min(out.x0, p.x), min(out.y0, p.y), max(out.x1, p.x), max(out.y1, p.y)}
	}
	return out
}

// meets reports whether two rectangles have something in common.
func (a area) meets(b area) bool {
	return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
}
