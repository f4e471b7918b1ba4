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
