package bench_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// benchBacks is a list of two bench backs, each of a crest rail and a ladder
// of a post and two rungs, and of two loose cleats: several levels, a blank
// that becomes two rungs, spares and a test piece.
const benchBacks = `qty,part,length,width,thickness,material,assembly,spares,test pieces,per blank
2,Crest rail,51 1/2,3 1/2,1 1/8,white oak,Bench back,1,,
2,Post,18,2 1/2,1 1/8,white oak,Bench back > Ladder,1,,
4,Rung,13,2,1/2,white oak,Bench back > Ladder,2,1,2
2,Cleat,9,1 1/2,1 1/2,white oak,,1,,
`

// shortSteps are steps that random histories get through in a few taps, with
// each kind of step once: a rest, a blank that is cut up, holes, a first
// piece, coats with and without a window, a dry fit that is screwed and one
// that is glued onto a finished face. The times are made up.
var shortSteps = []parts.Routing{
	{Name: "Rung out of a blank", For: parts.Single, Steps: []parts.Step{
		{Name: "rough length", Station: "crosscut"},
		{Name: "rest", Clock: parts.Resting, Minutes: 60},
		{Name: "cut to length", Station: "crosscut", Parts: true, Sets: parts.ToLength, Check: "length of the first piece"},
		{Name: "bore", Station: "bore", Bores: true, Check: "holes of the first piece"},
	}},
	{Name: "Post with holes", For: parts.Single, Steps: []parts.Step{
		{Name: "plane", Station: "plane"},
		{Name: "bore", Station: "bore", Bores: true, Check: "holes of the first piece"},
	}},
	{Name: "Crest rail, stained", For: parts.Single, Steps: []parts.Step{
		{Name: "plane", Station: "plane"},
		{Name: "first coat", Station: "stain", Record: true, Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.Edges}},
		{Name: "dry", Clock: parts.Drying, Minutes: 240},
		{Name: "look over", Station: "sand"},
	}},
	{Name: "Cleat, two coats", For: parts.Single, Steps: []parts.Step{
		{Name: "plane", Station: "plane"},
		{Name: "bore", Station: "bore", Bores: true},
		{Name: "first coat", Station: "stain", Record: true, Coat: "topcoat", Coats: []parts.Face{parts.ShowFace}},
		{Name: "dry", Clock: parts.Drying, Minutes: 240, Latest: 1440, Missed: "sand it and wipe it off"},
		{Name: "second coat", Station: "topcoat", Record: true, Coat: "topcoat", Coats: []parts.Face{parts.ShowFace}},
		{Name: "dry", Clock: parts.Drying, Minutes: 300},
	}},
	{Name: "Ladder, screwed", For: parts.Assembly, Steps: []parts.Step{
		{Name: "dry fit", Station: "glue", Binds: true},
		{Name: "screw together", Station: "glue", Record: true},
		{Name: "sand", Station: "sand"},
	}},
	{Name: "Back, glued", For: parts.Assembly, Steps: []parts.Step{
		{Name: "dry fit", Station: "glue", Binds: true},
		{Name: "glue up", Station: "glue", Record: true, Glues: true, Joins: []parts.Face{parts.Edges}},
		{Name: "in clamps", Clock: parts.Clamps, Minutes: 60},
		{Name: "set", Clock: parts.Setting, Minutes: 120},
		{Name: "first coat", Station: "stain", Record: true, Coat: "stain", Coats: []parts.Face{parts.ShowFace}},
		{Name: "dry", Clock: parts.Drying, Minutes: 240},
		{Name: "wrap", Station: "wrap"},
	}},
}

// scratch is a defect that does the last step over, which none of the
// ready-made ones does.
var scratch = parts.Defect{Name: "Scratch", Again: parts.LastAgain, Limit: 1}

// furnish adds the steps and the defect to a shop and gives the keys of the
// steps by what follows them.
func furnish(t *testing.T, b *bench.Bench) map[string]string {
	ctx := context.Background()
	keys := map[string]string{}
	for i, name := range []string{"Rung", "Post", "Crest rail", "Cleat", "Ladder", "Bench back"} {
		r, err := b.SaveRouting(ctx, shortSteps[i])
		require.NoError(t, err)
		keys[name] = r.Key
	}
	_, err := b.SaveDefect(ctx, scratch)
	require.NoError(t, err)
	return keys
}

// makeJob makes the bench backs.
func (d *days) makeJob(keys map[string]string) {
	ctx := context.Background()
	table, err := cutlist.ReadText(benchBacks)
	require.NoError(d, err)
	p, err := d.Preview(ctx, table, cutlist.Choices{Assemblies: map[string]int{"Bench back": 2, "Bench back > Ladder": 2}}, bench.Picks{
		Steps:         map[int]string{2: keys["Crest rail"], 3: keys["Post"], 4: keys["Rung"], 5: keys["Cleat"]},
		AssemblySteps: map[string]string{"Bench back": keys["Bench back"], "Bench back > Ladder": keys["Ladder"]},
	})
	require.NoError(d, err)
	require.Empty(d, p.List.Troubles)
	job, err := d.MakeJob(ctx, shoptest.NewID(), "Tern Point benches", p)
	require.NoError(d, err)
	d.code = job.Code
	d.look()
}

// emptyCarts has two carts ready that nothing lies on and nobody holds. They
// belong to the shop, not to a job, and are used again.
func (d *days) emptyCarts() {
	ctx := context.Background()
	rows, err := d.Carts(ctx)
	require.NoError(d, err)
	for range 2 - len(rows) {
		_, err := d.AddCart(ctx, shoptest.NewID(), "", "")
		require.NoError(d, err)
	}
	rows, err = d.Carts(ctx)
	require.NoError(d, err)
	for _, c := range rows {
		p, err := d.Look(ctx, string(c.Part))
		require.NoError(d, err)
		for _, s := range append(p.View.Group, c.State) {
			if s.Held != "" { // what is held would stay on it
				_, err := d.Release(ctx, bench.Request{ID: shoptest.NewID(), Mark: string(s.Part)})
				require.NoError(d, err)
			}
		}
		if c.Count > 0 {
			_, err := d.Load(ctx, bench.Request{ID: shoptest.NewID(), Mark: string(c.Part)})
			require.NoError(d, err)
		}
	}
}

// look reads the job and the carts again.
func (d *days) look() {
	var err error
	d.job, err = d.Job(context.Background(), d.code)
	require.NoError(d, err)
	rows, err := d.Carts(context.Background())
	require.NoError(d, err)
	d.carts, d.logged = nil, nil
	for _, c := range rows {
		d.carts = append(d.carts, c.State)
	}
}

// all are the states of everything: the job's marks and the carts.
func (d *days) all() []parts.State { return slices.Concat(d.job.States, d.carts) }

// stepsOf are the steps that s follows.
func (d *days) stepsOf(s parts.State) []parts.Step { return d.job.Routings[s.Steps].Steps }

// line is a line of the job by its name.
func (d *days) line(name string) parts.Line {
	i := slices.IndexFunc(d.job.Lines, func(l parts.Line) bool { return l.Name == name })
	return d.job.Lines[i]
}

// nth is the mark of a piece of a line by its number.
func (d *days) nth(name string, number int) string {
	line := d.line(name).ID
	i := slices.IndexFunc(d.job.States, func(s parts.State) bool {
		return s.Line == line && s.Number == number && s.Kind != parts.Ticket
	})
	return string(d.job.States[i].Part)
}
