package bench_test

import (
	"cmp"
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// benchList is a list of bench backs with ladders inside.
const benchList = `qty,part,length,width,thickness,material,assembly,spares,test pieces,per blank
2,Crest rail,51 1/2,3 1/2,1 1/8,white oak,Bench back,,,
16,Rung,13,2,1/2,white oak,Bench back > Ladder,2,1,4
8,Post,18,2 1/2,1 1/8,white oak,Bench back > Ladder,1,,
`

// previewOf reads a list that must be readable.
func previewOf(t require.TestingT, b *bench.Bench, list string, c cutlist.Choices, picks bench.Picks) bench.Preview {
	table, err := cutlist.ReadText(list)
	require.NoError(t, err)
	p, err := b.Preview(context.Background(), table, c, picks)
	require.NoError(t, err)
	return p
}

func TestAJobOfSeveralLevels(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	job := shoptest.ListJob(t, b, "Tern Point benches", benchList, map[string]int{"Bench back > Ladder": 4})
	lines := map[string]parts.Line{}
	for _, l := range job.Lines {
		lines[l.Name] = l
	}
	require.Len(t, lines, 5)
	back, ladder := lines["Bench back"], lines["Ladder"]
	assert.Equal(t, []any{parts.Assembly, 2, int64(0)}, []any{back.Kind, back.Quantity, back.Into})
	assert.Equal(t, []any{parts.Assembly, 4, back.ID, 2}, []any{ladder.Kind, ladder.Quantity, ladder.Into, ladder.Each})
	assert.Equal(t, []any{back.ID, 1}, []any{lines["Crest rail"].Into, lines["Crest rail"].Each})
	assert.Equal(t, []any{ladder.ID, 4}, []any{lines["Rung"].Into, lines["Rung"].Each})
	assert.Equal(t, []int{16, 2, 1, 4}, []int{lines["Rung"].Quantity, lines["Rung"].Spares, lines["Rung"].Tests, lines["Rung"].PerBlank})

	var rungs []parts.State
	for _, s := range job.States {
		if s.Line == lines["Rung"].ID && s.Kind == parts.Single {
			rungs = append(rungs, s)
		}
	}
	require.Len(t, rungs, 19)
	for i, s := range rungs {
		assert.Equal(t, []any{i + 1, i >= 16, i >= 18}, []any{s.Number, s.Spare, s.Test}, "spares follow, then test pieces")
	}
	assert.Equal(t, "Rung 19 (test piece)", parts.PieceName(lines["Rung"], rungs[18]))

	for _, l := range job.Lines {
		p, err := b.Look(context.Background(), string(l.Ticket))
		require.NoError(t, err)
		assert.Len(t, p.View.Group, l.Pieces(), "the ticket of %s", l.Name)
		assert.NotEmpty(t, p.Steps)
	}
}

// Marks are as many as the lines have pieces, spares and test pieces counted,
// and a ticket for each line.
func TestAJobHasAMarkForEveryPiece(t *testing.T) {
	shoptest.Cases(t, 25)
	b := shoptest.Open(t, shoptest.NewClock())
	rapid.Check(t, func(rt *rapid.T) {
		few := rapid.IntRange(0, 3)
		rows := []string{"qty,part,length,assembly,spares,tests,per blank"}
		for i := range rapid.IntRange(1, 5).Draw(rt, "lines") {
			path := strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"a", "b"}), 0, 3).Draw(rt, "path"), " > ")
			rows = append(rows, fmt.Sprintf("%d,part %d,9,%s,%d,%d,%d", 1+few.Draw(rt, "quantity"), i, path, few.Draw(rt, "spares"), few.Draw(rt, "tests"), few.Draw(rt, "per blank")))
		}
		p := previewOf(rt, b, strings.Join(rows, "\n"), cutlist.Choices{}, bench.Picks{Spares: map[int]int{2: few.Draw(rt, "picked")}, Tests: map[int]int{2: few.Draw(rt, "picked")}})
		job, err := b.MakeJob(context.Background(), shoptest.NewID(), "Lockers", p)
		require.NoError(rt, err)
		made, err := b.Job(context.Background(), job.Code)
		require.NoError(rt, err)
		pieces := 0
		for _, l := range made.Lines {
			pieces += l.Pieces()
		}
		require.Equal(rt, p.Parts+p.Spares+p.Tests+p.Made, pieces)
		require.Len(rt, made.States, pieces+len(made.Lines))
	})
}

