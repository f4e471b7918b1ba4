package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

func TestAdvanceOnePart(t *testing.T) {
	scanAt := func(st parts.Station) parts.Scan { return parts.Scan{Station: st, At: noon, By: 3} }
	named := func(st parts.Station, step int) parts.Scan {
		return parts.Scan{Station: st, Step: step, At: noon, By: 3}
	}
	over := func(s parts.Scan) parts.Scan { s.Override, s.Reason = true, "said so"; return s }
	tests := []struct {
		name   string
		state  parts.State
		scan   parts.Scan
		code   string // "" means the scan is accepted
		next   int    // where it leads, of the steps or of the repair
		filled []int
		over   string
	}{
		{"first step", piece(rails, 1, 0), scanAt("crosscut"), "", 1, nil, ""},
		{"a wait follows: the next work is behind it", piece(rails, 1, 1), scanAt("rip"), "", fpJoint, nil, ""},
		{"rested long enough, on the minute", piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon)), scanAt("joint"), "", fpWidth, nil, ""},
		{"one minute short", piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon.Add(time.Minute))), scanAt("joint"), "waiting", 0, nil, ""},
		{"one millisecond short", piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon.Add(time.Millisecond))), scanAt("joint"), "waiting", 0, nil, ""},
		{"one minute short and overruled", piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon.Add(time.Minute))), over(scanAt("joint")), "", fpWidth, nil, "said so"},
		{"overruled for no reason: nothing stays to be seen", piece(rails, 1, fpJoint), over(scanAt("joint")), "", fpWidth, nil, ""},
		{"overruled without words", piece(rails, 1, fpJoint, waits(parts.Resting, 2, noon.Add(time.Hour))), parts.Scan{Station: "joint", At: noon, Override: true}, "", fpWidth, nil, "a person said so"},
		{"at the drill: it has been planed", piece(rails, 1, fpJoint), scanAt("bore"), "", 8, []int{3, 4, 5, 6}, ""},
		{"at the drill and fresh from the rack", piece(rails, 1, 0), scanAt("bore"), "", 8, []int{0, 1, 2, 3, 4, 5, 6}, ""},
		{"the saw is met twice: the next time is meant", piece(rails, 1, fpJoint), scanAt("rip"), "", fpPlane, []int{3}, ""},
		{"a coat may not be filled in", piece(shelves, 1, 7), scanAt("topcoat"), "must-record", 0, nil, ""},
		{"the coat that comes next needs no person's word", piece(shelves, 1, 12), over(scanAt("topcoat")), "", 14, nil, ""},
		{"two coats passed over on a person's word", piece(shelves, 1, 8), over(scanAt("topcoat")), "", 14, []int{8, 9, 10, 11}, "said so"},
		{"nothing to do at that station", piece(rails, 1, 0), scanAt("stain"), "not-here", 0, nil, ""},
		{"behind it at that station", piece(rails, 1, fpBore), scanAt("plane"), "not-here", 0, nil, ""},
		{"finished", piece(rails, 1, 8), scanAt("bore"), "finished", 0, nil, ""},
		{"held", piece(rails, 1, 0, held), scanAt("crosscut"), "held", 0, nil, ""},
		{"held, and a person overrules waits only", piece(rails, 1, 0, held), over(scanAt("crosscut")), "held", 0, nil, ""},
		{"held, scanned at a wrong station", piece(rails, 1, 0, held), scanAt("wrap"), "held", 0, nil, ""},
		{"scrapped", piece(rails, 1, 0, scrapped), scanAt("crosscut"), "scrapped", 0, nil, ""},
		{"scrapped and replaced", piece(rails, 1, 0, replaced), scanAt("crosscut"), "scrapped", 0, nil, ""},
		{"in an assembly", piece(rails, 1, 8, inAssembly), scanAt("bore"), "in-assembly", 0, nil, ""},
		{"a scan older than the last one", piece(rails, 1, 1), parts.Scan{Station: "rip", At: noon.Add(-2 * time.Hour)}, "late", 0, nil, ""},
		{"a scan of the very moment of the last one", piece(rails, 1, 1), parts.Scan{Station: "rip", At: noon.Add(-time.Hour)}, "", fpJoint, nil, ""},
		{"a count on one piece", piece(rails, 1, 0), parts.Scan{Station: "crosscut", At: noon, Count: 2}, "count", 0, nil, ""},
		{"a count of one on one piece", piece(rails, 1, 0), parts.Scan{Station: "crosscut", At: noon, Count: 1}, "", 1, nil, ""},

		{"the step by its number", piece(rails, 1, fpPlane), named("plane", fpPlane+1), "", fpLength, nil, ""},
		{"the step by its number alone", piece(rails, 1, fpPlane), named("", fpPlane+1), "", fpLength, nil, ""},
		{"the second time at the saw by number", piece(rails, 1, 0), named("rip", fpWidth+1), "", fpPlane, []int{0, 1, 2, 3}, ""},
		{"done already", piece(rails, 1, fpPlane), named("rip", 2), "done-already", 0, nil, ""},
		{"done already, and held since", piece(rails, 1, fpPlane, held), named("rip", 2), "done-already", 0, nil, ""},
		{"done already, and finished since", piece(rails, 1, 8), named("bore", 8), "done-already", 0, nil, ""},
		{"a number that is a wait", piece(rails, 1, 0), named("", 3), "step-unknown", 0, nil, ""},
		{"a number beyond the last", piece(rails, 1, 0), named("", 9), "step-unknown", 0, nil, ""},
		{"a number below the first", piece(rails, 1, 0), named("", -1), "step-unknown", 0, nil, ""},
		{"a number that belongs to another station", piece(rails, 1, 0), named("plane", 1), "wrong-station", 0, nil, ""},
		{"a repair step that was never put in", piece(rails, 1, 0), named("bore", 1001), "step-unknown", 0, nil, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := routing.Advance(view(tt.state), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.NotEmpty(t, parts.AsProblem(err).Do, "a refusal says what to do")
				return
			}
			require.Len(t, events, 1)
			e := events[0]
			assert.Equal(t, tt.filled, e.Detail.Filled)
			assert.Equal(t, tt.over, e.Detail.Override)
			assert.Equal(t, tt.next, parts.Apply(tt.state, e).Next)
			assert.Equal(t, parts.Did, e.Kind)
			assert.Equal(t, tt.scan.At, e.At)
			assert.Equal(t, tt.scan.By, e.By)
		})
	}
}

