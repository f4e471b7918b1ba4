package bench_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// A finger points at the holes that the part before it has: on a right part
// those of the mirrored pattern, called after the edge they are really in.
func TestPointAtTheHolesOfAPart(t *testing.T) {
	b, ctx := shoptest.Open(t, shoptest.NewClock()), context.Background()
	p, err := b.SavePattern(ctx, parts.Pattern{Name: "Hinge side", Holes: []parts.Hole{
		{Into: parts.IntoNearEdge, Along: 4 * parts.Inch, Diameter: parts.Inch / 4, Depth: parts.Inch},
		{Into: parts.IntoLeftEnd, Diameter: parts.Inch / 4, Depth: parts.Inch}}})
	require.NoError(t, err)
	size := func(l parts.Length) parts.Size { return parts.Size{Length: l} }
	line := parts.Line{Kind: parts.Single, Length: size(30 * parts.Inch), Width: size(3 * parts.Inch), Thick: size(parts.Inch), Pattern: p.Key, Hand: parts.Left}
	left, err := b.PointAt(ctx, line)
	require.NoError(t, err)
	assert.Equal(t, []string{"near edge, hole 1", "left end, hole 1"}, left.Holes)
	line.Hand = parts.Right
	right, err := b.PointAt(ctx, line)
	require.NoError(t, err)
	assert.Equal(t, []string{"far edge, hole 1", "left end, hole 1"}, right.Holes)
	listed, err := b.HolePlaces(ctx, line)
	require.NoError(t, err)
	assert.Equal(t, right.Holes, listed, "the part's page calls them the same")
	require.Len(t, right.Sketch.Holes, 2)

	line.Pattern, line.Length = "", parts.Size{ToSuit: true}
	usual, err := b.PointAt(ctx, line)
	require.NoError(t, err)
	assert.Nil(t, usual.Sketch, "its size is not known")
	assert.Contains(t, usual.Holes, "right end, hole 3")
	none, err := b.PointAt(ctx, parts.Line{Kind: parts.Assembly})
	require.NoError(t, err)
	assert.Empty(t, none.Holes)
}