func TestPicksOfAPreview(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	p := previewOf(t, b, benchList, cutlist.Choices{}, bench.Picks{Spares: map[int]int{3: 0}, Tests: map[int]int{3: 2, 4: 1}, PerBlank: map[int]int{3: 0, 4: 2}})
	require.Empty(t, p.List.Troubles)
	assert.Equal(t, []int{26, 1, 3, 10}, []int{p.Parts, p.Spares, p.Tests, p.Made})
	assert.Equal(t, []int{0, 2, 0}, []int{p.Lines[1].Spares, p.Lines[1].Tests, p.Lines[1].PerBlank})
	assert.Equal(t, []int{1, 1, 2}, []int{p.Lines[2].Spares, p.Lines[2].Tests, p.Lines[2].PerBlank})

	table, err := cutlist.ReadText(benchList)
	require.NoError(t, err)
	for _, picks := range []bench.Picks{
		{Spares: map[int]int{3: -1}}, {Spares: map[int]int{3: 10_001}}, {Tests: map[int]int{3: -1}}, {Tests: map[int]int{3: 10_001}},
		{PerBlank: map[int]int{3: -1}}, {PerBlank: map[int]int{3: 1_001}},
	} {
		_, err := b.Preview(context.Background(), table, cutlist.Choices{}, picks)
		assert.Equal(t, "picked-out", parts.CodeOf(err), "%v", picks)
		assert.ErrorContains(t, err, "Row 3: there cannot be")
	}
	many := map[int]int{}
	list := "qty,part,length\n"
	for row := 2; row < 8; row++ {
		list += "1,rail,9\n"
		many[row] = 10_000
	}
	table, err = cutlist.ReadText(list)
	require.NoError(t, err)
	_, err = b.Preview(context.Background(), table, cutlist.Choices{}, bench.Picks{Spares: many})
	assert.Equal(t, "list-parts", parts.CodeOf(err), "what is picked keeps to the limit too")
}

// The ticket of an assembly says how many it stands for and what comes next.
func TestTheTicketOfAnAssembly(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	job := shoptest.ListJob(t, b, "Tern Point benches", benchList, map[string]int{"Bench back > Ladder": 4})
	ladder := job.Lines[4]
	require.Equal(t, "Ladder", ladder.Name)
	order, err := b.Print(context.Background(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "tickets", Marks: []string{string(ladder.Ticket)}})
	require.NoError(t, err)
	for _, says := range []string{`"name":"Ladder"`, `"count":4`, `"assembly":"Bench back"`, `"steps":[{"name":"dry fit"`} {
		assert.Contains(t, string(order.Content), says)
	}
	assert.NotContains(t, string(order.Content), `"size"`)
	order, err = b.Print(context.Background(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "tickets"})
	require.NoError(t, err)
	assert.Equal(t, len(job.Lines), strings.Count(string(order.Content), `"mark"`), "one for each line")
}

// hints gives where and what is worth a look: "row 2, hand: hand-missing".
func hints(p bench.Preview) []string {
	out := []string{}
	for _, h := range p.Hints {
		out = append(out, fmt.Sprintf("row %d, %s: %s", h.Row, cmp.Or(string(h.Field), h.Heading), h.Problem.Code))
	}
	return out
}

