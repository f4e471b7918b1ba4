package store_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestPatternsAreKept(t *testing.T) {
	s := openShop(t)
	none, err := s.Patterns(ctx)
	require.NoError(t, err)
	assert.Empty(t, none)

	stile := parts.Pattern{Key: "stile", Name: "Stile, one dowel", Holes: []parts.Hole{
		{Into: parts.IntoNearEdge, Along: parts.Inch, FromFar: true, Across: parts.Inch / 4, AcrossFar: true, Diameter: parts.Inch / 8, Depth: parts.Inch},
	}}
	rail := parts.Pattern{Key: "rail", Name: "Rail, right through", Holes: []parts.Hole{{Into: parts.IntoShow, Diameter: parts.Inch / 4}}}
	require.NoError(t, s.SavePattern(ctx, stile))
	require.NoError(t, s.SavePattern(ctx, rail))
	kept, err := s.Patterns(ctx)
	require.NoError(t, err)
	assert.Equal(t, []parts.Pattern{rail, stile}, kept)

	stile.Name = "Stile"
	stile.Holes = append(stile.Holes, rail.Holes...)
	require.NoError(t, s.SavePattern(ctx, stile))
	kept, err = s.Patterns(ctx)
	require.NoError(t, err)
	assert.Equal(t, []parts.Pattern{rail, stile}, kept, "the same key is the same pattern")
}
