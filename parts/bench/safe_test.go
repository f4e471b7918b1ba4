package bench_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/safe"
	"benchtally/parts/shoptest"
)

const shortRails = `qty,part,length,width,thickness,material
4,Short rail,6,2 1/4,3/4,white oak
2,Stile,34 1/2,2 1/4,3/4,white oak
`

// previewShort is a list of two lines that both go over a planer which takes
// 12 in and may spoil 2 in at each end, with so many short rails in a blank.
func previewShort(t *testing.T, b *bench.Bench, perBlank int) bench.Preview {
	ctx := context.Background()
	_, err := b.SaveRouting(ctx, parts.Routing{Key: "planed", Name: "Planed and cut", For: parts.Single, Steps: []parts.Step{
		{Name: "rip to width", Station: "rip", Makes: parts.ToWidth},
		{Name: "plane", Station: "plane", Makes: parts.ToThickness, Snipe: 2 * parts.Inch, Safe: parts.Smallest{Length: 12 * parts.Inch}},
		{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength, Parts: true},
	}})
	require.NoError(t, err)
	table, err := cutlist.ReadText(shortRails)
	require.NoError(t, err)
	p, err := b.Preview(ctx, table, cutlist.Choices{}, bench.Picks{Steps: map[int]string{2: "planed", 3: "planed"}, PerBlank: map[int]int{2: perBlank}})
	require.NoError(t, err)
	require.Empty(t, p.List.Troubles)
	return p
}

// tooShort is 6 + 1 to trim + 2 x 2 of snipe; two of them are 12 + a kerf of
// 1/8 + 5 long.
const tooShort = `Short rail is 11" long at “plane”, and 12" is the least there. Leave 2 together in a blank of 17 1/8" until past it.`

func texts(warnings []safe.Warning) []string {
	var out []string
	for _, w := range warnings {
		out = append(out, w.Text(parts.Style{Unit: parts.Inches, Denominator: 32}))
	}
	return out
}

func TestWhatIsTooSmallIsSaidBeforeItGetsThere(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	p := previewShort(t, b, 0)
	assert.Equal(t, []string{tooShort}, texts(p.Warnings(0)), "in the preview")
	assert.Empty(t, p.Warnings(1), "a stile is long enough")
	job, err := b.MakeJob(ctx, shoptest.NewID(), "Tern Point lockers", p)
	require.NoError(t, err)
	s := &shop{T: t, Bench: b}
	s.job, err = b.Job(ctx, job.Code)
	require.NoError(t, err)
	ticket, first, last := s.ticket("Short rail"), s.mark("Short rail 1"), s.mark("Short rail 4")

	said := func(mark string) []string {
		piece, err := b.Look(ctx, mark)
		require.NoError(t, err)
		return texts(piece.Warnings())
	}
	at := func(station parts.Station) []string {
		small, err := b.TooSmall(ctx, station)
		require.NoError(t, err)
		return texts(small)
	}
	byLine := func() map[int64][]safe.Warning {
		job, err := b.Job(ctx, s.job.Job.Code)
		require.NoError(t, err)
		return job.Warnings()
	}
	all := map[int64][]safe.Warning{s.job.Lines[0].ID: p.Warnings(0)}
	assert.Equal(t, all, byLine())
	assert.Equal(t, []string{tooShort}, said(ticket))
	assert.Equal(t, []string{tooShort}, said(first))
	assert.Empty(t, said(s.ticket("Stile")))
	assert.Equal(t, []string{tooShort}, at("plane"))
	assert.Empty(t, at("rip"), "it says so where it matters")

	s.must(ticket, "rip")
	_, err = s.scan(ticket, "plane", func(r *bench.Request) { r.Count = 3 })
	require.NoError(t, err)
	assert.Equal(t, []string{tooShort}, said(ticket), "one is still before the planer")
	assert.Empty(t, said(first), "it lies behind this one")
	assert.Equal(t, []string{tooShort}, said(last))
	assert.Equal(t, all, byLine())

	s.must(ticket, "plane")
	assert.Empty(t, said(ticket))
	assert.Empty(t, at("plane"))
	assert.Empty(t, byLine())
}

func TestALongBlankIsTheWayOut(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	p := previewShort(t, b, 2)
	assert.Empty(t, p.Warnings(0))
	job, err := b.MakeJob(ctx, shoptest.NewID(), "Tern Point lockers", p)
	require.NoError(t, err)
	pieces, err := b.Job(ctx, job.Code)
	require.NoError(t, err)
	assert.Empty(t, pieces.Warnings())
	small, err := b.TooSmall(ctx, "plane")
	require.NoError(t, err)
	assert.Empty(t, small)
}

func TestAnAssemblyIsNotJudged(t *testing.T) {
	s := openShop(t)
	frame, err := s.Look(context.Background(), s.mark("Locker front 1"))
	require.NoError(t, err)
	assert.Empty(t, frame.Warnings())
}
