package labels

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// On a screen a part is to scale, and a finger finds a hole where it is: in the
// open end or edge that it is bored into.
func TestAScreenShowsWhereTheHolesAre(t *testing.T) {
	s := &Sketch{Length: 30 * parts.Inch, Width: 3 * parts.Inch, Holes: []parts.Hole{
		{Into: parts.IntoLeftEnd, Along: parts.Inch, Diameter: parts.Inch / 4, Depth: parts.Inch},
		{Into: parts.IntoRightEnd, Along: parts.Inch, FromFar: true, Diameter: parts.Inch / 4, Depth: parts.Inch},
		{Into: parts.IntoNearEdge, Along: 6 * parts.Inch, Diameter: parts.Inch / 4, Depth: parts.Inch},
		{Into: parts.IntoFarEdge, Along: 6 * parts.Inch, FromFar: true, Diameter: parts.Inch / 4, Depth: parts.Inch},
		{Into: parts.IntoShow, Diameter: parts.Inch / 4},
	}}
	got, known := s.Screen(100, 60)
	require.True(t, known)
	const inch = (100 - 2*sketchLine) / 30
	assert.InDelta(t, 30*inch, got.Long, 1e-9)
	assert.InDelta(t, 3*inch, got.Wide, 1e-9)
	want := []ScreenPoint{{0, 2 * inch}, {30 * inch, inch}, {6 * inch, 3 * inch}, {24 * inch, 0}, {15 * inch, 1.5 * inch}}
	for i := range want {
		assert.InDelta(t, want[i].X, got.Holes[i].X, 1e-9, i)
		assert.InDelta(t, want[i].Y, got.Holes[i].Y, 1e-9, i)
	}
	assert.NotEmpty(t, got.Lines)
	assert.NotEmpty(t, got.Areas)
	for _, unknown := range []*Sketch{nil, {Length: parts.Inch}, {Width: parts.Inch}} {
		_, known := unknown.Screen(100, 60)
		assert.False(t, known)
	}
}

// However slender or square a part is, it is drawn within its room.
func TestAScreenHoldsEveryPart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Int64Range(int64(parts.Inch)/16, 200*int64(parts.Inch))
		s := &Sketch{Length: parts.Length(size.Draw(t, "length")), Width: parts.Length(size.Draw(t, "width")), Thick: parts.Length(size.Draw(t, "thick"))}
		got, known := s.Screen(100, 60)
		require.True(t, known)
		require.InDelta(t, float64(s.Length)/float64(s.Width), got.Long/got.Wide, 1e-6*got.Long/got.Wide)
		require.LessOrEqual(t, got.Long, 100.000001)
		require.LessOrEqual(t, got.High, 60.000001)
	})
}
