package bench_test

import (
	"context"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
	"benchtally/parts/routing"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// shelves is a list of loose parts that go side by side, and one that does not.
const shelves = `qty,part,length,width,thickness,material,assembly,spares
3,Shelf,30,10,3/4,white oak,,
2,Fascia,30,4,3/4,white oak,,
`

// lockerStain is three parts of base to one of colour.
func lockerStain() finish.Mix {
	return finish.Mix{Name: "Locker brown", Coat: "stain", Method: finish.Wipe, Loss: 10 * finish.One, Coverage: 12 * finish.One, Reserve: 10 * finish.One,
		Components: []finish.Component{{Name: "Stain base", Parts: 3 * finish.One}, {Name: "Oak brown", Parts: finish.One, Colour: true}}}
}

// finisher is a shop whose loose parts are stained with a mix.
type finisher struct {
	*bench.Bench
	t     *testing.T
	clock *shoptest.Clock
	mix   finish.Mix
	job   bench.JobPieces
}

func openFinisher(t *testing.T) *finisher {
	ctx := context.Background()
	f := &finisher{t: t, clock: shoptest.NewClock()}
	f.Bench = shoptest.Open(t, f.clock)
	var err error
	f.mix, err = f.SaveMix(ctx, lockerStain(), nil)
	require.NoError(t, err)
	all, err := f.Routings(ctx)
	require.NoError(t, err)
	for _, r := range all {
		if r.Key != routing.LoosePart {
			continue
		}
		r.Steps = slices.Clone(r.Steps)
		for i := range r.Steps {
			if r.Steps[i].Coat == "stain" {
				r.Steps[i].Mix = f.mix.Key
			}
		}
		_, err = f.SaveRouting(ctx, r)
		require.NoError(t, err)
	}
	f.job = shoptest.ListJob(t, f.Bench, "Tern Point shelves", shelves, nil)
	return f
}

// stain scans the first coat of stain of a piece of a line.
func (f *finisher) stain(name string, r bench.Request) (bench.Answer, error) {
	f.t.Helper()
	ctx := context.Background()
	for _, s := range f.job.States {
		if parts.PieceName(f.job.LineOf(s), s) != name || s.Kind != parts.Single {
			continue
		}
		p, err := f.Look(ctx, string(s.Part))
		require.NoError(f.t, err)
		at := slices.IndexFunc(p.Steps, func(s parts.Step) bool { return s.Coat == "stain" })
		if p.State.Next < at {
			_, err = f.Skip(ctx, bench.Request{ID: shoptest.NewID(), Mark: string(s.Part), Step: parts.StepNumber(at, false), Reason: "bought sanded"})
			require.NoError(f.t, err)
		}
		r.ID, r.Mark, r.Station = shoptest.NewID(), string(s.Part), "stain"
		return f.Scan(ctx, r)
	}
	f.t.Fatalf("no %s", name)
	return bench.Answer{}, nil
}

// markOf is the mark of a piece.
func (f *finisher) markOf(name string) string {
	for _, s := range f.job.States {
		if parts.PieceName(f.job.LineOf(s), s) == name && s.Kind == parts.Single {
			return string(s.Part)
		}
	}
	f.t.Fatalf("no %s", name)
	return ""
}

func (f *finisher) approve() {
	f.t.Helper()
	boards, err := f.AddSamples(context.Background(), bench.SampleRequest{Mix: f.mix.Key, Wood: "white oak", Grit: 180, Coats: 2, Ratios: finish.UsualRatios()})
	require.NoError(f.t, err)
	require.Len(f.t, boards, 3)
	f.mix, err = f.Approve(context.Background(), boards[1].Number, "the club's secretary")
	require.NoError(f.t, err)
}

func (f *finisher) mixIt(size finish.Volume) finish.Batch {
	f.t.Helper()
	b, err := f.MixIt(context.Background(), bench.BatchRequest{ID: shoptest.NewID(), Mix: f.mix.Key, Size: size, Measure: "syringe", Jar: finish.UsualJar, By: "Ben"})
	require.NoError(f.t, err)
	return b
}

func TestStainingWaitsForTheClient(t *testing.T) {
	f := openFinisher(t)
	_, err := f.stain("Shelf 1", bench.Request{})
	require.Equal(t, finish.CodeNotApproved, parts.CodeOf(err))
	require.Equal(t, f.mix.Key, parts.AsProblem(err).Facts["mix"])
	_, err = f.stain("Shelf 1", bench.Request{Override: true, Reason: "it will do"})
	require.Equal(t, finish.CodeNotApproved, parts.CodeOf(err), "nobody overrules the client")
	f.approve()
	require.Equal(t, "the club's secretary", f.mix.Approved.By)
	a, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err, "no batch is recorded, and this shop does not mind")
	require.Zero(t, a.Batch)
	// Another shade has to be shown again.
	changed := f.mix
	changed.Components = slices.Clone(changed.Components)
	changed.Components[0].Parts = 2 * finish.One
	_, err = f.SaveMix(context.Background(), changed, nil)
	require.NoError(t, err)
	_, err = f.stain("Shelf 2", bench.Request{})
	require.Equal(t, finish.CodeColourChanged, parts.CodeOf(err))
}

