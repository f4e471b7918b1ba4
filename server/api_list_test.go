package server

import (
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// What a list says of levels, test pieces, blanks, patterns and hands counts for
// programs too, and so does what is worth a look.
func TestListsForPrograms(t *testing.T) {
	s := openProgram(t, false)
	hole := func(along parts.Length) parts.Hole {
		return parts.Hole{Into: parts.IntoNearEdge, Along: along * parts.Inch, Diameter: parts.Inch * 3 / 8, Depth: parts.Inch}
	}
	_, err := s.bench.SavePattern(t.Context(), parts.Pattern{Name: "Post, two dowels", Holes: []parts.Hole{hole(1), hole(3)}})
	require.NoError(t, err)
	list := "qty,part,length,width,thickness,material,assembly,test pieces,per blank,pattern,hand\n" +
		"2,Crest rail,51 1/2,3 1/2,1 1/8,white oak,Bench back,,,,\n" +
		"16,Rung,13,2,1/2,white oak,Bench back > Ladder,1,,,\n" +
		"8,Post,18,2 1/2,1 1/8,white oak,Bench back > Ladder,,,\"Post, two dowels\",\n"
	r := s.send("POST", "/api/v1/lists?name=Tern+Point+benches&assemblies=Bench+back+%3E+Ladder=4&id="+shoptest.NewID().String(), list).is(201, "")
	require.EqualValues(t, 1, r.field("tests"))
	require.EqualValues(t, 6, r.field("assemblies"))
	hints := r.field("hints").([]any)
	require.Len(t, hints, 1)
	require.Equal(t, "hand-missing", hints[0].(map[string]any)["code"])
	require.Equal(t, "hand", hints[0].(map[string]any)["field"])
}