func TestPatternsAndHandsOfAList(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	ctx := context.Background()
	hole := func(into parts.HoleFace, along parts.Length) parts.Hole {
		return parts.Hole{Into: into, Along: along * parts.Inch, Diameter: parts.Inch * 3 / 8, Depth: parts.Inch}
	}
	// Two holes near one end of one edge: turned end for end with its show face
	// up, a part has them in the other edge at the other end, which no mirror
	// image has. One in the middle of the left end and of the right: half a
	// turn changes nothing.
	stile, err := b.SavePattern(ctx, parts.Pattern{Name: "Stile, two dowels", Holes: []parts.Hole{hole(parts.IntoNearEdge, 1), hole(parts.IntoNearEdge, 3)}})
	require.NoError(t, err)
	rail, err := b.SavePattern(ctx, parts.Pattern{Name: "Rail, end dowels", Holes: []parts.Hole{hole(parts.IntoLeftEnd, 0), hole(parts.IntoRightEnd, 0)}})
	require.NoError(t, err)

	p := previewOf(t, b, `qty,part,length,width,thickness,material,assembly,pattern,hand
12,Left stile,34 1/2,2 1/4,3/4,white oak,Locker front,"Stile, two dowels",left
12,Right stile,34 1/2,2 1/4,3/4,white oak,Locker front,`+stile.Key+`,r
12,Top rail,11 3/8,2 1/4,3/4,white oak,Locker front,"rail, end dowels",left
12,Stile,34 1/2,2 1/4,3/4,white oak,Locker side,"Stile, two dowels",
12,Cleat,9,1 1/2,1 1/2,white oak,,,left
12,Short stile,2,2 1/4,3/4,white oak,,"Stile, two dowels",left
`, cutlist.Choices{}, bench.Picks{})
	require.Empty(t, p.List.Troubles)
	var said []string
	for _, l := range p.Lines {
		said = append(said, strings.TrimSpace(l.Pattern+" "+string(l.Hand)))
	}
	assert.Equal(t, []string{stile.Key + " left", stile.Key + " right", rail.Key, stile.Key, "left", stile.Key + " left"}, said,
		"a rail that fits either place has no hand")
	assert.Equal(t, []string{"row 5, hand: hand-missing", "row 7, pattern: hole-outside"}, hints(p))
	assert.Contains(t, p.Hints[0].String(), "Stile, bored as “Stile, two dowels”, is either a left or a right part.")
	assert.Equal(t, []any{9, "hand"}, []any{p.Hints[0].Column, p.Hints[0].Heading})

	job, err := b.MakeJob(ctx, shoptest.NewID(), "Lockers", p)
	require.NoError(t, err, "a hint stops nothing")
	made, err := b.Job(ctx, job.Code)
	require.NoError(t, err)
	assert.Equal(t, []any{stile.Key, parts.Right}, []any{made.Lines[1].Pattern, made.Lines[1].Hand})

	p = previewOf(t, b, "qty,part,length,pattern\n2,Rail,9,cup hinges\n", cutlist.Choices{}, bench.Picks{})
	require.Len(t, p.List.Troubles, 1)
	assert.Contains(t, p.List.Troubles[0].String(), "There are: Rail, end dowels; Stile, two dowels.")
	_, err = b.MakeJob(ctx, shoptest.NewID(), "Lockers", p)
	assert.Equal(t, "list-troubled", parts.CodeOf(err))
}

// Blanks need a step that makes parts of them.
func TestBlanksThatStayWhole(t *testing.T) {
	b := shoptest.Open(t, shoptest.NewClock())
	whole, err := b.SaveRouting(context.Background(), parts.Routing{Name: "Never cut", For: parts.Single, Steps: []parts.Step{{Name: "plane", Station: "plane"}}})
	require.NoError(t, err)
	cut, err := b.SaveRouting(context.Background(), parts.Routing{Name: "Cut late", For: parts.Single, Steps: []parts.Step{
		{Name: "plane", Station: "plane"}, {Name: "cut to length", Station: "crosscut", Parts: true}}})
	require.NoError(t, err)
	list := "qty,part,length,per blank\n8,Rail,9,4\n8,Rail,9,1\n8,Rail,9,\n"
	steps := map[int]string{2: whole.Key, 3: whole.Key, 4: whole.Key}
	p := previewOf(t, b, list, cutlist.Choices{}, bench.Picks{Steps: steps})
	assert.Equal(t, []string{"row 2, per blank: blank-whole"}, hints(p))
	steps[2] = cut.Key
	assert.Empty(t, hints(previewOf(t, b, list, cutlist.Choices{}, bench.Picks{Steps: steps})))
}