func TestABatchIsTakenAndGivenBack(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	ctx := context.Background()
	b := f.mixIt(250 * finish.Millilitre)
	require.Equal(t, b.Volume-finish.UsualJar, b.Left)
	f.clock.Pass(time.Minute)
	a, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err)
	require.Equal(t, b.Number, a.Batch)
	look, err := f.Batch(ctx, b.Number)
	require.NoError(t, err)
	// All faces of 30 by 10 by 3/4 inches, at 12 m² to the litre with a tenth lost.
	area := (2*30*10 + 2*30*0.75 + 2*10*0.75) * 0.0254 * 0.0254
	require.InDelta(t, area/12/0.9*1000, float64(b.Left-look.Left)/float64(finish.Millilitre), 0.01)
	require.Len(t, look.Got, 1)
	require.Equal(t, "Shelf 1", look.Got[0].Name)
	require.Equal(t, []string{"stain, coat 1"}, look.Got[0].Coats)
	p, err := f.Look(ctx, string(a.Mark))
	require.NoError(t, err)
	require.Contains(t, p.Moments[0].Text(), "stain, first coat done with batch 1")

	command, err := parts.ParseCommandID(a.Command)
	require.NoError(t, err)
	_, err = f.Undo(ctx, bench.UndoRequest{ID: shoptest.NewID(), Command: command})
	require.NoError(t, err)
	look, err = f.Batch(ctx, b.Number)
	require.NoError(t, err)
	require.Equal(t, b.Left, look.Left, "an undo gives it back")
	require.Empty(t, look.Got)
}

func TestANeighbourOfAnotherBatchIsWarnedOf(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	ctx := context.Background()
	var lines []int64
	for _, l := range f.job.Lines {
		lines = append(lines, l.ID)
	}
	require.NoError(t, f.SaveColourGroup(ctx, f.job.Job.Code, "North wall", lines))
	one := f.mixIt(250 * finish.Millilitre)
	_, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err)
	f.clock.Pass(time.Hour)
	two := f.mixIt(250 * finish.Millilitre)
	f.clock.Pass(time.Minute)
	_, err = f.stain("Fascia 1", bench.Request{})
	require.Equal(t, finish.CodeBatchesDiffer, parts.CodeOf(err))
	require.Equal(t, one.Number, parts.AsProblem(err).Facts["instead"])
	a, err := f.stain("Fascia 1", bench.Request{Batch: one.Number})
	require.NoError(t, err)
	require.Equal(t, one.Number, a.Batch)
	a, err = f.stain("Shelf 2", bench.Request{Override: true, Reason: bench.GoOnReason})
	require.NoError(t, err)
	require.Equal(t, two.Number, a.Batch)
	p, err := f.Look(ctx, string(a.Mark))
	require.NoError(t, err)
	require.Equal(t, bench.GoOnReason, p.Moments[0].Why, "it stays visible")
}

func TestAShopThatWantsEveryBatch(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	ctx := context.Background()
	set, err := f.Settings(ctx)
	require.NoError(t, err)
	set.Batches = true
	require.NoError(t, f.SaveSettings(ctx, set))
	for _, name := range []string{"Shelf 1", "Shelf 2", "Shelf 3"} {
		_, err = f.stain(name, bench.Request{})
		require.Equal(t, finish.CodeNoBatch, parts.CodeOf(err))
	}
	b := f.mixIt(100 * finish.Millilitre)
	a, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err)
	require.Equal(t, b.Number, a.Batch)
	f.clock.Pass(10 * time.Minute)
	open := f.clock.Now()
	f.clock.Pass(10 * time.Minute)
	shut := false
	require.NoError(t, f.ChangeBatch(ctx, b.Number, bench.BatchChange{Open: &shut}))
	f.clock.Pass(10 * time.Minute)
	_, err = f.stain("Shelf 2", bench.Request{})
	require.Equal(t, finish.CodeNoBatch, parts.CodeOf(err))
	// The phone had no network: when the coat was put on, the batch was open.
	a, err = f.stain("Shelf 3", bench.Request{At: open})
	require.NoError(t, err)
	require.Equal(t, b.Number, a.Batch)
}

