package floor_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/floor"
	"benchtally/parts/shoptest"
)

var noon = shoptest.Noon

// The lines in these tests: rails and stiles, two each, make a frame.
const (
	rails int64 = iota + 1
	stiles
	frames
	shelves
)

var partSteps = []parts.Step{
	{Name: "rip to width", Station: "rip"},
	{Name: "rest", Clock: parts.Resting, Minutes: 60},
	{Name: "bore", Station: "bore", Bores: true},
}

var frameSteps = []parts.Step{
	{Name: "dry fit", Station: "glue", Binds: true},
	{Name: "glue up", Station: "glue", Record: true},
	{Name: "in clamps", Clock: parts.Clamps, Minutes: 60},
	{Name: "sand", Station: "sand"},
}

// shop is a floor with these pieces at noon.
func shop(states ...parts.State) floor.Shop {
	return floor.Shop{
		Jobs: []parts.Job{{ID: 1, Code: "LOCKERS", Name: "Lockers"}, {ID: 2, Code: "BENCHES", Name: "Bench backs"}},
		Lines: map[int64]parts.Line{
			rails:   {ID: rails, Number: 1, Kind: parts.Single, Name: "Rail", Quantity: 4, Spares: 1, Into: frames, Each: 2, Ticket: "TR"},
			stiles:  {ID: stiles, Number: 2, Kind: parts.Single, Name: "Stile", Quantity: 4, Into: frames, Each: 2, Ticket: "TS"},
			shelves: {ID: shelves, Number: 3, Kind: parts.Single, Name: "Shelf", Quantity: 1, Ticket: "TH"},
			frames:  {ID: frames, Number: 4, Kind: parts.Assembly, Name: "Frame", Quantity: 2},
		},
		Routings: map[int64]parts.Routing{1: {ID: 1, Steps: partSteps}, 2: {ID: 2, Steps: frameSteps}},
		Stations: []parts.StationRow{{Key: "rip", Place: 1}, {Key: "bore", Place: 2}, {Key: "glue", Place: 3}, {Key: "sand", Place: 4}},
		States:   states, Now: noon,
	}
}

func piece(line int64, number, next int, also ...func(*parts.State)) parts.State {
	s := parts.State{Part: parts.ID(string(rune('A'+line)) + string(rune('0'+number))), Seq: 1, Kind: parts.Single,
		Job: 1, Line: line, Number: number, Spare: line == rails && number > 4, Steps: 1, Next: next, Finished: next == len(partSteps)}
	if line == frames {
		s.Kind, s.Steps, s.Finished = parts.Assembly, 2, next == len(frameSteps)
	}
	for _, change := range also {
		change(&s)
	}
	return s
}

func until(clock parts.Clock, at time.Time) func(*parts.State) {
	return func(s *parts.State) { s.Waits = append(s.Waits, parts.Wait{Clock: clock, From: noon, Until: at}) }
}
func held(s *parts.State)      { s.Held = "a knot" }
func due(s *parts.State)       { s.LabelDue = true }
func secondJob(s *parts.State) { s.Job = 2 }
func scrapped(s *parts.State)  { s.Scrapped, s.ReplacedBy = true, "NEW1" }
func plugged(s *parts.State) {
	s.Repair, s.Mend = []parts.Step{{Name: "bore again", Station: "bore", Record: true}}, 0
}

// finished gives whole sets of finished parts for n frames.
func finished(n int) []parts.State {
	var out []parts.State
	for i := range 2 * n {
		out = append(out, piece(rails, i+1, 3), piece(stiles, i+1, 3))
	}
	return out
}

