package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// A stile as the shop bores it, 34 1/2 x 2 1/4 x 3/4 in: a 3/8 in dowel in the
// near edge, 3/4 in from the left end.
func TestTheSketchHasTheHolesOfThePart(t *testing.T) {
	inches := func(n, d parts.Length) parts.Size { return parts.Size{Length: n * parts.Inch / d} }
	hole := parts.Hole{Into: parts.IntoNearEdge, Along: 3 * parts.Inch / 4, Diameter: 3 * parts.Inch / 8, Depth: 5 * parts.Inch / 4}
	sheets := travelSheets{patterns: map[string]parts.Pattern{"stile": {Key: "stile", Holes: []parts.Hole{hole}}}}
	stile := parts.Line{Kind: parts.Single, Length: inches(69, 2), Width: inches(9, 4), Thick: inches(3, 4), Pattern: "stile", Hand: parts.Left}
	left := sheets.sketch(stile)
	require.NotNil(t, left)
	assert.Equal(t, []parts.Hole{hole}, left.Holes)
	assert.Equal(t, 69*parts.Inch/2, left.Length)
	assert.Equal(t, 3*parts.Inch/4, left.Thick)

	stile.Hand = parts.Right
	right := sheets.sketch(stile)
	require.Len(t, right.Holes, 1)
	assert.Equal(t, parts.IntoFarEdge, right.Holes[0].Into, "the counterpart is bored on the other edge")
	assert.Equal(t, hole.Along, right.Holes[0].Along, "as far from the left end")

	stile.Pattern = ""
	assert.Empty(t, sheets.sketch(stile).Holes)
	stile.Width.ToSuit = true
	assert.Nil(t, sheets.sketch(stile), "a size that is found at the bench is not drawn")
	assert.Nil(t, sheets.sketch(parts.Line{Kind: parts.Assembly}))
}

// Expected by GNU coreutils: printf with 16 zero bytes and /1 or /1001 into
// sha256sum. A page sent again to a newer program must mean the same commands.
func TestTheIDOfASignedStepNeverChanges(t *testing.T) {
	var page parts.CommandID
	assert.Equal(t, "b286981a-d9ff-5b70-5eab-15be2992b2a9", signedID(page, 1).String())
	assert.Equal(t, "cedaeba4-f5f0-c27e-f4a3-fd7a02c2dc00", signedID(page, 1001).String())
	assert.Equal(t, parts.CommandID{}, page, "the page's own id stays as it is")
}

func TestHowLongAWaitLasts(t *testing.T) {
	for minutes, want := range map[int]string{45: "45 min", 60: "1 h", 90: "1 h 30 min", 1440: "24 h"} {
		assert.Equal(t, want, minutesText(minutes))
	}
}
