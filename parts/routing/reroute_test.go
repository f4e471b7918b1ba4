package routing_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/routing"
)

const newer int64 = 50

// newerSteps are a newer version of the ready-made steps of a list.
func newerSteps(of int64, change func([]parts.Step) []parts.Step) parts.Routing {
	r := testRoutings()[of]
	r.ID, r.Version, r.Steps = newer, r.Version+1, change(slices.Clone(r.Steps))
	return r
}

var inspect = parts.Step{Name: "look for knots", Station: "wrap"}

// insert puts a step in before index i.
func insert(i int) func([]parts.Step) []parts.Step {
	return func(s []parts.Step) []parts.Step { return slices.Insert(s, i, inspect) }
}

func drop(i int) func([]parts.Step) []parts.Step {
	return func(s []parts.Step) []parts.Step { return slices.Delete(s, i, i+1) }
}

func same(s []parts.Step) []parts.Step { return s }

func TestReroute(t *testing.T) {
	planing := piece(rails, 1, fpPlane)
	other := testRoutings()[loose]
	tests := []struct {
		name  string
		state parts.State
		to    parts.Routing
		onAt  int
		code  string
		next  int
		past  string // d done, f filled, s left out
	}{
		{"not begun: it starts the new steps", piece(rails, 1, 0), newerSteps(framePart, insert(0)), 0, "", 0, ""},
		{"not begun, other steps", piece(rails, 1, 0), other, 0, "", 0, ""},
		{"the same steps in a newer version", planing, newerSteps(framePart, same), 0, "", fpPlane, "ddddd"},
		{"a step put in before the place: it was never met", planing, newerSteps(framePart, insert(fpJoint)), 0, "", fpPlane + 1, "dddsdd"},
		{"a step put in at the place: it goes on behind it", planing, newerSteps(framePart, insert(fpPlane)), 0, "", fpPlane + 1, "ddddds"},
		{"a step put in at the place, and it is to be done", planing, newerSteps(framePart, insert(fpPlane)), fpPlane + 1, "", fpPlane, "ddddd"},
		{"a step put in after the place", planing, newerSteps(framePart, insert(fpLength)), 0, "", fpPlane, "ddddd"},
		{"a step taken out before the place", planing, newerSteps(framePart, drop(fpWidth)), 0, "", fpPlane - 1, "dddd"},
		{"the next step taken out", planing, newerSteps(framePart, drop(fpPlane)), 0, "goes-on-where", 0, ""},
		{"the next step taken out, and a person says where it goes on", planing, newerSteps(framePart, drop(fpPlane)), fpPlane + 1, "", fpPlane, "ddddd"},
		{"a step taken out after the place", planing, newerSteps(framePart, drop(fpBore)), 0, "", fpPlane, "ddddd"},
		{"the second ripping is the second ripping", piece(rails, 1, fpWidth), newerSteps(framePart, insert(0)), 0, "", fpWidth + 1, "sdddd"},
		{"finished stays finished", done(rails, 1), newerSteps(framePart, insert(fpBore)), 0, "", 9, "dddddddsd"},
		{"what was not recorded stays so", piece(rails, 1, fpPlane, func(s *parts.State) { s.Past[fpJoint].How = parts.WasFilled }), newerSteps(framePart, insert(0)), 0, "", fpPlane + 1, "sdddfd"},

		{"other steps, and nobody says where", planing, other, 0, "under-way", 0, ""},
		{"other steps, at the one named", planing, other, 8, "", 7, "dddddss"},
		{"other steps, at a wait: at the work behind it", planing, other, 3, "", 3, "ddd"},
		{"other steps, all of them behind it", planing, other, len(other.Steps) + 1, "", len(other.Steps), "ddddd" + "ssssssssssss"},
		{"other steps, at one they do not have", planing, other, len(other.Steps) + 2, "goes-on-where", 0, ""},
		{"at a step below the first", planing, other, -1, "goes-on-where", 0, ""},
		{"under repair", piece(rails, 1, fpPlane, mending(1)), newerSteps(framePart, same), 0, "under-repair", 0, ""},
		{"repaired, and that is done", piece(rails, 1, fpPlane, mending(3)), newerSteps(framePart, same), 0, "", fpPlane, "ddddd"},
		{"steps of assemblies", planing, testRoutings()[frame], 1, "steps-for", 0, ""},

		{"the steps it has", planing, testRoutings()[framePart], 0, "steps-same", 0, ""},
		{"scrapped", as(planing, scrapped), newerSteps(framePart, same), 0, "steps-same", 0, ""},
		{"in an assembly", as(planing, inAssembly), newerSteps(framePart, same), 0, "steps-same", 0, ""},
		{"another line", piece(stiles, 1, 0), newerSteps(framePart, same), 0, "steps-same", 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := routing.Reroute(view(railTicket, railTicket, tt.state), rails, tt.to, tt.onAt, 3)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.NotEmpty(t, parts.AsProblem(err).Do)
				return
			}
			require.Len(t, events, 1)
			after := parts.Apply(tt.state, events[0])
			how := ""
			for _, p := range after.Past {
				how += string(p.How)
			}
			assert.Equal(t, []any{tt.to.ID, tt.next, tt.past}, []any{after.Steps, after.Next, how})
			assert.Equal(t, tt.next == len(tt.to.Steps), after.Finished)
		})
	}
	_, err := routing.Reroute(view(railTicket, planing), rails, newerSteps(framePart, drop(fpPlane)), 0, 3)
	assert.ErrorContains(t, err, `Rail 1 is under way, and the new steps have no "plane". Say at which of the new steps it goes on.`)
}

