package cutlist

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func inch(whole, n, d int) parts.Size {
	return parts.Size{Length: parts.Length(whole)*parts.Inch + parts.Inch*parts.Length(n)/parts.Length(d)}
}

func TestTheExampleList(t *testing.T) {
	list := Read(tableOf(t, readTestdata(t, "tern-point.csv")), Choices{})
	require.Empty(t, sayings(list))
	assert.Equal(t, 4, list.Heading)
	assert.False(t, list.DecimalComma)
	require.Len(t, list.Lines, 12)
	assert.Equal(t, Line{Row: 5, Name: "Stile", Quantity: 24, Spares: 2, Length: inch(34, 1, 2), Width: inch(2, 1, 4),
		Thickness: inch(0, 3, 4), Material: "white oak", Assembly: "Locker front frame", Notes: "dowelled both ends"}, list.Lines[0])
	assert.Equal(t, "ease the edges, both faces", list.Lines[6].Notes)
	assert.Equal(t, 14, list.Lines[7].Row, "a cell of two lines is one row")
	assert.Equal(t, parts.Size{Length: 914 * parts.Millimetre}, list.Lines[9].Length, "its own unit wins")
	assert.Equal(t, parts.Size{Length: 36 * parts.Inch, ToSuit: true}, list.Lines[11].Length)
	assert.Equal(t, []Assembly{
		{Name: "Locker front frame", Path: "Locker front frame", Into: -1, Count: 12, Proposed: 12, Takes: []Take{{0, 2}, {1, 1}, {2, 1}}},
		{Name: "Bench back", Path: "Bench back", Into: -1, Count: 4, Proposed: 4, Takes: []Take{{3, 1}, {4, 1}, {5, 2}, {6, 7}}},
	}, list.Assemblies)
	assert.Equal(t, []Skipped{{8, "a text alone: “Bench backs”"}, {13, "a text alone: “Loose parts”"}, {19, "a total: “Total”"}}, list.Skipped)
}

// The German list says the same in millimetres with a decimal comma, in
// Windows-1252: every size must come to the same length.
func TestTheGermanListSaysTheSame(t *testing.T) {
	german := Read(tableOf(t, readTestdata(t, "tern-point-de.csv")), Choices{})
	require.Empty(t, sayings(german))
	assert.True(t, german.DecimalComma)
	assert.Equal(t, "Weißeiche", german.Lines[0].Material)
	english := Read(tableOf(t, readTestdata(t, "tern-point.csv")), Choices{})
	require.Len(t, german.Lines, len(english.Lines))
	for i, e := range english.Lines {
		g := german.Lines[i]
		assert.Equal(t, []any{e.Quantity, e.Spares, e.Length, e.Width, e.Thickness},
			[]any{g.Quantity, g.Spares, g.Length, g.Width, g.Thickness}, e.Name)
	}
}

func TestEveryTroubleIsReportedAtItsPlace(t *testing.T) {
	list := Read(tableOf(t, readTestdata(t, "tern-point-bad.csv")), Choices{})
	assert.Equal(t, []string{
		"row 3, quantity: count-unreadable", "row 4, length: length-unreadable", "row 5, quantity: cell-empty",
		"row 6, part: cell-empty", "row 7, length: length-negative", "row 7, thickness: length-zero",
		"row 8, part: character-unprintable", "row 9, length: cell-formula", "row 10, length: cell-empty",
	}, places(list))
	assert.Contains(t, sayings(list)[6], "The character 🚣 (U+1F6A3) cannot be printed on a label.")
	assert.Contains(t, sayings(list)[7], "row 9, length: This holds a formula")
}

