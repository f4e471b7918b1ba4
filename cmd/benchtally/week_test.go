package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// TestAWeekInTheShop plays a whole invented week, a script of what people did
// and scanned, and compares the floor after each half day with what the script
// says it must be. With -update the floors are written again; read the
// difference like code.
func TestAWeekInTheShop(t *testing.T) {
	ctx := context.Background()
	file := filepath.Join("..", "..", "testdata", "shop", "week.story")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	deeds, err := readStory(string(text))
	require.NoError(t, err)
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	monday := time.Date(2026, 3, 9, 0, 0, 0, 0, time.UTC)
	clock.Set(monday)
	list, err := os.ReadFile(filepath.Join("..", "..", "testdata", "shop", "week.csv"))
	require.NoError(t, err)
	teller := &teller{Bench: b, job: weekJob(t, b, string(list)), setTo: clock.Set, done: map[string]parts.CommandID{}}
	floors := map[int][]string{}
	for _, d := range deeds {
		if d.verb != "floor" {
			require.NoError(t, teller.tell(ctx, d, monday.Add(d.at)))
			continue
		}
		clock.Set(monday.Add(d.at))
		floor := floorText(t, b)
		if shoptest.Update() {
			floors[d.line] = floor
			continue
		}
		require.Equal(t, d.floor, floor, "the floor of line %d", d.line)
	}
	if shoptest.Update() {
		require.NoError(t, os.WriteFile(file, []byte(withFloors(string(text), floors)), 0o644))
	}
}

// weekJob makes the week's job.
func weekJob(t *testing.T, b *bench.Bench, list string) string {
	ctx := context.Background()
	require.NoError(t, savePatterns(ctx, b))
	table, err := cutlist.ReadText(list)
	require.NoError(t, err)
	p, err := b.Preview(ctx, table, cutlist.Choices{}, storyPicks)
	require.NoError(t, err)
	require.Empty(t, p.List.Troubles)
	job, err := b.MakeJob(ctx, shoptest.NewID(), "Tern Point lockers", p)
	require.NoError(t, err)
	return job.Code
}

// withFloors puts floors below the lines that ask for them.
func withFloors(text string, floors map[int][]string) string {
	var out []string
	for i, line := range strings.Split(strings.TrimRight(text, "\n"), "\n") {
		if strings.HasPrefix(line, "  ") {
			continue
		}
		out = append(out, line)
		for _, f := range floors[i+1] {
			out = append(out, "  "+f)
		}
	}
	return strings.Join(out, "\n") + "\n"
}

// floorText writes a floor as plain lines: what stands before each station,
// what waits and until when, and what needs an eye.
func floorText(t *testing.T, b *bench.Bench) []string {
	board, err := b.Floor(context.Background())
	require.NoError(t, err)
	var out []string
	for _, job := range board.Jobs {
		for _, st := range job.Stations {
			for _, g := range st.Groups {
				line := fmt.Sprintf("%s: %s, %s: %d ready", st.Station.Name, g.Line.Name, g.Step, g.Ready)
				if g.Waiting > 0 {
					line += fmt.Sprintf(", %d waiting", g.Waiting)
				}
				if g.Missing != "" {
					line += " for " + g.Missing
				}
				out = append(out, line)
			}
		}
		for _, w := range job.Waits {
			out = append(out, fmt.Sprintf("%s until %s: %d %s", w.Clock, w.Until.Format("Mon 15:04"), w.Count, w.Line.Name))
		}
		for _, g := range job.Parts {
			out = append(out, fmt.Sprintf("for their assembly: %d %s", g.Ready, g.Line.Name))
		}
		for what, list := range map[string]int{"finished": job.Finished, "delivered": job.Gone, "labels to print": job.Labels} {
			if list > 0 {
				out = append(out, what+": "+strconv.Itoa(list))
			}
		}
		for _, m := range job.Short {
			out = append(out, "short: "+m.Name)
		}
		for _, m := range job.Doubted {
			out = append(out, "to be looked at: "+m.Name)
		}
		for _, m := range job.Mending {
			out = append(out, "in repair: "+m.Name+", "+m.Note)
		}
		for _, m := range job.Held {
			out = append(out, "held: "+m.Name+", "+m.Note)
		}
	}
	slices.Sort(out)
	return out
}
