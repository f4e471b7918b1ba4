package cutlist

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// sharedOut asks whether everything that goes into an assembly comes out even.
func sharedOut(t require.TestingT, list List) {
	for i, a := range list.Assemblies {
		require.Positive(t, a.Count)
		for _, take := range a.Takes {
			require.Equal(t, list.Lines[take.Line].Quantity, take.Each*a.Count)
			require.Equal(t, a.Path, list.Lines[take.Line].Assembly)
		}
		if a.Into < 0 {
			require.Equal(t, a.Name, a.Path)
			continue
		}
		require.Less(t, a.Into, i, "the outer one comes first")
		outer := list.Assemblies[a.Into]
		require.Equal(t, a.Count, a.Each*outer.Count)
		require.Equal(t, outer.Path+" > "+a.Name, a.Path)
	}
}

// made writes assemblies as people read them: "Ladder 8, 2 in each".
func made(l List) []string {
	var out []string
	for _, a := range l.Assemblies {
		text := fmt.Sprintf("%s %d", a.Path, a.Count)
		if a.Count != a.Proposed {
			text += fmt.Sprintf(" instead of %d", a.Proposed)
		}
		if a.Into >= 0 {
			text += fmt.Sprintf(", %d in each", a.Each)
		}
		out = append(out, text)
	}
	return out
}

func TestLevels(t *testing.T) {
	tests := []struct {
		name    string
		choices map[string]int
		rows    []string
		want    []string
	}{
		{"two levels", nil, []string{"4;crest rail;51;Bench back", "16;rung;13;Bench back > Ladder", "16;post;18;bench  back>LADDER"},
			[]string{"Bench back 4", "Bench back > Ladder 16, 4 in each"}},
		{"two levels, counts chosen", map[string]int{"bench back > ladder": 8, "Bench back": 2},
			[]string{"4;crest rail;51;Bench back", "16;rung;13;Bench back > Ladder"},
			[]string{"Bench back 2 instead of 4", "Bench back > Ladder 8 instead of 16, 4 in each"}},
		{"the inner count has a say in the outer one", map[string]int{"Bench back > Ladder": 2},
			[]string{"4;crest rail;51;Bench back", "16;rung;13;Bench back > Ladder"},
			[]string{"Bench back 2", "Bench back > Ladder 2 instead of 16, 1 in each"}},
		{"three levels", nil,
			[]string{"2;seat;51;Bench", "4;crest rail;51;Bench > Back", "24;rung;13;Bench › Back › Ladder", "8;post;18;Bench > Back > Ladder"},
			[]string{"Bench 2", "Bench > Back 4, 2 in each", "Bench > Back > Ladder 8, 2 in each"}},
		{"the inner one first", nil, []string{"16;rung;13;Bench back > Ladder", "4;crest rail;51;Bench back"},
			[]string{"Bench back 4", "Bench back > Ladder 16, 4 in each"}},
		{"the same name in two places", nil,
			[]string{"8;rung;13;Bench back > Ladder", "6;rung;13;Locker > Ladder", "4;crest rail;51;Bench back", "6;shelf;15;Locker", "3;rung;20;Ladder"},
			[]string{"Bench back 4", "Bench back > Ladder 8, 2 in each", "Locker 6", "Locker > Ladder 6, 1 in each", "Ladder 3"}},
		{"an outer one without lines of its own", nil, []string{"8;rung;13;Bench back > Ladder", "12;slat;13;Bench back > Grille"},
			[]string{"Bench back 4", "Bench back > Ladder 8, 2 in each", "Bench back > Grille 12, 3 in each"}},
		{"outer ones without lines all the way out", nil, []string{"6;rung;13;a > b > c > d > e"},
			[]string{"a 6", "a > b 6, 1 in each", "a > b > c 6, 1 in each", "a > b > c > d 6, 1 in each", "a > b > c > d > e 6, 1 in each"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			list := listOf(t, Choices{Assemblies: tt.choices}, tt.rows...)
			require.Empty(t, sayings(list))
			assert.Equal(t, tt.want, made(list))
			sharedOut(t, list)
		})
	}
}

func TestLevelsThatDoNotComeOutEven(t *testing.T) {
	rows := []string{"4;crest rail;51;Bench back", "12;rung;13;Bench back > Ladder", "6;post;18;Bench back > Ladder"}
	list := listOf(t, Choices{Assemblies: map[string]int{"Bench back": 4}}, rows...)
	require.Equal(t, []string{"row 3, assembly: assembly-uneven"}, places(list))
	assert.Equal(t, "row 3, assembly: 6 of “Ladder” cannot be shared out evenly among 4 of “Bench back”."+
		" Choose a number of “Bench back” that divides all that goes into it, such as 2, or change the number of “Ladder”.", sayings(list)[0])

	list = listOf(t, Choices{Assemblies: map[string]int{"Bench back > Ladder": 4}}, rows...)
	assert.Equal(t, []string{"row 4, quantity: assembly-uneven"}, places(list), "six posts in four ladders")

	list = listOf(t, Choices{Assemblies: map[string]int{"a > b": 4, "a": 3}}, "8;rung;13;a > b > c")
	assert.Equal(t, []string{"row 2, assembly: assembly-uneven"}, places(list), "nothing but the middle one is uneven")

	list = listOf(t, Choices{Assemblies: map[string]int{"Ladder": 4}}, rows...)
	assert.Equal(t, []string{"assembly-missing"}, places(list), "an inner one is named with what it goes into")
}