func TestCells(t *testing.T) {
	tests := []struct {
		name string
		row  string
		want string // place and code; "" for none
	}{
		{"a whole number", "12;rail;34", ""},
		{"a whole number with a decimal", "12.0;rail;34", ""},
		{"a whole number with a decimal comma", "12,0;rail;34", ""},
		{"pieces by word", "12 pcs;rail;34", ""},
		{"pieces by German word", "12 Stück;rail;34", ""},
		{"a thousand with a comma", "1,000;rail;34", "row 2, quantity: count-unreadable"},
		{"half a piece", "1.5;rail;34", "row 2, quantity: count-unreadable"},
		{"nothing", "0;rail;34", "row 2, quantity: count-out"},
		{"negative", "-1;rail;34", "row 2, quantity: count-unreadable"},
		{"the most", "10000;rail;34", ""},
		{"over the most", "10001;rail;34", "row 2, quantity: count-out"},
		{"exponent", "1e3;rail;34", "row 2, quantity: count-unreadable"},
		{"Arabic digits", "١٢;rail;34", "row 2, quantity: count-unreadable"},
		{"spares", "12;rail;34;;2", ""},
		{"no spares", "12;rail;34;;-", ""},
		{"test pieces", "12;rail;34;;;2", ""},
		{"no test pieces", "12;rail;34;;;–", ""},
		{"half a test piece", "12;rail;34;;;0.5", "row 2, test pieces: count-unreadable"},
		{"over the most test pieces", "12;rail;34;;;10001", "row 2, test pieces: count-out"},
		{"four in a blank", "12;rail;34;;;;4", ""},
		{"no blanks", "12;rail;34;;;;-", ""},
		{"one in a blank, which is none", "12;rail;34;;;;1", ""},
		{"the most in a blank", "12;rail;34;;;;1000", ""},
		{"over the most in a blank", "12;rail;34;;;;1001", "row 2, per blank: count-out"},
		{"a size for the parts in a blank", "12;rail;34;;;;8 ft", "row 2, per blank: count-unreadable"},
		{"no pattern", "12;rail;34;;;;;-", ""},
		{"a pattern of no shop", "12;rail;34;;;;;two dowels", "row 2, pattern: pattern-unknown"},
		{"left", "12;rail;34;;;;;;left", ""},
		{"right by German word", "12;rail;34;;;;;;Rechts", ""},
		{"no hand", "12;rail;34;;;;;;-", ""},
		{"both hands", "12;rail;34;;;;;;L/R", "row 2, hand: hand-unreadable"},
		{"the other side", "12;rail;34;;;;;;back", "row 2, hand: hand-unreadable"},
		{"grain along the width", "12;rail;34;;;;;;;along width", ""},
		{"no grain", "12;rail;34;;;;;;;none", ""},
		{"grain not said", "12;rail;34;;;;;;;-", ""},
		{"grain some way", "12;rail;34;;;;;;;diagonal", "row 2, grain: grain-unreadable"},
		{"a unit inside an assembly", "12;rail;34;Back > mm", "row 2, assembly: assembly-unit"},
		{"five levels", "12;rail;34;a > b > c > d > e", ""},
		{"six levels", "12;rail;34;a > b > c > d > e > f", "row 2, assembly: assembly-deep"},
		{"no name inside", "12;rail;34;Back >", "row 2, assembly: assembly-nameless"},
		{"no name outside", "12;rail;34;> Ladder", "row 2, assembly: assembly-nameless"},
		{"no name between", "12;rail;34;Back >> Ladder", "row 2, assembly: assembly-nameless"},
		{"an emoji inside", "12;rail;34;Back > 🪜", "row 2, assembly: character-unprintable"},
		{"long names inside one another", "12;rail;34;" + strings.Repeat("ä", 80) + " › " + strings.Repeat("ö", 80), ""},
		{"a name inside too long", "12;rail;34;Back > " + strings.Repeat("ö", 81), "row 2, assembly: text-too-long"},
		{"half a spare", "12;rail;34;;0.5", "row 2, spares: count-unreadable"},
		{"longest name", "12;" + strings.Repeat("ä", 80) + ";34", ""},
		{"name too long", "12;" + strings.Repeat("ä", 81) + ";34", "row 2, part: text-too-long"},
		{"names of shops' own", "12;Rail № 3, 45° – «left» 100 % & more;34", ""},
		{"emoji of the first plane", "12;rail ☀;34", "row 2, part: character-unprintable"},
		{"right-to-left override", "12;ra\u202eil;34", "row 2, part: character-unprintable"},
		{"zero-width joiner", "12;ra\u200dil;34", "row 2, part: character-unprintable"},
		{"private use", "12;ra\ue000il;34", "row 2, part: character-unprintable"},
		{"control character", "12;ra\x07il;34", "row 2, part: character-unprintable"},
		{"broken text", "12;ra\ufffdil;34", "row 2, part: character-unprintable"},
		{"dash for the length", "12;rail;-", "row 2, length: cell-empty"},
		{"to suit", "12;rail;to suit", ""},
		{"a unit for an assembly", "12;rail;34;mm", "row 2, assembly: assembly-unit"},
		{"formula in a name", "12;=A1;34", "row 2, part: cell-formula"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, strings.Join(places(listOf(t, Choices{}, tt.row)), "; "))
		})
	}
}

