package bench_test

import (
	"context"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bore"
	"benchtally/parts/shoptest"
)

func TestPatternsOfTheShop(t *testing.T) {
	ctx, b := context.Background(), shoptest.Open(t, shoptest.NewClock())
	holes := func(text string) []parts.Hole {
		h, err := bore.ParseHoles(text, parts.Writing{})
		require.NoError(t, err)
		return h
	}
	rail := parts.Pattern{Name: " Rail,  two dowels ", Holes: holes("left end middle dia 3/8 deep 1 1/4\nright end middle dia 3/8 deep 1 1/4")}
	kept, err := b.SavePattern(ctx, rail)
	require.NoError(t, err)
	assert.Equal(t, "rail-two-dowels", kept.Key)
	assert.Equal(t, "Rail, two dowels", kept.Name)
	again, err := b.SavePattern(ctx, rail)
	require.NoError(t, err, "the same new pattern sent twice")
	assert.Equal(t, kept, again)

	_, err = b.SavePattern(ctx, parts.Pattern{Name: "rail, TWO dowels", Holes: rail.Holes[:1]})
	assert.Equal(t, "pattern-there", parts.CodeOf(err))
	_, err = b.SavePattern(ctx, parts.Pattern{Name: "Empty"})
	assert.Equal(t, "holes-none", parts.CodeOf(err))

	second, err := b.SavePattern(ctx, parts.Pattern{Name: "Rail two dowels!", Holes: holes("near edge 20 dia 3/8 deep 1")})
	require.NoError(t, err)
	assert.Equal(t, "rail-two-dowels-2", second.Key, "names that shorten to one key")
	second.Name = kept.Name
	_, err = b.SavePattern(ctx, second)
	assert.Equal(t, "pattern-there", parts.CodeOf(err))
	second.Name = "Stile, one dowel"
	_, err = b.SavePattern(ctx, second)
	require.NoError(t, err)
	all, err := b.Patterns(ctx)
	require.NoError(t, err)
	assert.Equal(t, []parts.Pattern{kept, second}, all)
	long, err := b.SavePattern(ctx, parts.Pattern{Name: strings.Repeat("w", 60), Holes: rail.Holes})
	require.NoError(t, err, "a long name has a key too")
	assert.LessOrEqual(t, len(long.Key), 40)
}

func TestPatternsAtASize(t *testing.T) {
	ctx, b := context.Background(), shoptest.Open(t, shoptest.NewClock())
	h, err := bore.ParseHoles("near edge 1 dia 3/8 deep 1\nnear edge 33 1/2 dia 3/8 deep 1", parts.Writing{})
	require.NoError(t, err)
	_, err = b.SavePattern(ctx, parts.Pattern{Name: "Stile", Holes: h})
	require.NoError(t, err)
	inch := func(n parts.Length) parts.Size { return parts.Size{Length: n * parts.Inch / 2} }
	look := func(length parts.Size, show bool) (handed, misfit bool) {
		looks, err := b.LookPatterns(ctx, parts.Line{Length: length, Width: inch(4), Thick: inch(2)}, show)
		require.NoError(t, err)
		require.Len(t, looks, 1)
		assert.Equal(t, parts.IntoFarEdge, looks[0].Right.Holes[0].Into)
		return looks[0].Handed, looks[0].Misfit != nil
	}
	for _, tt := range []struct {
		name                 string
		length               parts.Size
		show, handed, misfit bool
	}{
		{"even at this length", inch(69), true, false, false},
		{"uneven", inch(70), true, true, false},
		{"uneven, but it may be rolled", inch(70), false, false, false},
		{"too short", inch(40), true, true, true},
		{"to suit: neither even nor too short", parts.Size{ToSuit: true, Length: 20 * parts.Inch}, true, true, false},
	} {
		handed, misfit := look(tt.length, tt.show)
		assert.Equal(t, tt.handed, handed, tt.name)
		assert.Equal(t, tt.misfit, misfit, tt.name)
	}
}
