package labels

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// bounds is the rectangle round some points.
func bounds(points []point) area {
	a := area{points[0].x, points[0].y, points[0].x, points[0].y}
	for _, p := range points {
		a.x0, a.y0, a.x1, a.y1 = min(a.x0, p.x), min(a.y0, p.y), max(a.x1, p.x), max(a.y1, p.y)
	}
	return a
}

// TestSketchIsToScale measures the sketch of a stile of 34 1/2 x 2 1/4 x 3/4 in
// drawn at a tenth: places worked out by hand, in millimetres.
func TestSketchIsToScale(t *testing.T) {
	s := stileSketch(parts.BackFace)
	v := views{scale: 0.1, long: 87.63, wide: 5.715, thin: 1.905}
	figures := s.figures(v)
	near := func(want, got area) {
		t.Helper()
		for _, pair := range [][2]float64{{want.x0, got.x0}, {want.y0, got.y0}, {want.x1, got.x1}, {want.y1, got.y1}} {
			assert.InDelta(t, pair[0], pair[1], 0.002, "%v is %v", want, got)
		}
	}
	near(area{0, 0, 87.63, 5.715}, bounds(figures[0].points))
	near(area{0, 6.715, 87.63, 8.62}, bounds(figures[1].points))
	// A dowel hole of 3/8 in, 1 3/8 deep, 3/4 from the left end of the near
	// edge, which is the lower one: 19.05 - 4.7625 mm and so on, at a tenth.
	near(area{1.42875, 2.2225, 2.38125, 5.715}, bounds(figures[2].points))
	// The same in the view of that edge, in the middle of the thickness.
	near(area{1.42875, 7.19125, 2.38125, 8.14375}, bounds(figures[3].points))
	// The one from the right end: 876.3 - 19.05.
	near(area{85.24875, 2.2225, 86.20125, 5.715}, bounds(figures[6].points))
	// In the left end, in the middle of the width, 1 1/4 in deep.
	near(area{0, 2.38125, 3.175, 3.33375}, bounds(figures[8].points))
	// A hinge hole of 35 mm, 3 1/2 in along and 7/8 in from the far edge, which
	// is the upper one; in the back, so it is a ring.
	near(area{7.14, 0.4725, 10.64, 3.9725}, bounds(figures[9].points))
	assert.False(t, figures[9].filled)
	// On the show face a disc, 7 in from the right end, in the middle.
	near(area{69.5325, 2.54, 70.1675, 3.175}, bounds(figures[10].points))
	assert.True(t, figures[10].filled)
}

// TestSketchStaysInItsPlace: whatever the part, the sketch is inside what it
// was given, to scale, and absent when it would be a mere line.
func TestSketchStaysInItsPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string, most int) parts.Length {
			return parts.Length(rapid.IntRange(1, most).Draw(t, name)) * parts.Millimetre
		}
		const hole = 4 * parts.Millimetre // so that those of 1 mm a fifth in from an edge lie in the part
		s := &Sketch{Length: max(hole, length("length", 3000)), Width: max(hole, length("width", 900)), Thick: length("thick", 60) - parts.Millimetre,
			Seat:  rapid.SampledFrom(append([]parts.Face{""}, parts.Faces...)).Draw(t, "seat"),
			Grain: rapid.SampledFrom([]parts.Grain{"", parts.GrainLong, parts.GrainAcross}).Draw(t, "grain")}
		for range rapid.IntRange(0, 8).Draw(t, "holes") {
			into := rapid.SampledFrom(parts.HoleFaces).Draw(t, "into")
			h := parts.Hole{Into: into, Diameter: parts.Millimetre, Depth: length("depth", 50) - parts.Millimetre,
				FromFar: rapid.Bool().Draw(t, "far"), AcrossFar: rapid.Bool().Draw(t, "across far")}
			along := s.Length
			if into == parts.IntoLeftEnd || into == parts.IntoRightEnd {
				along = s.Width
			}
			h.Along = along / parts.Length(rapid.IntRange(2, 5).Draw(t, "along"))
			s.Holes = append(s.Holes, h)
		}
		w, h := rapid.Float64Range(1, 120).Draw(t, "w"), rapid.Float64Range(1, 60).Draw(t, "h")
		v, fits := s.fit(w, h)
		if !fits {
			d := &drawing{}
			require.Zero(t, d.sketch(s, 0, 0, w, h))
			require.Empty(t, d.ops)
			return
		}
		require.LessOrEqual(t, v.long, w)
		require.LessOrEqual(t, v.high(), h)
		require.InDelta(t, inMM(s.Length)/inMM(s.Width), v.long/v.wide, 1e-6, "to scale")
		for _, f := range s.figures(v) {
			b := bounds(f.points)
			const pen = 0.8 // small holes are drawn larger than they are, and their cross stands out
			require.True(t, b.x0 >= -pen && b.y0 >= -pen && b.x1 <= v.long+pen && b.y1 <= v.high()+pen, "%v of %v", b, v)
		}
	})
	var none *Sketch
	_, fits := none.fit(100, 100)
	assert.False(t, fits)
	_, fits = (&Sketch{Length: parts.Metre}).fit(100, 100)
	assert.False(t, fits, "a part of unknown width")
}