func TestAdvanceThroughARepair(t *testing.T) {
	tests := []struct {
		name  string
		mend  int
		also  func(*parts.State)
		scan  parts.Scan
		code  string
		mends int // where the repair stands after
		next  int
	}{
		{"the plug has set: it is trimmed first", 1, nil, parts.Scan{Station: "bore"}, "", 2, 8},
		{"the plug sets for another minute", 1, waits(parts.Setting, 0, noon.Add(time.Minute)), parts.Scan{Station: "bore"}, "waiting", 0, 0},
		{"trimmed: the same scan bores again", 2, nil, parts.Scan{Station: "bore"}, "", 3, 8},
		{"trimming by its number", 1, nil, parts.Scan{Station: "bore", Step: 1002}, "", 2, 8},
		{"bored again, and nobody recorded the trimming", 1, nil, parts.Scan{Station: "bore", Step: 1003}, "", 3, 8},
		{"trimmed already", 2, nil, parts.Scan{Station: "bore", Step: 1002}, "done-already", 0, 0},
		{"the waiting of the plug cannot be recorded", 1, nil, parts.Scan{Step: 1001}, "step-unknown", 0, 0},
		{"on with the hole still plugged", 1, nil, parts.Scan{Station: "sand"}, "must-record", 0, 0},
		{"on with the hole still plugged, on a person's word", 1, nil, parts.Scan{Station: "sand", Override: true}, "", 3, 8},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := piece(shelves, 1, 7, mending(tt.mend))
			if tt.also != nil {
				tt.also(&s)
			}
			tt.scan.At = noon
			events, err := routing.Advance(view(s), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code == "" {
				after := parts.Apply(s, events[0])
				assert.Equal(t, tt.mends, after.Mend)
				if !after.Mending() && events[0].Kind == parts.Did {
					assert.Equal(t, tt.next, after.Next)
				} else {
					assert.Equal(t, 7, after.Next, "a repair leaves the part where it was")
				}
			}
		})
	}
}

