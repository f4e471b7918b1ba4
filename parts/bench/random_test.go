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
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// drilled are steps in which a hole may be plugged while a coat dries.
var drilled = parts.Routing{Name: "Board with holes", For: parts.Single, Steps: []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "bore", Station: "bore", Bores: true},
	{Name: "stain", Station: "stain", Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 12 * 60},
	{Name: "topcoat", Station: "topcoat", Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 4 * 60},
}}

// days is a random history of one job: people scan, plug, remake, hold, undo
// and print, well and badly.
type days struct {
	*rapid.T
	*bench.Bench
	clock    *shoptest.Clock
	job      bench.JobPieces
	recorded []parts.CommandID // what was recorded so far
	asked    map[parts.CommandID]asking
}

// asking is a request with the verb it was for and what it led to.
type asking struct {
	verb   string
	r      bench.Request
	target parts.CommandID // of an undo
	answer bench.Answer
	err    error
}

// randomDays opens a shop for random histories and runs check on each, with
// a new job every time.
func randomDays(t *testing.T, cases int, check func(d *days)) {
	shoptest.Cases(t, cases)
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	r, err := b.SaveRouting(context.Background(), drilled)
	require.NoError(t, err)
	rapid.Check(t, func(rt *rapid.T) {
		d := &days{T: rt, Bench: b, clock: clock, asked: map[parts.CommandID]asking{}}
		d.makeJob(r.Key)
		d.begin()
		check(d)
	})
}

// makeJob makes two locker fronts, of rails with steps of their own.
func (d *days) makeJob(key string) {
	ctx := context.Background()
	table, err := cutlist.ReadText(shoptest.FramesList)
	require.NoError(d, err)
	p, err := d.Preview(ctx, table, cutlist.Choices{Assemblies: map[string]int{"Locker front": 2}}, bench.Picks{Steps: map[int]string{3: key}})
	require.NoError(d, err)
	job, err := d.MakeJob(ctx, shoptest.NewID(), "Tern Point lockers", p)
	require.NoError(d, err)
	d.look(job.Code)
}

func (d *days) look(code string) {
	var err error
	d.job, err = d.Job(context.Background(), code)
	require.NoError(d, err)
}

// begin takes the job some way, so that short histories are not all alike:
// the rails are bored and stained, and the coat may have dried.
func (d *days) begin() {
	far := rapid.IntRange(0, 3).Draw(d.T, "how far the job has come")
	for i, at := range []parts.Station{"bore", "stain", "topcoat"} {
		if i < far {
			d.act(asking{verb: "scan", r: bench.Request{ID: shoptest.NewID(), Mark: d.ticket("Rail"), Station: at}})
		}
		if i == 1 && far > 2 {
			d.clock.Pass(12 * time.Hour)
		}
	}
	if far > 2 {
		d.act(asking{verb: "scan", r: bench.Request{ID: shoptest.NewID(), Mark: d.ticket("Stile"), Station: "bore"}})
		d.clock.Pass(time.Duration(rapid.IntRange(3, 5).Draw(d.T, "hours")) * time.Hour)
	}
}

// ticket is the ticket of a line.
func (d *days) ticket(line string) string {
	i := slices.IndexFunc(d.job.Lines, func(l parts.Line) bool { return l.Name == line })
	return string(d.job.Lines[i].Ticket)
}

// verbs are what people mostly do.
var verbs = []string{"scan", "scan", "scan", "scan", "scan", "scan", "plug", "hold", "release", "remake", "undo"}

// live lets n things happen.
func (d *days) live(n int) {
	for range n {
		d.act(d.next(verbs))
	}
}

// next thinks of something to ask for.
func (d *days) next(verbs []string) asking {
	d.clock.Pass(rapid.SampledFrom([]time.Duration{0, 0, 0, time.Minute, time.Hour, 5 * time.Hour, 25 * time.Hour}).Draw(d.T, "time passes"))
	verb := rapid.SampledFrom(verbs).Draw(d.T, "verb")
	a := asking{verb: verb, r: bench.Request{ID: shoptest.NewID(), By: rapid.SampledFrom([]string{"", "Ann", "Ben"}).Draw(d.T, "by")}}
	if verb == "undo" {
		if len(d.recorded) == 0 {
			a.verb = "hold"
		} else {
			// Mostly the latest: what came before it is refused.
			i := max(0, len(d.recorded)-1-rapid.IntRange(0, 2).Draw(d.T, "back"))
			a.target = d.recorded[i]
			return a
		}
	}
	s := rapid.SampledFrom(d.likely(verb)).Draw(d.T, "mark")
	a.r.Mark = string(s.Part)
	a.r.Reason = rapid.SampledFrom([]string{"a knot", "a knot", "a knot", ""}).Draw(d.T, "reason")
	switch verb {
	case "scan":
		d.aim(&a.r, s)
	case "remake":
		if spares := d.spares(s); len(spares) > 0 && rapid.Bool().Draw(d.T, "spare") {
			a.r.Spare = string(spares[0])
		}
	}
	return a
}