func TestKitsThatCanBePutTogether(t *testing.T) {
	frame := []parts.State{piece(frames, 1, 0), piece(frames, 2, 0)}
	tests := []struct {
		name           string
		states         []parts.State
		ready, waiting int
		short          bool
	}{
		{"two whole sets", append(finished(2), frame...), 2, 0, false},
		{"one whole set", append(finished(1), frame...), 1, 1, true},
		{"nothing ready", frame, 0, 2, true},
		{"one rail of the second set is missing", append(append(finished(1), piece(rails, 3, 3), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 1, 1, true},
		{"a spare makes the set whole", append(append(finished(1), piece(rails, 3, 3), piece(rails, 5, 3), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 2, 0, false},
		{"a held rail does not", append(append(finished(1), piece(rails, 3, 3), piece(rails, 4, 3, held), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 1, 1, true},
		{"a plugged rail does not", append(append(finished(1), piece(rails, 3, 3), piece(rails, 4, 3, plugged), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 1, 1, true},
		{"a scrapped rail does not", append(append(finished(1), piece(rails, 3, 3), piece(rails, 4, 3, scrapped), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 1, 1, true},
		{"a wet rail does not", append(append(finished(1), piece(rails, 3, 3), piece(rails, 4, 3, until(parts.Drying, noon.Add(1))), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 1, 1, true},
		{"a rail that is dry on the minute does", append(append(finished(1), piece(rails, 3, 3), piece(rails, 4, 3, until(parts.Drying, noon)), piece(stiles, 3, 3), piece(stiles, 4, 3)), frame...), 2, 0, false},
		{"more parts than frames", append(finished(2), piece(frames, 1, 0)), 1, 0, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			glue := floor.Count(shop(tt.states...)).Jobs[0].Stations[2]
			require.Len(t, glue.Groups, 1)
			g := glue.Groups[0]
			assert.Equal(t, []any{tt.ready, tt.waiting, tt.short}, []any{g.Ready, g.Waiting, g.Short})
			assert.Equal(t, []int{tt.ready, tt.waiting}, []int{glue.Ready, glue.Waiting})
			assert.Equal(t, "dry fit", g.Step)
		})
	}
}

func TestAFrameBeyondItsDryFitNeedsNoKit(t *testing.T) {
	glue := floor.Count(shop(piece(frames, 1, 1))).Jobs[0].Stations[2]
	assert.Equal(t, []int{1, 0}, []int{glue.Ready, glue.Waiting})
	assert.False(t, glue.Groups[0].Short)
}

func TestWhatStandsBeforeAStation(t *testing.T) {
	b := floor.Count(shop(
		piece(rails, 1, 0), piece(rails, 2, 0),
		piece(rails, 3, 2, until(parts.Resting, noon.Add(2*time.Hour))), piece(rails, 4, 2, until(parts.Resting, noon.Add(time.Hour))), piece(rails, 5, 2),
		piece(stiles, 1, 0), piece(stiles, 2, 3), piece(stiles, 3, 0, held), piece(stiles, 4, 0, scrapped),
	)).Jobs[0]
	rip, bore := b.Stations[0], b.Stations[1]
	assert.Equal(t, []int{3, 0}, []int{rip.Ready, rip.Waiting})
	require.Len(t, rip.Groups, 2)
	assert.Equal(t, []string{"Rail", "Stile"}, []string{rip.Groups[0].Line.Name, rip.Groups[1].Line.Name})
	assert.Equal(t, parts.ID("TR"), rip.Groups[0].Mark, "the ticket is what is scanned")
	assert.Equal(t, []int{1, 2}, []int{bore.Ready, bore.Waiting})
	assert.Equal(t, noon.Add(time.Hour), bore.Groups[0].Until, "when the first of them is ready")
	assert.Equal(t, []any{1, noon.Add(2 * time.Hour)}, []any{bore.Groups[0].First, bore.Groups[0].Last}, "one then, and when the last is")
	assert.Equal(t, []floor.Mention{{Mark: "C3", Name: "Stile 3", Note: "a knot"}}, b.Held)
	assert.Equal(t, []floor.Mention{{Mark: "C4", Name: "Stile 4", Other: "NEW1"}}, b.Remade)
	assert.Equal(t, 8, b.Pieces)
}

func TestPluggedPartsStandBeforeTheirRepair(t *testing.T) {
	b := floor.Count(shop(piece(rails, 1, 3, plugged), piece(rails, 2, 3, plugged, until(parts.Setting, noon.Add(time.Hour))))).Jobs[0]
	bore := b.Stations[1]
	require.Len(t, bore.Groups, 1)
	assert.Equal(t, floor.Group{Line: bore.Groups[0].Line, Step: "bore again", Ready: 1, Waiting: 1, Until: noon.Add(time.Hour), First: 1, Last: noon.Add(time.Hour), Mark: "TR"}, bore.Groups[0])
	assert.Len(t, b.Mending, 2)
	assert.Zero(t, b.Finished)
}

func TestWaitsAreSortedByWhenTheyEnd(t *testing.T) {
	b := floor.Count(shop(
		piece(frames, 1, 3, until(parts.Clamps, noon.Add(3*time.Hour))),
		piece(rails, 1, 2, until(parts.Resting, noon.Add(time.Hour))), piece(rails, 2, 2, until(parts.Resting, noon.Add(time.Hour))),
		piece(rails, 3, 2, until(parts.Resting, noon.Add(2*time.Hour))),
		piece(stiles, 1, 2, until(parts.Resting, noon.Add(time.Hour))),
		piece(stiles, 2, 2, until(parts.Resting, noon)),
		piece(stiles, 3, 2, held, until(parts.Resting, noon.Add(time.Hour))),
	)).Jobs[0]
	var got []any
	for _, w := range b.Waits {
		got = append(got, w.Line.Name, w.Count, w.Until.Sub(noon), w.Name, w.Mark)
	}
	assert.Equal(t, []any{
		"Rail", 2, time.Hour, "", parts.ID("TR"),
		"Stile", 1, time.Hour, "Stile 1", parts.ID("C1"),
		"Rail", 1, 2 * time.Hour, "Rail 3", parts.ID("B3"),
		"Frame", 1, 3 * time.Hour, "Frame 1", parts.ID("D1"),
	}, got)
}

func TestClampsBeforeSetting(t *testing.T) {
	glued := piece(frames, 1, 3, until(parts.Clamps, noon.Add(time.Hour)), until(parts.Setting, noon.Add(24*time.Hour)))
	s := shop(glued)
	w := floor.Count(s).Jobs[0].Waits
	require.Len(t, w, 1)
	assert.Equal(t, []any{parts.Clamps, noon.Add(time.Hour)}, []any{w[0].Clock, w[0].Until})
	assert.Equal(t, noon.Add(24*time.Hour), floor.Count(s).Jobs[0].Stations[3].Groups[0].Until)
	s.Now = noon.Add(time.Hour)
	w = floor.Count(s).Jobs[0].Waits
	assert.Equal(t, []any{parts.Setting, noon.Add(24 * time.Hour)}, []any{w[0].Clock, w[0].Until})
}

func TestFinishedCountsWhatGoesIntoNothing(t *testing.T) {
	b := floor.Count(shop(piece(frames, 1, 4), piece(shelves, 1, 3), piece(rails, 1, 3), piece(frames, 2, 3))).Jobs[0]
	assert.Equal(t, 2, b.Finished)
	assert.Equal(t, 4, b.Pieces)
}

func TestLabelsAndJobs(t *testing.T) {
	b := floor.Count(shop(piece(rails, 1, 0, due), piece(rails, 2, 0), piece(shelves, 1, 0, due, secondJob)))
	require.Len(t, b.Jobs, 2)
	assert.Equal(t, []int{1, 1}, []int{b.Jobs[0].Labels, b.Jobs[1].Labels})
	assert.Equal(t, []int{2, 1}, []int{b.Jobs[0].Pieces, b.Jobs[1].Pieces})
	assert.Len(t, b.Jobs[1].Stations, 4, "every station is shown, in the order of the floor")
	assert.Empty(t, floor.Count(shop()).Jobs, "a job with nothing on the floor is not shown")
}
