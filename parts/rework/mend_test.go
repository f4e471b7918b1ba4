package rework_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
)

// The ready-made steps in these tests, and the lines that follow them.
const (
	railSteps int64 = iota + 11
	frameSteps
)

// Indexes of some steps of a ready-made frame.
const frSand, frStain1, frDry1, frStain2, frTop1, frTop2, frWrap = 4, 5, 6, 7, 9, 11, 13

var bothFaces = []parts.Face{parts.ShowFace, parts.BackFace}

// shop is a view with the ready-made steps of a rail and a frame.
func shop(subject parts.State, group ...parts.State) parts.View {
	v := view(subject, group...)
	for _, r := range routing.ReadyMade() {
		switch r.Key {
		case routing.FramePart:
			r.ID = railSteps
		case routing.Frame:
			r.ID = frameSteps
		}
		v.Routings[r.ID] = r
	}
	v.Lines[2] = parts.Line{ID: 2, Kind: parts.Assembly, Name: "Locker front", Quantity: 4, Steps: frameSteps}
	v.Lines[3] = parts.Line{ID: 3, Kind: parts.Single, Name: "Stile", Quantity: 4, Into: 2, Each: 2, Steps: railSteps, Ticket: "T3"}
	return v
}

// front is a frame that stands before a step, everything before it done an
// hour ago.
func front(next int, also ...func(*parts.State)) parts.State {
	s := rail(1, next, assembly)
	s.Part, s.Line, s.Steps, s.Finished = "F1", 2, frameSteps, false
	return behind(s, also...)
}

// stile is a part of a frame with all its steps behind it, the boring last.
func stile(number int, also ...func(*parts.State)) parts.State {
	s := rail(number, 8)
	s.Part, s.Line, s.Steps, s.Finished = parts.ID(fmt.Sprintf("S%d", number)), 3, railSteps, true
	return behind(s, also...)
}

func behind(s parts.State, also ...func(*parts.State)) parts.State {
	for range s.Next {
		s.Past = append(s.Past, parts.Past{How: parts.WasDone, At: noon.Add(-time.Hour)})
	}
	for _, change := range also {
		change(&s)
	}
	return s
}

func delivered(s *parts.State) { s.Delivered, s.Finished = noon.Add(-time.Hour), true }

// fit puts parts into a frame.
func fit(s *parts.State) { s.Parts = []parts.ID{"S1", "S2"} }

// defect is one of the ready-made ones.
func defect(key string) parts.Defect {
	all := rework.Catalogue()
	return all[slices.IndexFunc(all, func(d parts.Defect) bool { return d.Key == key })]
}

// told gives steps as short as they can be told apart: a wait by its minutes,
// a coat by its faces too.
func told(steps []parts.Step) []string {
	var out []string
	for _, s := range steps {
		say := s.Name
		if s.Wait() {
			say = fmt.Sprintf("%s %s %d min", s.Name, s.Clock, s.Minutes)
		}
		for _, f := range s.Coats {
			say += ", " + string(f)
		}
		out = append(out, say)
	}
	return out
}

// A coat is given by its number as a page names it.
var coatOf = map[string]int{"stain 1": frStain1 + 1, "stain 2": frStain2 + 1, "top 1": frTop1 + 1, "top 2": frTop2 + 1}