// likely gives the pieces that a verb mostly is about.
func (d *days) likely(verb string) []parts.State {
	out := slices.DeleteFunc(slices.Clone(d.job.States), func(s parts.State) bool {
		switch verb {
		case "plug":
			return s.Kind != parts.Single || len(s.Past) < 2 || s.In != ""
		case "release":
			return s.Held == ""
		}
		return false
	})
	if len(out) == 0 || rapid.IntRange(0, 9).Draw(d.T, "likely") == 0 {
		return d.job.States
	}
	return out
}

// aim chooses what a scan means: mostly what comes next, sometimes anything.
func (d *days) aim(r *bench.Request, s parts.State) {
	piece, err := d.Look(context.Background(), r.Mark)
	require.NoError(d, err)
	r.Station = rapid.SampledFrom([]parts.Station{"plane", "bore", "stain", "topcoat", "glue", "sand", "wrap"}).Draw(d.T, "station")
	if piece.Next != nil && rapid.IntRange(0, 9).Draw(d.T, "aim") < 7 {
		r.Station = piece.Next.Station
		if rapid.Bool().Draw(d.T, "named") {
			r.Step = piece.Next.Step
		}
		// Sometimes a later step than the next, or one past a repair.
		if further := rapid.SampledFrom([]int{0, 0, 0, 1, 2, 3}).Draw(d.T, "further"); further > 0 {
			r.Station, r.Step = "", s.Next+1+further
		}
	}
	r.Override = rapid.IntRange(0, 3).Draw(d.T, "override") == 0
	if s.Kind == parts.Ticket {
		r.Count = rapid.IntRange(0, 5).Draw(d.T, "count")
	}
	if rapid.IntRange(0, 9).Draw(d.T, "late") == 0 {
		r.At = d.Now().Add(-time.Duration(rapid.IntRange(1, 2000).Draw(d.T, "minutes ago")) * time.Minute)
	}
}

func (d *days) spares(of parts.State) []parts.ID {
	var out []parts.ID
	for _, s := range d.job.States {
		if s.Line == of.Line && s.Spare && s.Part != of.Part {
			out = append(out, s.Part)
		}
	}
	return out
}

// act asks and remembers what came of it. Nothing may be a fault.
func (d *days) act(a asking) asking {
	a.answer, a.err = d.ask(a)
	if a.err != nil {
		require.NotNil(d, parts.AsProblem(a.err), "a fault: %v", a.err)
	}
	if a.err == nil && a.answer.Outcome == "recorded" {
		d.recorded = append(d.recorded, a.r.ID)
	}
	d.asked[a.r.ID] = a
	d.look(d.job.Job.Code)
	return a
}

// ask sends a request.
func (d *days) ask(a asking) (bench.Answer, error) {
	ctx := context.Background()
	switch a.verb {
	case "scan":
		return d.Scan(ctx, a.r)
	case "plug":
		return d.Plug(ctx, a.r)
	case "hold":
		return d.Hold(ctx, a.r)
	case "release":
		return d.Release(ctx, a.r)
	case "remake":
		return d.Remake(ctx, a.r)
	case "undo":
		return d.Undo(ctx, bench.UndoRequest{ID: a.r.ID, Command: a.target, By: a.r.By})
	}
	d.Fatalf("no verb %q", a.verb)
	return bench.Answer{}, nil
}

// eventsOf is the history of one mark.
func (d *days) eventsOf(s parts.State) []parts.Event {
	if s.Kind == parts.Ticket {
		all, err := d.Events(context.Background(), string(s.Part))
		require.NoError(d, err)
		return slices.DeleteFunc(all, func(e parts.Event) bool { return e.Part != s.Part })
	}
	events, err := d.Events(context.Background(), string(s.Part))
	require.NoError(d, err)
	return events
}

// log is every event of the job, by mark.
func (d *days) log() map[parts.ID][]parts.Event {
	all := map[parts.ID][]parts.Event{}
	for _, s := range d.job.States {
		all[s.Part] = d.eventsOf(s)
	}
	return all
}