// Whatever goes into what, the numbers proposed share everything out evenly,
// and no greater ones would.
func TestProposalsComeOutEven(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		names := rapid.SampledFrom([]string{"a", "b"})
		var rows []string
		for range rapid.IntRange(1, 8).Draw(rt, "lines") {
			path := rapid.SliceOfN(names, 1, MostLevels).Draw(rt, "path")
			rows = append(rows, fmt.Sprintf("%d;rail;9;%s", rapid.IntRange(1, 60).Draw(rt, "quantity"), strings.Join(path, ">")))
		}
		list := listOf(t, Choices{}, rows...)
		require.Empty(rt, sayings(list))
		sharedOut(rt, list)
		for i, a := range list.Assemblies {
			require.Equal(rt, slowProposal(list, i), a.Count, a.Path)
		}
	})
}

// slowProposal tries numbers from the top for one that divides everything.
func slowProposal(list List, i int) int {
	var into []int
	for _, take := range list.Assemblies[i].Takes {
		into = append(into, list.Lines[take.Line].Quantity)
	}
	for _, a := range list.Assemblies {
		if a.Into == i {
			into = append(into, a.Count)
		}
	}
	for n := slices.Max(into); ; n-- {
		if !slices.ContainsFunc(into, func(q int) bool { return q%n != 0 }) {
			return n
		}
	}
}

func TestWhatALineSaysOfItsPieces(t *testing.T) {
	shop := Choices{Patterns: []parts.Pattern{{Key: "stile-dowels", Name: "Stile, four dowels"}, {Key: "rail-dowels", Name: "Rail, two dowels"}}}
	list := listOf(t, shop, `24;stile;34;Front;2;1;3;"stile, Four  dowels";L`, "24;stile;34;Front;;;;STILE-DOWELS;re.", "3;cleat;9;;;-;1;;none")
	require.Empty(t, sayings(list))
	assert.Equal(t, Line{Row: 2, Name: "stile", Quantity: 24, Spares: 2, Tests: 1, PerBlank: 3, Length: inch(34, 0, 1), Assembly: "Front",
		Pattern: "stile-dowels", Hand: parts.Left}, list.Lines[0])
	assert.Equal(t, 27, list.Lines[0].Pieces())
	assert.Equal(t, Line{Row: 3, Name: "stile", Quantity: 24, Length: inch(34, 0, 1), Assembly: "Front", Pattern: "stile-dowels", Hand: parts.Right}, list.Lines[1])
	assert.Equal(t, Line{Row: 4, Name: "cleat", Quantity: 3, PerBlank: 1, Length: inch(9, 0, 1)}, list.Lines[2])

	list = listOf(t, shop, "2;stile;34;;;;;four dowels")
	assert.Equal(t, []string{"row 2, pattern: The shop has no pattern of holes “four dowels”." +
		" There are: Stile, four dowels; Rail, two dowels. Write one of these, or make the pattern first."}, sayings(list))
	assert.Contains(t, sayings(listOf(t, Choices{}, "2;stile;34;;;;;four dowels"))[0], "Make the pattern first")
	assert.Equal(t, "a; b; c; d; e; f; g; h; i; j; k; l; and 2 more", listed(strings.Split("abcdefghijklmn", "")))
}

// A German list may say all of it too.
func TestTheGermanColumnsOfPieces(t *testing.T) {
	list := Read(tableOf(t, []byte("Anzahl;Bauteil;Länge (mm);Baugruppe;Reserve;Probestücke;je Rohling;Bohrbild;links/rechts\n"+
		"8;Sprosse;330,2;Banklehne › Leiter;1;2;4;Fries;rechts\n4;Fries;1308,1;Banklehne;;;;;\n")), Choices{Patterns: []parts.Pattern{{Key: "fries", Name: "Fries"}}})
	require.Empty(t, sayings(list))
	l := list.Lines[0]
	assert.Equal(t, []any{8, 1, 2, 4, "fries", parts.Right}, []any{l.Quantity, l.Spares, l.Tests, l.PerBlank, l.Pattern, l.Hand})
	assert.Equal(t, []string{"Banklehne 4", "Banklehne > Leiter 8, 2 in each"}, made(list))
}