func TestRowsThatAreNoLine(t *testing.T) {
	list := listOf(t, Choices{}, "", ";;", "Doors;;", ";Frames;", "2;rail;34", "qty;part;length", ";Total;", "Summe 2;;")
	assert.Empty(t, sayings(list))
	require.Len(t, list.Lines, 1)
	assert.Equal(t, 6, list.Lines[0].Row)
	var rows []int
	for _, s := range list.Skipped {
		rows = append(rows, s.Row)
	}
	assert.Equal(t, []int{4, 5, 7, 8, 9}, rows)
	assert.Equal(t, []string{"row 2, part: cell-empty", "row 2, length: cell-empty"}, places(listOf(t, Choices{}, "48;;")), "a sum without a word")
	assert.Equal(t, []string{"list-empty"}, places(listOf(t, Choices{}, "Doors;;")))
}

func TestLimitsOfAList(t *testing.T) {
	lines := func(n int, row string) []string { return strings.Split(strings.Repeat(row+"\n", n), "\n") }
	assert.Empty(t, places(listOf(t, Choices{}, lines(5000, "10;rail;34")...)))
	assert.Equal(t, []string{"row 5002: list-long"}, places(listOf(t, Choices{}, lines(5001, "1;rail;34")...)))
	assert.Equal(t, []string{"list-parts"}, places(listOf(t, Choices{}, append(lines(5, "10000;rail;34"), "1;rail;34")...)))
	assert.Equal(t, []string{"list-parts"}, places(listOf(t, Choices{}, append(lines(5, "9999;rail;34"), "1;rail;34;;2;3")...)), "test pieces count")
	assert.Empty(t, places(listOf(t, Choices{}, lines(1, "10000;rail;34;a > b > c > d > e")...)))
	assert.Equal(t, []string{"list-assemblies"}, places(listOf(t, Choices{}, "10000;rail;34;a > b > c > d > e", "1;rail;34;f")))

	list := listOf(t, Choices{}, lines(300, "x;rail;long")...)
	require.Len(t, list.Troubles, MostTroubles)
	assert.Equal(t, "And 401 more. Put right what is listed here and read the list again.", list.Troubles[199].String())
}