func TestThreeBatchesOfThreeDaysAreAlike(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	var before finish.Dosing
	for day := range 3 {
		m, d, err := f.Dose(context.Background(), f.mix.Key, 237*finish.Millilitre, "syringe")
		require.NoError(t, err)
		if day > 0 {
			require.Equal(t, before, d)
		}
		before = d
		b := f.mixIt(237 * finish.Millilitre)
		require.Equal(t, m.Recipe(), b.Recipe)
		require.Equal(t, d.Volume, b.Volume)
		f.clock.Pass(24 * time.Hour)
	}
}

func TestABatchComesOutOfTheCans(t *testing.T) {
	f := openFinisher(t)
	ctx := context.Background()
	put := func(name, lot string, left finish.Volume, opened time.Time) {
		require.NoError(t, f.SaveCan(ctx, store.Can{Can: finish.Can{Container: finish.Container{Name: name, Lot: lot, Opened: opened}, Left: left}}))
	}
	put("Stain base", "B-2", finish.Litre, shoptest.Noon.Add(-24*time.Hour))
	put("Stain base", "B-1", 90*finish.Millilitre, shoptest.Noon.Add(-48*time.Hour))
	put("Oak brown", "C-1", 500*finish.Millilitre, shoptest.Noon.Add(-24*time.Hour))
	b := f.mixIt(200 * finish.Millilitre) // 150 of base, 50 of colour
	require.Equal(t, 200*finish.Millilitre, b.Volume)
	var lots []string
	for _, c := range b.From {
		lots = append(lots, c.Lot)
	}
	require.ElementsMatch(t, []string{"B-1", "B-2", "C-1"}, lots)
	board, err := f.Finish(ctx)
	require.NoError(t, err)
	left := map[string]finish.Volume{}
	for _, c := range board.Cans {
		left[c.Lot] = c.Left
	}
	require.Equal(t, map[string]finish.Volume{"B-2": 940 * finish.Millilitre, "C-1": 450 * finish.Millilitre}, left, "the old can first, and it is empty")
}

func TestWhatIsToBeCoated(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	board, err := f.Finish(context.Background())
	require.NoError(t, err)
	require.Len(t, board.Mixes, 1)
	m := board.Mixes[0]
	require.Len(t, m.ToDo, 4, "two lines, two coats of stain each")
	one := 2*(30*10+30*0.75+10*0.75)*3 + 2*(30*4+30*0.75+4*0.75)*2
	require.InDelta(t, one*2*0.0254*0.0254, float64(m.Area)/float64(finish.SquareMetre), 1e-6)
	require.NotNil(t, m.Plan)
	require.GreaterOrEqual(t, m.Plan.Total, m.Need)
	b := f.mixIt(2 * finish.Litre)
	board, err = f.Finish(context.Background())
	require.NoError(t, err)
	require.Nil(t, board.Mixes[0].Plan, "the open batch will do")
	require.Equal(t, b.Number, board.Mixes[0].Open[0].Number)
}

// openPlain is a shop whose steps name no mix, as they are when it is new.
func openPlain(t *testing.T) *finisher {
	f := &finisher{t: t, clock: shoptest.NewClock()}
	f.Bench = shoptest.Open(t, f.clock)
	f.job = shoptest.ListJob(t, f.Bench, "Tern Point shelves", shelves, nil)
	return f
}

// A shop without mixes notices nothing, not even where it wants every batch.
func TestStepsWithoutAMixNoticeNothing(t *testing.T) {
	ctx := context.Background()
	f := openPlain(t)
	set, err := f.Settings(ctx)
	require.NoError(t, err)
	set.Batches = true
	require.NoError(t, f.SaveSettings(ctx, set))
	a, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err)
	require.Zero(t, a.Batch)
}