// How long anything waits here is common practice, no source: see catalogue.go
// and routing's ready_made.go.
func TestEveryReadyMadeDefectIsRepairedInFull(t *testing.T) {
	const all = ", show face, back, edges, ends"
	tests := []struct {
		name   string
		state  parts.State
		defect string
		coats  []int
		side   []parts.Face
		kind   parts.EventKind
		at     int // index of the step at which it came about
		repair []string
		ready  time.Duration // when the first step of the repair may be done
	}{
		{"a hole off", stile(1), "hole-off", nil, nil, parts.Plugged, 7, []string{"plug sets setting 120 min", "trim flush, bore again"}, 2 * time.Hour},
		{"tear-out", stile(1), "tear-out", nil, nil, parts.Flawed, 7, []string{"sand the tear-out away"}, 0},
		{"a dent in a finished frame", front(frWrap, fit), "dent", nil, nil, parts.Flawed, frTop2, []string{"steam the dent", "dry drying 1440 min", "sand it level"}, 0},
		{"squeeze-out", front(frSand, fit), "squeeze-out", nil, nil, parts.Flawed, 1, []string{"scrape the glue off and sand"}, 0},
		{"a sag in the last coat", front(frWrap, fit), "drip-or-sag", []int{coatOf["top 2"]}, nil, parts.Flawed, frTop2,
			[]string{"sand back", "topcoat, second coat again" + all, "dry drying 1440 min"}, 0},
		{"a drip, to be covered by the coat that comes", front(frTop2, fit), "drip-or-sag", nil, nil, parts.Flawed, frTop1, []string{"sand back"}, 0},
		{"a blotch: both stains on one side", front(frTop1, fit), "blotch", []int{coatOf["stain 1"], coatOf["stain 2"]}, bothFaces, parts.Flawed, frStain2,
			[]string{"sand back", "stain, first coat again, show face and back, show face, back", "dry drying 720 min", "stain, second coat again, show face and back, show face, back", "dry drying 720 min"}, 0},
		{"sanded through: named twice and the wrong way round", front(frTop2, fit), "sanded-through", []int{coatOf["top 1"], coatOf["stain 2"], coatOf["top 1"]}, nil, parts.Flawed, frTop1,
			[]string{"sand back", "stain, second coat again" + all, "dry drying 720 min", "topcoat, first coat again" + all, "dry drying 240 min"}, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := rework.Flaw{Defect: defect(tt.defect), Spot: "left end", Coats: tt.coats, Side: tt.side, Note: "seen at the window", Photo: "p1.jpg"}
			events, err := rework.Mend(shop(tt.state), f, by)
			require.NoError(t, err)
			require.Len(t, events, 1)
			e := events[0]
			assert.Equal(t, []any{tt.kind, tt.at, tt.defect, "left end", "seen at the window", "p1.jpg", ""},
				[]any{e.Kind, e.Step, e.Detail.Defect, e.Detail.Spot, e.Detail.Note, e.Detail.Photo, e.Detail.Override})
			assert.Equal(t, tt.repair, told(e.Detail.Repair))
			after := parts.Apply(tt.state, e)
			assert.Equal(t, []int{tt.at}, after.Nicks)
			assert.Equal(t, []parts.Flaw{{Defect: tt.defect, Step: tt.at, Spot: "left end"}}, after.Flaws)
			assert.Equal(t, tt.state.Next, after.Next)
			ready := later(after.Ready(), noon)
			assert.Equal(t, noon.Add(tt.ready), ready)
			mended := walk(t, after)
			assert.Equal(t, []any{tt.state.Next, tt.state.Past, tt.state.Finished}, []any{mended.Next, mended.Past, mended.Finished}, "it goes on from where it was")
		})
	}
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// walk does each step of a repair as soon as it may be done.
func walk(t *testing.T, s parts.State) parts.State {
	at := noon
	for s.Mending() {
		at = later(at, s.Ready())
		if s.Ready().Equal(at) && at.After(noon) {
			_, err := routing.Advance(shop(s), parts.Scan{Station: s.Repair[s.Mend].Station, At: at.Add(-time.Second)})
			require.Equal(t, "waiting", parts.CodeOf(err))
		}
		events, err := routing.Advance(shop(s), parts.Scan{Station: s.Repair[s.Mend].Station, At: at})
		require.NoError(t, err)
		require.Equal(t, parts.Mended, events[0].Kind)
		s = parts.Apply(s, events[0])
	}
	return s
}

