package labels

import "benchtally/parts"

// ScreenSketch is the picture of a part for a page: the figures that its label
// has, as the paths of an SVG, and where its holes are, so that a finger can
// point at one. All numbers are in the unit of the picture, from its upper left
// corner; the show face begins there.
type ScreenSketch struct {
	Long  float64       `json:"long"`  // of the show face, from left to right
	Wide  float64       `json:"wide"`  // of the show face, from the far edge down to the near one
	High  float64       `json:"high"`  // of the whole picture, with the view of the near edge
	Lines string        `json:"lines"` // to be drawn as lines
	Areas string        `json:"areas"` // to be filled
	Holes []ScreenPoint `json:"holes"` // in the order of Sketch.Holes
}

// ScreenPoint is a place on a picture.
type ScreenPoint struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

// Screen lays the sketch into a width and height of units; false when the size
// of the part is not known. However slender the part, its show face is drawn.
func (s *Sketch) Screen(w, h float64) (ScreenSketch, bool) {
	if s == nil || s.Length <= 0 || s.Width <= 0 {
		return ScreenSketch{}, false
	}
	v, fits := s.fit(w, h)
	if !fits {
		k := min(w/inMM(s.Length), h/inMM(s.Width))
		v = views{scale: k, long: inMM(s.Length) * k, wide: inMM(s.Width) * k}
	}
	out := ScreenSketch{Long: v.long, Wide: v.wide, High: v.high(), Holes: []ScreenPoint{}}
	var lines, areas []byte
	for _, f := range s.figures(v) {
		if f.filled {
			areas = appendFigure(areas, f)
		} else {
			lines = appendFigure(lines, f)
		}
	}
	out.Lines, out.Areas = string(lines), string(areas)
	for _, hole := range s.Holes {
		out.Holes = append(out.Holes, s.mouth(hole, v))
	}
	return out, true
}

// mouth is where a hole opens, in the view of the show face.
func (s *Sketch) mouth(h parts.Hole, v views) ScreenPoint {
	x := s.from(h.Along, h.FromFar, s.Length) * v.scale
	switch h.Into {
	case parts.IntoNearEdge:
		return ScreenPoint{x, v.wide}
	case parts.IntoFarEdge:
		return ScreenPoint{x, 0}
	case parts.IntoLeftEnd:
		return ScreenPoint{0, v.wide - s.from(h.Along, h.FromFar, s.Width)*v.scale}
	case parts.IntoRightEnd:
		return ScreenPoint{v.long, v.wide - s.from(h.Along, h.FromFar, s.Width)*v.scale}
	}
	return ScreenPoint{x, v.wide - s.from(h.Across, h.AcrossFar, s.Width)*v.scale}
}