func TestAnAssemblyStaysOnItsSideOfTheDryFit(t *testing.T) {
	fitted := func(s *parts.State) { s.Parts = []parts.ID{"B1", "B2", "C1", "C2"} }
	tests := []struct {
		name  string
		state parts.State
		to    parts.Routing
		onAt  int
		code  string
	}{
		{"put together, at a later step", piece(frames, 1, frSand, fitted), newerSteps(frame, insert(frSand)), 0, ""},
		{"put together, at its dry fit", piece(frames, 1, frSand, fitted), newerSteps(frame, same), frDryFit + 1, "goes-on-where"},
		{"in pieces, behind its dry fit", piece(frames, 1, 0, func(s *parts.State) { s.Past = []parts.Past{{How: parts.WasDone}}; s.Next = 1 }), newerSteps(frame, insert(0)), frSand + 2, "goes-on-where"},
		{"in pieces, before its dry fit", piece(frames, 1, 0, func(s *parts.State) { s.Past = []parts.Past{{How: parts.WasDone}}; s.Next = 0 }), newerSteps(frame, insert(0)), 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := routing.Reroute(view(railTicket, tt.state), frames, tt.to, tt.onAt, 3)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
		})
	}
}

func TestClocksAndNicksKeepTheirStep(t *testing.T) {
	until := noon.Add(time.Hour)
	s := piece(rails, 1, fpJoint, waits(parts.Resting, 2, until), func(s *parts.State) { s.Nicks = []int{1} })
	move := func(s parts.State, r parts.Routing, onAt int) parts.State {
		events, err := routing.Reroute(view(railTicket, s), rails, r, onAt, 3)
		require.NoError(t, err)
		return parts.Apply(s, events[0])
	}
	after := move(s, newerSteps(framePart, insert(0)), 0)
	require.Len(t, after.Waits, 1)
	assert.Equal(t, []any{3, until, []int{2}}, []any{after.Waits[0].Step, after.Waits[0].Until, after.Nicks})
	_, runs := after.Waiting(noon)
	assert.True(t, runs, "a newer version makes nothing dry")

	after = move(s, newerSteps(framePart, drop(2)), 0)
	assert.Empty(t, after.Waits, "whoever takes a wait out of the steps says that it is needless")
	after = move(s, newerSteps(framePart, drop(1)), 0)
	assert.Empty(t, after.Nicks)

	// A plug that was bored again ended its repair, and its glue still sets.
	wet := piece(rails, 1, fpLength, mending(3), func(s *parts.State) {
		s.Repair = append(s.Repair, parts.Step{Name: "set", Clock: parts.Setting, Minutes: 60})
		s.Mend = len(s.Repair)
		s.Waits = []parts.Wait{{Clock: parts.Setting, Step: 3, Mends: true, From: noon, Until: until}}
	})
	after = move(wet, newerSteps(framePart, insert(0)), 0)
	assert.Equal(t, wet.Waits, after.Waits, "the clock of a repair is none of the steps'")
}

// Whatever a newer version puts in, takes out or turns around: a piece keeps
// each step that it did and that is still there, and stands behind it or at
// where a person says.
func TestAMoveToNewerStepsForgetsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := piece(rails, 1, rapid.IntRange(1, 8).Draw(t, "next"))
		s.Next = parts.NextWork(testRoutings()[framePart].Steps, s.Next)
		r := newerSteps(framePart, same)
		for range rapid.IntRange(0, 4).Draw(t, "changes") {
			i := rapid.IntRange(0, len(r.Steps)-1).Draw(t, "where")
			switch rapid.SampledFrom([]string{"put in", "take out"}).Draw(t, "what") {
			case "put in":
				r.Steps = slices.Insert(slices.Clone(r.Steps), i, inspect)
			default:
				r.Steps = slices.Delete(slices.Clone(r.Steps), i, i+1)
			}
		}
		events, err := routing.Reroute(view(railTicket, s), rails, r, 0, 3)
		old := testRoutings()[framePart].Steps
		count := func(steps []parts.Step, name string, n int) int {
			found := 0
			for _, st := range steps[:n] {
				if st.Name == name {
					found++
				}
			}
			return found
		}
		if err != nil {
			require.Equal(t, "goes-on-where", parts.CodeOf(err))
			require.Zero(t, count(r.Steps, old[s.Next].Name, len(r.Steps)), "it goes on where its next step is")
			return
		}
		after := parts.Apply(s, events[0])
		require.Len(t, after.Past, after.Next)
		if s.Next < len(old) {
			require.Equal(t, old[s.Next].Name, r.Steps[after.Next].Name)
		} else {
			require.True(t, after.Finished)
		}
		kept := 0
		for _, p := range after.Past {
			if p.How == parts.WasDone {
				kept++
			}
		}
		still := 0
		for _, st := range r.Steps[:after.Next] {
			if count(old, st.Name, min(s.Next, len(s.Past))) > 0 {
				still++
			}
		}
		require.Equal(t, still, kept)
	})
}
