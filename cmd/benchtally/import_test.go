package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
)

func TestImportOfSeveralLevels(t *testing.T) {
	const head = "qty,part,length,width,thickness,material,assembly,spares,test pieces,pattern\n"
	db := filepath.Join(t.TempDir(), "shop.db")
	list := write(t, "list.csv", head+"2,Crest rail,51 1/2,3 1/2,1 1/8,white oak,Bench back,,,\n"+
		"16,Rung,13,2,1/2,white oak,Bench back > Ladder,2,1,\n8,Post,18,2 1/2,1 1/8,white oak,Bench back > Ladder,1,,\n")
	out := fine(t, "import", "-db", db, "-job", "Tern Point benches", "-assemblies", "Bench back > Ladder=4", list)
	require.Contains(t, out, "26 parts, 3 spares, 1 test piece and 6 assemblies on 3 lines.\n")

	said := runs(t, "import", "-db", db, "-job", "Tern Point benches", "-assemblies", "Bench back=3", list)
	require.NotEqual(t, exitFine, said.code)
	require.Contains(t, said.err, "8 of “Ladder” cannot be shared out evenly among 3 of “Bench back”.")

	bored := write(t, "bored.csv", head+"8,Post,18,2 1/2,1 1/8,white oak,,,,\"Post, two dowels\"\n")
	said = runs(t, "import", "-db", db, "-job", "Posts", bored)
	require.NotEqual(t, exitFine, said.code)
	require.Contains(t, said.err, "row 2, pattern: The shop has no pattern of holes “Post, two dowels”.")

	b, err := bench.Open(t.Context(), db, bench.Options{Alone: true})
	require.NoError(t, err)
	hole := func(along parts.Length) parts.Hole {
		return parts.Hole{Into: parts.IntoNearEdge, Along: along * parts.Inch, Diameter: parts.Inch * 3 / 8, Depth: parts.Inch}
	}
	_, err = b.SavePattern(t.Context(), parts.Pattern{Name: "Post, two dowels", Holes: []parts.Hole{hole(1), hole(3)}})
	require.NoError(t, err)
	require.NoError(t, b.Close())
	said = runs(t, "import", "-db", db, "-job", "Posts", bored)
	require.Equal(t, exitFine, said.code, "what is worth a look stops nothing")
	require.Contains(t, said.err, "Worth a look: row 2, hand: Post, bored as “Post, two dowels”, is either a left or a right part.")
	require.Contains(t, said.out, "8 parts, 0 spares and 0 assemblies on 1 line.\n")
}