func TestARepairThatIsPassedOverFillsTheStepsBetween(t *testing.T) {
	s := piece(rails, 1, fpJoint, mending(1))
	events, err := routing.Advance(view(s), parts.Scan{Station: "plane", At: noon, Override: true, Reason: "bored by hand"})
	require.NoError(t, err)
	assert.Equal(t, []int{fpJoint, fpWidth}, events[0].Detail.Filled)
	assert.Equal(t, "bored by hand", events[0].Detail.Override)
	after := parts.Apply(s, events[0])
	assert.False(t, after.Mending())
	assert.Equal(t, parts.WasFilled, after.Past[fpWidth].How)
	assert.Equal(t, parts.Past{How: parts.WasDone, At: noon}, after.Past[fpPlane])
}

func TestARefusalSaysWhatIsTrue(t *testing.T) {
	s := piece(boards, 1, 4, waits(parts.Drying, 3, noon.Add(130*time.Minute)))
	_, err := routing.Advance(view(s), parts.Scan{Station: "sand", At: noon})
	p := parts.AsProblem(err)
	require.NotNil(t, p)
	assert.Equal(t, parts.Refused, p.Sort)
	assert.Equal(t, "Board 1 is drying: 2h10m0s to go, ready 2026-03-02 14:10:00 +0000 UTC. "+
		"Leave it on the rack. If it is dry by touch on a test piece, say so.", p.Error())
	assert.Equal(t, noon.Add(130*time.Minute), p.Facts["ready_at"])
	assert.Equal(t, 130*60, p.Facts["wait_seconds"])

	_, err = routing.Advance(view(piece(rails, 2, 0, replaced)), parts.Scan{Station: "rip", At: noon})
	assert.Equal(t, parts.ID("NEW1"), parts.AsProblem(err).Facts["replaced_by"])

	_, err = routing.Advance(view(piece(rails, 2, fpPlane)), parts.Scan{Step: 2, At: noon})
	assert.Equal(t, parts.Already, parts.AsProblem(err).Sort)
	assert.Equal(t, noon.Add(-time.Hour), parts.AsProblem(err).Facts["done_at"])

	_, err = routing.Advance(view(piece(rails, 2, 1)), parts.Scan{Station: "rip", At: noon.Add(-2 * time.Hour)})
	assert.Equal(t, parts.Parked, parts.AsProblem(err).Sort)
}

func TestClocksRunOneAfterTheOther(t *testing.T) {
	steps := testRoutings()[frame].Steps
	got := routing.Clocks(steps, frGlue+1, noon, nil)
	want := []parts.Wait{
		{Clock: parts.Clamps, Step: 2, From: noon, Until: noon.Add(time.Hour)},
		{Clock: parts.Setting, Step: 3, From: noon.Add(time.Hour), Until: noon.Add(24 * time.Hour)},
	}
	assert.Equal(t, want, got)
	assert.Empty(t, routing.Clocks(steps, frSand+1, noon, nil), "no wait follows sanding")
	assert.Empty(t, routing.Clocks(steps, len(steps), noon, nil), "nothing follows the last step")
	last := routing.Clocks(drilledSteps.Steps, 6, noon, nil)
	assert.Equal(t, noon.Add(4*time.Hour), last[0].Until, "the last coat dries with nothing to come")
}

func TestAFinishedPieceMayStillBeWet(t *testing.T) {
	s := piece(boards, 1, 5)
	events, err := routing.Advance(view(s), parts.Scan{Station: "topcoat", At: noon})
	require.NoError(t, err)
	after := parts.Apply(s, events[0])
	assert.True(t, after.Finished)
	_, waits := after.Waiting(noon.Add(4*time.Hour - time.Minute))
	assert.True(t, waits)
	_, waits = after.Waiting(noon.Add(4 * time.Hour))
	assert.False(t, waits)
}