func TestAssemblies(t *testing.T) {
	rows := []string{"24;stile;34;Frame", "24;rail;11;frame ", "6;cleat;9;"}
	list := listOf(t, Choices{}, rows...)
	require.Empty(t, sayings(list))
	assert.Equal(t, []Assembly{{Name: "Frame", Path: "Frame", Into: -1, Count: 24, Proposed: 24, Takes: []Take{{0, 1}, {1, 1}}}}, list.Assemblies)

	list = listOf(t, Choices{Assemblies: map[string]int{" FRAME": 12}}, rows...)
	require.Empty(t, sayings(list))
	assert.Equal(t, []Assembly{{Name: "Frame", Path: "Frame", Into: -1, Count: 12, Proposed: 24, Takes: []Take{{0, 2}, {1, 2}}}}, list.Assemblies)

	list = listOf(t, Choices{Assemblies: map[string]int{"Frame": 5}}, rows...)
	assert.Equal(t, []string{"row 2, quantity: assembly-uneven", "row 3, quantity: assembly-uneven"}, places(list))
	assert.Contains(t, sayings(list)[0], "24 pieces of “stile” cannot be shared out evenly among 5 of “Frame”.")

	list = listOf(t, Choices{Assemblies: map[string]int{"Door": 2, "Frame": 0}}, rows...)
	assert.Equal(t, []string{"assembly-missing", "assembly-count"}, places(list))
	assert.Equal(t, 1, listOf(t, Choices{}, "7;a;1;X", "12;b;1;X").Assemblies[0].Proposed)
	assert.Equal(t, 4, listOf(t, Choices{}, "8;a;1;X;3", "12;b;1;X;1").Assemblies[0].Proposed, "spares are on top")
}

func TestDecimals(t *testing.T) {
	yes, no := true, false
	mm := func(n parts.Length) parts.Length { return n * parts.Millimetre }
	tests := []struct {
		name   string
		choice *bool
		sizes  []string
		first  parts.Length // 0 for trouble with it
	}{
		{"thousands of a list with points", nil, []string{"1,219", "876.3"}, mm(1219)},
		{"decimals of a list with commas", nil, []string{"1,219", "876,3"}, 1219 * parts.Micrometre},
		{"thousands of a list with commas", nil, []string{"1.219", "876,3"}, mm(1219)},
		{"three decimals alone", nil, []string{"2.125"}, 2125 * parts.Micrometre},
		{"thousands alone", nil, []string{"1,219"}, mm(1219)},
		{"a list with both, clear", nil, []string{"876,3", "12.5"}, mm(876) + 300*parts.Micrometre},
		{"a list with both, unclear", nil, []string{"1,219", "12.5", "12,5"}, 0},
		{"comma by choice", &yes, []string{"1,219", "12.5", "12,5"}, 1219 * parts.Micrometre},
		{"point by choice", &no, []string{"1,219", "12.5", "12,5"}, mm(1219)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var rows []string
			for _, s := range tt.sizes {
				rows = append(rows, "1;rail;"+s)
			}
			list := listOf(t, Choices{Unit: parts.Millimetres, DecimalComma: tt.choice}, rows...)
			if tt.first == 0 {
				assert.Equal(t, []string{"row 2, length: decimal-unclear"}, places(list))
				return
			}
			require.Empty(t, sayings(list))
			assert.Equal(t, tt.first, list.Lines[0].Length.Length)
		})
	}
}

func FuzzCSV(f *testing.F) {
	for _, name := range []string{"tern-point.csv", "tern-point-de.csv", "tern-point-bad.csv"} {
		f.Add(readTestdata(f, name))
	}
	f.Add([]byte("qty;part;length;assembly;tests;per blank;hand\n8;rail;9;Back > Ladder;1;4;left\n4;post;30;Back;-;;r"))
	f.Add([]byte("\xff\xfeq\x00"))
	f.Add([]byte("qty,part,length\n1,a,\"2"))
	f.Fuzz(checkFile)
}

// checkFile reads a file; what is a list without troubles must keep to the
// limits, whatever the file is.
func checkFile(t *testing.T, file []byte) {
	table, err := ReadFile("list", file)
	if err != nil {
		require.NotNil(t, parts.AsProblem(err), "%v", err)
		return
	}
	list := Read(table, Choices{})
	for _, trouble := range list.Troubles {
		require.NotContains(t, trouble.String(), "%!")
	}
	if len(list.Troubles) > 0 {
		return
	}
	require.NotEmpty(t, list.Lines)
	pieces := 0
	for _, l := range list.Lines {
		require.True(t, l.Name != "" && l.Quantity > 0 && l.Length != parts.Size{}, fmt.Sprint(l))
		pieces += l.Pieces()
	}
	require.LessOrEqual(t, pieces, MostParts)
	sharedOut(t, list)
}
