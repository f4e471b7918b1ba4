package main

import (
	"context"
	_ "embed"
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

//go:embed demo.csv
var demoList string

// storyClock shows the time of the story while it is told, and the machine's
// afterwards.
type storyClock struct{ story atomic.Int64 }

// Now is what the clock shows.
func (c *storyClock) Now() time.Time {
	if ms := c.story.Load(); ms != 0 {
		return time.UnixMilli(ms)
	}
	return time.Now()
}

// deed is one thing done in the story, so long before the demo starts.
type deed struct {
	ago  time.Duration
	verb string // "" for a scan
	what string // a piece, or a line for its ticket
	at   parts.Station
	why  string
	n    int // how many of a ticket; 0 for all that are due
}

const day = 24 * time.Hour

// story is what was done to the demo's job, all by ordinary requests. The
// times keep to the waits of the ready-made steps.
func story() []deed {
	deeds := slices.Concat(milling(), panels(), benchBack())
	for _, f := range []struct {
		frame string
		from  time.Duration // before the start: the dry fit
		steps []time.Duration
	}{
		{"Locker front 1", 6 * day, finished},
		{"Locker front 2", 6*day - time.Hour, finished},
		{"Locker front 3", 5*day + 2*time.Hour, topcoated},
		{"Locker front 4", 5*day + time.Hour, topcoated},
		{"Locker front 5", 3*day + 4*time.Hour, stained},
		{"Locker front 6", 3*day + 3*time.Hour, stained},
		{"Locker front 7", 2 * day, sanded},
		{"Locker front 8", 10 * time.Hour, gluedUp},
		{"Locker front 9", 45 * time.Minute, []time.Duration{0, 20 * time.Minute}},
		{"Locker front 10", 15 * time.Minute, []time.Duration{0}},
	} {
		for i, after := range f.steps {
			deeds = append(deeds, deed{ago: f.from - after, what: f.frame, at: frameStations[i]})
		}
	}
	slices.SortStableFunc(deeds, func(a, b deed) int { return int((b.ago - a.ago) / time.Second) })
	return deeds
}

// frameStations are where a frame goes, step by step.
var frameStations = []parts.Station{"glue", "glue", "sand", "stain", "stain", "topcoat", "topcoat", "wrap"}

// When frames took those steps, after their dry fit.
var (
	gluedUp   = []time.Duration{0, 30 * time.Minute}
	sanded    = append(slices.Clip(gluedUp), 43*time.Hour)
	stained   = append(slices.Clip(gluedUp), 28*time.Hour, 3*day)
	topcoated = append(slices.Clip(gluedUp), 29*time.Hour, 31*time.Hour, 53*time.Hour, 3*day, 5*day-6*time.Hour)
	finished  = append(slices.Clip(gluedUp), 26*time.Hour, 28*time.Hour, 44*time.Hour, 66*time.Hour, 74*time.Hour, 5*day)
)

// milling takes the parts of the locker fronts from boards to bored parts,
// with what goes wrong on the way.
func milling() []deed {
	var deeds []deed
	for i, line := range []string{"Stile", "Top rail", "Bottom rail"} {
		later := time.Duration(i) * 30 * time.Minute
		for _, d := range []deed{
			{ago: 8*day + 4*time.Hour, at: "crosscut"}, {ago: 8*day + 2*time.Hour, at: "rip"},
			{ago: 7 * day, at: "joint"}, {ago: 7*day - 2*time.Hour, at: "rip"}, {ago: 7*day - 4*time.Hour, at: "plane"},
			{ago: 7*day - 6*time.Hour, at: "crosscut"}, {ago: 6*day + 6*time.Hour, at: "bore"},
		} {
			d.what, d.ago = line, d.ago-later
			deeds = append(deeds, d)
		}
	}
	return append(deeds,
		deed{ago: 6*day + 4*time.Hour, verb: "plug", what: "Stile 7", at: "bore", why: "hole 2 mm off"},
		deed{ago: 6*day + 3*time.Hour, verb: "hold", what: "Stile 23", why: "torn grain on the show face"},
		deed{ago: 6*day + 2*time.Hour, verb: "remake", what: "Bottom rail 12", at: "bore", why: "split when it was bored"},
		deed{ago: 6*day + time.Hour, what: "Stile 7", at: "bore"},
		deed{ago: 31 * time.Hour, what: "Bottom rail", at: "crosscut"}, // the remade one
		deed{ago: 30 * time.Hour, what: "Bottom rail", at: "rip"},
		deed{ago: 50 * time.Minute, verb: "plug", what: "Stile 24", at: "bore", why: "bit wandered in the knot"},
	)
}

// panels are sheet goods: cut, and sanded in part.
func panels() []deed {
	return []deed{
		{ago: 29 * time.Hour, what: "Locker shelf", at: "rip"},
		{ago: 28 * time.Hour, what: "Locker shelf", at: "crosscut"},
		{ago: 2 * time.Hour, what: "Locker shelf", at: "sand", n: 7},
		{ago: 70 * time.Minute, what: "Locker division", at: "rip"},
	}
}

// benchBack is under way at the planer, its slats still resting.
func benchBack() []deed {
	var deeds []deed
	for i, line := range []string{"Crest rail", "Lower rail", "Back stile"} {
		later := time.Duration(i) * 10 * time.Minute
		for _, d := range []deed{
			{ago: 51 * time.Hour, at: "crosscut"}, {ago: 50 * time.Hour, at: "rip"},
			{ago: 6 * time.Hour, at: "joint"}, {ago: 5 * time.Hour, at: "rip"}, {ago: 4 * time.Hour, at: "plane"},
		} {
			d.what, d.ago = line, d.ago-later
			deeds = append(deeds, d)
		}
	}
	return append(deeds,
		deed{ago: 3 * time.Hour, what: "Slat", at: "crosscut"},
		deed{ago: 100 * time.Minute, what: "Slat", at: "rip"})
}

// tellStory makes the demo's job and does the deeds of its story.
func tellStory(ctx context.Context, b *bench.Bench, clock *storyClock, here string) error {
	start := time.Now().Truncate(time.Minute)
	clock.story.Store(start.Add(-9 * day).UnixMilli())
	defer clock.story.Store(0)
	set, err := settle(ctx, b, here)
	if err != nil {
		return err
	}
	set.Shop = "Demo shop"
	if err := b.SaveSettings(ctx, set); err != nil {
		return err
	}
	table, err := cutlist.ReadText(demoList)
	if err != nil {
		return err
	}
	p, err := b.Preview(ctx, table, cutlist.Choices{Unit: parts.Inches}, bench.Picks{})
	if err != nil {
		return err
	}
	job, err := b.MakeJob(ctx, newID(), "Tern Point lockers", p)
	if err != nil {
		return err
	}
	for _, d := range story() {
		at := start.Add(-d.ago)
		clock.story.Store(at.UnixMilli())
		if err := d.do(ctx, b, job.Code, at); err != nil {
			return fmt.Errorf("%s before: %s at %s: %w", d.ago, d.what, d.at, err)
		}
	}
	return nil
}

// do does the deed.
func (d deed) do(ctx context.Context, b *bench.Bench, job string, at time.Time) error {
	pieces, err := b.Job(ctx, job)
	if err != nil {
		return err
	}
	mark, err := markOf(pieces, d.what)
	if err != nil {
		return err
	}
	verbs := map[string]func(context.Context, bench.Request) (bench.Answer, error){
		"": b.Scan, "plug": b.Plug, "hold": b.Hold, "remake": b.Remake,
	}
	a, err := verbs[d.verb](ctx, bench.Request{ID: newID(), Mark: mark, Station: d.at, Count: d.n, At: at,
		By: workers[d.at], Reason: d.why, Note: d.why})
	if err == nil && a.Problem != nil {
		err = a.Problem
	}
	return err
}

// workers are the two people of the demo's shop.
var workers = map[parts.Station]string{"crosscut": "Ann", "rip": "Ann", "joint": "Ann", "plane": "Ann", "bore": "Ben",
	"glue": "Ben", "sand": "Ann", "stain": "Ben", "topcoat": "Ben", "wrap": "Ann", "": "Ann"}

// markOf finds a line's ticket or a piece that is not scrapped by its name.
func markOf(job bench.JobPieces, name string) (string, error) {
	for _, s := range job.States {
		l := job.LineOf(s)
		single := s.Kind == parts.Ticket || s.Kind == parts.Assembly || l.Name != name
		if single && !s.Scrapped && parts.PieceName(l, s) == name {
			return string(s.Part), nil
		}
	}
	return "", fmt.Errorf("the demo has no %q", name)
}
