package main

import (
	"context"
	_ "embed"
	"sync/atomic"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

//go:embed demo.csv
var demoList string

//go:embed demo.story
var demoStory string

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

// set sets the clock.
func (c *storyClock) set(now time.Time) { c.story.Store(now.UnixMilli()) }

// tellStory makes the demo's job and does the deeds of its story, all by
// ordinary requests.
func tellStory(ctx context.Context, b *bench.Bench, clock *storyClock, here string) error {
	deeds, err := readStory(demoStory)
	if err != nil {
		return err
	}
	start := time.Now().Truncate(time.Minute)
	clock.set(start.Add(deeds[0].at - time.Hour))
	defer clock.story.Store(0)
	set, err := settle(ctx, b, here)
	if err != nil {
		return err
	}
	set.Shop, set.Guessed = "Demo shop", false
	if err := b.SaveSettings(ctx, set); err != nil {
		return err
	}
	if err := savePatterns(ctx, b); err != nil {
		return err
	}
	if err := saveMixes(ctx, b); err != nil {
		return err
	}
	table, err := cutlist.ReadText(demoList)
	if err != nil {
		return err
	}
	p, err := b.Preview(ctx, table, cutlist.Choices{Unit: parts.Inches}, storyPicks)
	if err != nil {
		return err
	}
	job, err := b.MakeJob(ctx, newID(), "Tern Point lockers", p)
	if err != nil {
		return err
	}
	t := &teller{Bench: b, job: job.Code, setTo: clock.set, done: map[string]parts.CommandID{}}
	for _, d := range deeds {
		if err := t.tell(ctx, d, start.Add(d.at)); err != nil {
			return err
		}
	}
	return nil
}