// With the first mix its coat is watched, though no step names it: the colour
// waits for the client, the batch is taken, and counted.
func TestTheMixOfACoatCountsByItself(t *testing.T) {
	ctx := context.Background()
	f := openPlain(t)
	_, err := f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err, "there is no mix yet")
	f.mix, err = f.SaveMix(ctx, lockerStain(), nil)
	require.NoError(t, err)
	_, err = f.stain("Shelf 2", bench.Request{})
	require.Equal(t, finish.CodeNotApproved, parts.CodeOf(err))
	f.approve()
	set, err := f.Settings(ctx)
	require.NoError(t, err)
	set.Batches = true
	require.NoError(t, f.SaveSettings(ctx, set))
	_, err = f.stain("Shelf 2", bench.Request{})
	require.Equal(t, finish.CodeNoBatch, parts.CodeOf(err))
	board, err := f.Finish(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, board.Mixes[0].ToDo, "it is what those coats are of")
	require.Empty(t, board.Unnamed)
	one := f.mixIt(250 * finish.Millilitre)
	f.clock.Pass(time.Minute)
	a, err := f.stain("Shelf 2", bench.Request{})
	require.NoError(t, err)
	require.Equal(t, one.Number, a.Batch)

	// A second colour for the same coat: nobody guesses.
	grey := lockerStain()
	grey.Name, grey.Components[1].Name = "Locker grey", "Slate grey"
	_, err = f.SaveMix(ctx, grey, nil)
	require.NoError(t, err)
	a, err = f.stain("Shelf 3", bench.Request{})
	require.NoError(t, err)
	require.Equal(t, one.Number, a.Batch, "one of the two has an open batch")
	shut := false
	require.NoError(t, f.ChangeBatch(ctx, one.Number, bench.BatchChange{Open: &shut}))
	f.clock.Pass(time.Minute)
	_, err = f.stain("Fascia 1", bench.Request{})
	require.Equal(t, finish.CodeWhichMix, parts.CodeOf(err))
	board, err = f.Finish(ctx)
	require.NoError(t, err)
	require.Equal(t, []string{"stain"}, board.Unnamed)
}

// What a page says above a button is what the scan would say.
func TestTheOfferWarnsBeforeTheBrush(t *testing.T) {
	ctx := context.Background()
	f := openPlain(t)
	var err error
	two := lockerStain()
	two.PotLife = 60
	f.mix, err = f.SaveMix(ctx, two, nil)
	require.NoError(t, err)
	ahead := func() *bench.Ahead {
		a, err := f.stain("Shelf 1", bench.Request{Batch: 99}) // refused: nothing is recorded
		require.Error(t, err)
		require.Empty(t, a.Mark)
		p, err := f.Look(ctx, f.markOf("Shelf 1"))
		require.NoError(t, err)
		offers, err := f.Offers(ctx, p, "stain")
		require.NoError(t, err)
		require.NotEmpty(t, offers)
		require.NotNil(t, offers[0].Ahead)
		return offers[0].Ahead
	}
	same := func(code string) *parts.Problem {
		said := ahead().Refused
		_, err := f.stain("Shelf 1", bench.Request{})
		require.Equal(t, code, parts.CodeOf(err))
		require.Equal(t, said.Error(), err.Error())
		return parts.AsProblem(err)
	}
	same(finish.CodeNotApproved)
	f.approve()
	b := f.mixIt(250 * finish.Millilitre)
	f.clock.Pass(time.Minute)
	a := ahead()
	require.Nil(t, a.Refused)
	require.Equal(t, b.Number, a.Batch.Number)
	require.Equal(t, b.Until(), a.Batch.Until())

	// Told after the pot life, of a coat that was put on within it.
	f.clock.Pass(2 * time.Hour)
	refused := same(finish.CodePotLifePast)
	require.Equal(t, b.Until().Add(-time.Minute), refused.Facts["before"], "the piece was ready in time")
}

