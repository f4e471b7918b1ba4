package rework_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// What is sanded level at a spot cuts the face of that spot, and no other.
func TestARepairCutsTheFaceOfItsSpot(t *testing.T) {
	tests := []struct {
		defect, spot string
		want         [][]parts.Face // of each step of the repair
	}{
		{"tear-out", "back", [][]parts.Face{{parts.BackFace}}},
		{"tear-out", "Back, by the label", [][]parts.Face{{parts.BackFace}}},
		{"tear-out", "show face", [][]parts.Face{{parts.ShowFace}}},
		{"tear-out", "near edge", [][]parts.Face{{parts.Edges}}},
		{"tear-out", "right end", [][]parts.Face{{parts.Ends}}},
		{"tear-out", "left end, show face", [][]parts.Face{{parts.ShowFace}}},
		{"tear-out", "edges and ends", [][]parts.Face{{parts.Edges, parts.Ends}}},
		{"tear-out", "back and front", [][]parts.Face{{parts.BackFace, parts.ShowFace}}},
		{"tear-out", "", [][]parts.Face{nil}},
		{"tear-out", "at the knot, bending to the right", [][]parts.Face{nil}},
		{"squeeze-out", "back", [][]parts.Face{{parts.BackFace}}},
		// The dent is steamed, left to dry, and only then sanded level.
		{"dent", "back", [][]parts.Face{nil, nil, {parts.BackFace}}},
	}
	for _, tt := range tests {
		t.Run(tt.defect+" "+tt.spot, func(t *testing.T) {
			events, err := rework.Mend(shop(stile(1)), rework.Flaw{Defect: defect(tt.defect), Spot: tt.spot}, by)
			require.NoError(t, err)
			var cuts [][]parts.Face
			for _, s := range events[0].Detail.Repair {
				cuts = append(cuts, s.Cuts)
			}
			assert.Equal(t, tt.want, cuts)
		})
	}
	for _, s := range defect("dent").Steps {
		assert.Empty(t, s.Cuts, "the catalogue itself stays as it is")
	}
	// A plugged hole is bored again as its own step says.
	events, err := rework.Plug(shop(stile(1)), rework.Flaw{Defect: defect(rework.HoleOff), Spot: "near edge, hole 1"}, by)
	require.NoError(t, err)
	repair := events[0].Detail.Repair
	assert.Equal(t, shop(stile(1)).Routings[railSteps].Steps[7].Cuts, repair[len(repair)-1].Cuts)

	// A step that says itself what it cuts is believed.
	own := parts.Defect{Key: "own", Name: "Own", Steps: []parts.Step{{Name: "plane", Station: "plane", Cuts: []parts.Face{parts.Edges}}}}
	events, err = rework.Mend(shop(stile(1)), rework.Flaw{Defect: own, Spot: "back"}, by)
	require.NoError(t, err)
	assert.Equal(t, []parts.Face{parts.Edges}, events[0].Detail.Repair[0].Cuts)
}