func TestMendRefuses(t *testing.T) {
	had := func(n int, spots ...string) func(*parts.State) {
		return func(s *parts.State) {
			for i := range n {
				s.Flaws = append(s.Flaws, parts.Flaw{Defect: "tear-out", Spot: spots[i%len(spots)]})
			}
		}
	}
	wait := func(s *parts.State) { s.LastAt = noon.Add(time.Minute) }
	tests := []struct {
		name   string
		state  parts.State
		flaw   rework.Flaw
		defect string
		code   string
		over   string
	}{
		{"nothing repairs it", stile(1), rework.Flaw{}, "cut-short", "remake-better", ""},
		{"nothing repairs it, and it is used for something shorter", stile(1), rework.Flaw{Override: true}, "cut-short", "", "repaired all the same"},
		{"the first time", stile(1), rework.Flaw{}, "tear-out", "", ""},
		{"the second time", stile(1, had(1, "left end")), rework.Flaw{Spot: "left end"}, "tear-out", "", ""},
		{"the third time at one spot", stile(1, had(2, "left end")), rework.Flaw{Spot: "left end"}, "tear-out", "limit", ""},
		{"the third time, in other letters", stile(1, had(2, "left end")), rework.Flaw{Spot: "Left End"}, "tear-out", "limit", ""},
		{"the third time, and looked at", stile(1, had(2, "left end")), rework.Flaw{Spot: "left end", Override: true}, "tear-out", "", "repaired all the same"},
		{"the third time, at another spot", stile(1, had(2, "left end")), rework.Flaw{Spot: "right end"}, "tear-out", "", ""},
		{"the third time, at spots of their own", stile(1, had(2, "left end", "right end")), rework.Flaw{Spot: "left end"}, "tear-out", "", ""},
		{"the third time, at no spot named", stile(1, had(2, "left end", "right end")), rework.Flaw{}, "tear-out", "limit", ""},
		{"the third time, the others at no spot", stile(1, had(2, "")), rework.Flaw{Spot: "left end"}, "tear-out", "limit", ""},
		{"another defect there", stile(1, had(2, "left end")), rework.Flaw{Spot: "left end"}, "dent", "", ""},
		{"a defect without a limit", front(frSand, fit, func(s *parts.State) { s.Flaws = slices.Repeat([]parts.Flaw{{Defect: "squeeze-out"}}, 30) }), rework.Flaw{}, "squeeze-out", "", ""},
		{"overruled for nothing: nothing stays to be seen", stile(1), rework.Flaw{Override: true}, "tear-out", "", ""},

		{"under repair", stile(1, mending), rework.Flaw{}, "tear-out", "under-repair", ""},
		{"scrapped", stile(1, scrapped), rework.Flaw{}, "tear-out", "scrapped", ""},
		{"in an assembly", stile(1, inAssembly), rework.Flaw{}, "tear-out", "in-assembly", ""},
		{"a ticket", stile(1, ticket), rework.Flaw{}, "tear-out", "not-a-part", ""},
		{"from before its last scan", stile(1, wait), rework.Flaw{}, "tear-out", "late", ""},
		{"a spot of 201 letters", stile(1), rework.Flaw{Spot: strings.Repeat("x", 201)}, "tear-out", "reason-long", ""},
		{"a note of 201 letters", stile(1), rework.Flaw{Note: strings.Repeat("x", 201)}, "tear-out", "reason-long", ""},
		{"delivered, and no word of why it is back", stile(1, delivered), rework.Flaw{}, "tear-out", "reason-missing", ""},

		{"a coat that it has not had", front(frTop1, fit), rework.Flaw{Coats: []int{coatOf["top 1"]}}, "blotch", "coat-unknown", ""},
		{"a step that is no coat", front(frTop1, fit), rework.Flaw{Coats: []int{frSand + 1}}, "blotch", "coat-unknown", ""},
		{"a wait is no coat", front(frTop1, fit), rework.Flaw{Coats: []int{frDry1 + 1}}, "blotch", "coat-unknown", ""},
		{"coat number none", front(frTop1, fit), rework.Flaw{Coats: []int{0}}, "blotch", "coat-unknown", ""},
		{"coat number 99", front(frTop1, fit), rework.Flaw{Coats: []int{99}}, "blotch", "coat-unknown", ""},
		{"one coat that it has had and one that it has not", front(frTop1, fit), rework.Flaw{Coats: []int{coatOf["stain 1"], coatOf["top 2"]}}, "blotch", "coat-unknown", ""},
		{"a side that a piece does not have", front(frTop1, fit), rework.Flaw{Coats: []int{coatOf["stain 1"]}, Side: []parts.Face{"top"}}, "blotch", "side-unknown", ""},
		{"a hole in what was never bored", front(frSand, fit), rework.Flaw{}, "hole-off", "not-bored", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.flaw.Defect = defect(tt.defect)
			events, err := rework.Mend(shop(tt.state), tt.flaw, by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				require.Empty(t, events)
				require.NotEmpty(t, parts.AsProblem(err).Do)
				return
			}
			assert.Equal(t, tt.over, events[0].Detail.Override)
		})
	}
}

// The last step done again is a copy without what may happen only once.
func TestTheLastStepAgain(t *testing.T) {
	again := parts.Defect{Key: "crooked", Name: "Crooked", Again: parts.LastAgain}
	glued := front(frSand, fit)
	events, err := rework.Mend(shop(glued), rework.Flaw{Defect: again}, by)
	require.NoError(t, err)
	require.Equal(t, []string{"glue up, clamps on again"}, told(events[0].Detail.Repair))
	step := events[0].Detail.Repair[0]
	assert.Equal(t, []bool{true, false, false, false}, []bool{step.Record, step.Binds, step.Glues, step.Parts})

	events, err = rework.Mend(shop(stile(1, func(s *parts.State) { s.Next, s.Past, s.Finished = 0, nil, false })), rework.Flaw{Defect: again}, by)
	require.NoError(t, err)
	assert.Empty(t, events[0].Detail.Repair, "nothing was done that could be done again")
	assert.Equal(t, -1, events[0].Step)
}

func TestARepairEndsADoubt(t *testing.T) {
	s := stile(1, func(s *parts.State) { s.Doubt = "same setup as Stile 9, which was off" })
	events, err := rework.Mend(shop(s), rework.Flaw{Defect: defect("hole-off")}, by)
	require.NoError(t, err)
	assert.Empty(t, parts.Apply(s, events[0]).Doubt)
}