// A coat is judged by when it was put on. Where the piece was ready in time,
// the refusal says so.
func TestACoatIsJudgedAtItsOwnTime(t *testing.T) {
	ctx := context.Background()
	f := openPlain(t)
	var err error
	two := lockerStain()
	two.PotLife = 60
	f.mix, err = f.SaveMix(ctx, two, nil)
	require.NoError(t, err)
	f.approve()
	for _, name := range []string{"Shelf 1", "Shelf 2"} {
		_, err = f.stain(name, bench.Request{Batch: 99}) // sanded, and not stained
		require.Error(t, err)
	}
	f.clock.Pass(time.Minute)
	b := f.mixIt(250 * finish.Millilitre)
	f.clock.Pass(2 * time.Hour)
	_, err = f.stain("Shelf 1", bench.Request{})
	require.Equal(t, finish.CodePotLifePast, parts.CodeOf(err))
	before, ok := parts.AsProblem(err).Facts["before"].(time.Time)
	require.True(t, ok)
	require.Equal(t, b.Until().Add(-time.Minute), before)
	_, err = f.stain("Shelf 1", bench.Request{At: b.Until()})
	require.Equal(t, finish.CodePotLifePast, parts.CodeOf(err))
	require.NotContains(t, parts.AsProblem(err).Facts, "before", "the time is known")
	a, err := f.stain("Shelf 1", bench.Request{At: before})
	require.NoError(t, err)
	require.Equal(t, b.Number, a.Batch)
}

// A two-part mix of which nobody knows how fast it is used still gives an
// amount and a list of marks.
func TestATwoPartMixGivesAList(t *testing.T) {
	ctx := context.Background()
	f := openPlain(t)
	m := lockerStain()
	m.PotLife = 8 * 60
	m, err := f.SaveMix(ctx, m, nil)
	require.NoError(t, err)
	board, err := f.Finish(ctx)
	require.NoError(t, err)
	require.Nil(t, board.Mixes[0].Problem)
	require.NotNil(t, board.Mixes[0].Plan)
	require.NotEmpty(t, board.Mixes[0].Plan.Each.Portions)
	m.PerHour = 20 * finish.Millilitre
	_, err = f.SaveMix(ctx, m, nil)
	require.NoError(t, err)
	board, err = f.Finish(ctx)
	require.NoError(t, err)
	require.Greater(t, board.Mixes[0].Plan.Batches, 1, "the shop's own figure goes before what the steps expect")
	require.False(t, board.Mixes[0].Plan.Assumed)
}

// A batch that is recorded by the list that was shown is that list.
func TestTheListThatWasShownIsRecorded(t *testing.T) {
	ctx := context.Background()
	f := openFinisher(t)
	_, shown, err := f.Dose(ctx, f.mix.Key, 237*finish.Millilitre, "cup")
	require.NoError(t, err)
	_, again, err := f.DoseAgain(ctx, f.mix.Key, shown.Volume, "cup")
	require.NoError(t, err)
	require.Equal(t, shown, again)
	b, err := f.MixIt(ctx, bench.BatchRequest{ID: shoptest.NewID(), Mix: f.mix.Key, Size: shown.Volume, Exact: true, Measure: "cup"})
	require.NoError(t, err)
	require.Equal(t, shown.Volume, b.Volume)
}

func TestACanThatGoesIntoNoMixIsRefused(t *testing.T) {
	f := openFinisher(t)
	err := f.SaveCan(context.Background(), store.Can{Can: finish.Can{Container: finish.Container{Name: "Stain bace"}, Left: finish.Litre}})
	require.Equal(t, finish.CodeNoIngredient, parts.CodeOf(err))
	require.Contains(t, err.Error(), "Stain base")
}

func TestBadMixesAreRefused(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	tests := []struct {
		name  string
		spoil func(*finish.Mix)
		code  string
	}{
		{"0 to 0", func(m *finish.Mix) { m.Components[0].Parts, m.Components[1].Parts = 0, 0 }, finish.CodeRatio},
		{"a pot life below zero", func(m *finish.Mix) { m.PotLife = -1 }, finish.CodePotLife},
		{"more than the data sheet allows", func(m *finish.Mix) {
			m.Additives = []finish.Additive{{Name: "Flow additive", Percent: 20 * finish.One, Of: finish.OfWhole, Most: 15 * finish.One}}
		}, finish.CodeAdditiveMost},
		{"no name", func(m *finish.Mix) { m.Name = " " }, finish.CodeMixName},
	}
	for _, tt := range tests {
		m := lockerStain()
		tt.spoil(&m)
		_, err := b.SaveMix(ctx, m, nil)
		require.Equal(t, tt.code, parts.CodeOf(err), tt.name)
	}
	all, err := b.Mixes(ctx)
	require.NoError(t, err)
	require.Empty(t, all)
}

