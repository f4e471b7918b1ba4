package parts

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Where the list does not say, the grain of wood runs along the part.
func TestHowTheGrainRuns(t *testing.T) {
	for _, tt := range []struct {
		line Line
		want Grain
	}{
		{Line{Kind: Single, Material: "white oak"}, GrainLong},
		{Line{Kind: Single}, ""},
		{Line{Kind: Single, Grain: GrainAcross}, GrainAcross},
		{Line{Kind: Single, Material: "hardboard", Grain: GrainNone}, ""},
		{Line{Kind: Assembly, Material: "white oak"}, ""},
	} {
		assert.Equal(t, tt.want, tt.line.Runs(), "%+v", tt.line)
	}
	a := Line{ID: 1, Kind: Single, Pattern: "p", Material: "white oak"}
	b := a
	b.ID, b.Grain = 2, GrainLong
	assert.True(t, a.Alike(b), "said or not, it runs along")
	b.Grain = GrainAcross
	assert.False(t, a.Alike(b), "one with the grain across is another part")
}