func TestStepsNameAMixOfTheirCoat(t *testing.T) {
	f := openFinisher(t)
	all, err := f.Routings(context.Background())
	require.NoError(t, err)
	r := all[slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == routing.LoosePart })]
	for _, mix := range []string{"none", f.mix.Key} {
		r.Steps = slices.Clone(r.Steps)
		for i := range r.Steps {
			if r.Steps[i].Coat == "topcoat" {
				r.Steps[i].Mix = mix
			}
		}
		_, err = f.SaveRouting(context.Background(), r)
		require.Equal(t, "step-mix", parts.CodeOf(err))
	}
}

// Touching up takes the jar of the batch that the piece got, and nothing of
// the open batch.
func TestATouchUpTakesTheJarThatMatches(t *testing.T) {
	f := openFinisher(t)
	f.approve()
	ctx := context.Background()
	all, err := f.Routings(ctx)
	require.NoError(t, err)
	r := all[slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == routing.LoosePart })]
	r.Steps = append(slices.Clone(r.Steps), parts.Step{Name: "touch up after fitting", Station: "stain", Record: true, TouchUp: true,
		Coat: "stain", Coats: []parts.Face{parts.ShowFace}, Mix: f.mix.Key})
	_, err = f.SaveRouting(ctx, r)
	require.NoError(t, err)
	f.job = shoptest.ListJob(t, f.Bench, "Tern Point cabin", shelves, nil)
	one := f.mixIt(250 * finish.Millilitre)
	_, err = f.stain("Shelf 1", bench.Request{})
	require.NoError(t, err)
	f.clock.Pass(time.Hour)
	two := f.mixIt(250 * finish.Millilitre)
	before := two.Left
	a, err := f.stain("Shelf 1", bench.Request{Step: len(r.Steps), Override: true, Reason: "the rest was done elsewhere"})
	require.NoError(t, err)
	require.Equal(t, one.Number, a.Batch)
	two2, err := f.Batch(ctx, two.Number)
	require.NoError(t, err)
	require.Equal(t, before, two2.Left)
	board, err := f.Finish(ctx)
	require.NoError(t, err)
	for _, todo := range board.Mixes[0].ToDo {
		require.NotEqual(t, "touch up after fitting", todo.Does, "a touch-up is no whole coat")
	}
	job, err := f.Bench.Job(ctx, f.job.Job.Code)
	require.NoError(t, err)
	jars, err := f.Jars(ctx, job)
	require.NoError(t, err)
	require.Len(t, jars, 1)
	require.Equal(t, one.Number, jars[0].Batch.Number)
	require.Equal(t, 1, jars[0].Pieces)
}

// Whatever is stained and taken back, what is left of a batch is what was
// mixed less what the pieces got that have it now.
func TestWhatIsLeftAgreesWithTheLog(t *testing.T) {
	shoptest.Cases(t, 15)
	rapid.Check(t, func(rt *rapid.T) {
		f := openFinisher(t)
		f.approve()
		ctx := context.Background()
		b := f.mixIt(finish.Litre)
		names := []string{"Shelf 1", "Shelf 2", "Shelf 3", "Fascia 1", "Fascia 2"}
		did := map[string]bench.Answer{}
		for range rapid.IntRange(1, 8).Draw(rt, "deeds") {
			name := rapid.SampledFrom(names).Draw(rt, "piece")
			f.clock.Pass(time.Minute)
			if a, stained := did[name]; stained {
				id, err := parts.ParseCommandID(a.Command)
				require.NoError(rt, err)
				_, err = f.Undo(ctx, bench.UndoRequest{ID: shoptest.NewID(), Command: id, Reason: "not this one"})
				require.NoError(rt, err)
				delete(did, name)
				continue
			}
			a, err := f.stain(name, bench.Request{})
			require.NoError(rt, err)
			did[name] = a
		}
		used := 0.0
		for name := range did {
			width := 10.0
			if name[0] == 'F' {
				width = 4
			}
			used += 2 * (30*width + 30*0.75 + width*0.75) * 0.0254 * 0.0254 / 12 / 0.9 * 1000
		}
		look, err := f.Batch(ctx, b.Number)
		require.NoError(rt, err)
		require.InDelta(rt, used, float64(b.Left-look.Left)/float64(finish.Millilitre), 0.01)
		require.Len(rt, look.Got, len(did))
	})
}
