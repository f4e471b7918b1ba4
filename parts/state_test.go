package parts_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func TestApplyIsTotal(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s parts.State
		n := rapid.IntRange(1, 12).Draw(t, "events")
		for i := range n {
			e := anyEvent(i+1).Draw(t, "event")
			before := snapshot(t, s)
			after := parts.Apply(s, e) // must not panic
			assert.Equal(t, before, snapshot(t, s), "Apply changes nothing of what it is given")
			assert.Equal(t, e.Seq, after.Seq)
			assert.Equal(t, e.Part, after.Part)
			parts.StripOf(stripSteps, after, noon) // must not panic
			s = after
		}
	})
}

func TestStateSurvivesItsRow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s parts.State
		for i := range rapid.IntRange(1, 12).Draw(t, "events") {
			s = parts.Apply(s, anyEvent(i+1).Draw(t, "event"))
		}
		var back parts.State
		require.NoError(t, json.Unmarshal([]byte(snapshot(t, s)), &back))
		assert.Equal(t, snapshot(t, s), snapshot(t, back))
	})
}

// snapshot is a state as its row keeps it.
func snapshot(t require.TestingT, s parts.State) string {
	data, err := json.Marshal(s)
	require.NoError(t, err)
	return string(data)
}

// anyEvent is any kind of event, known or not, with any detail, fitting or not.
func anyEvent(seq int) *rapid.Generator[parts.Event] {
	index := rapid.IntRange(-3, 45)
	return rapid.Custom(func(t *rapid.T) parts.Event {
		d := parts.Detail{
			Next: index.Draw(t, "next"), Filled: rapid.SliceOfN(index, 0, 4).Draw(t, "filled"), Finished: rapid.Bool().Draw(t, "finished"),
			Repair: rapid.SliceOfN(rapid.SampledFrom(stripSteps.Steps), 0, 3).Draw(t, "repair"),
			Parts:  rapid.SliceOfN(rapid.SampledFrom([]parts.ID{"", "101S", "102Q"}), 0, 3).Draw(t, "parts"),
			Other:  rapid.SampledFrom([]parts.ID{"", "103N"}).Draw(t, "other"), Note: rapid.StringN(0, 5, 20).Draw(t, "note"),
			Copy: rapid.IntRange(0, 3).Draw(t, "copy"),
		}
		if rapid.Bool().Draw(t, "waits") {
			d.Waits = []parts.Wait{{Clock: parts.Drying, Step: index.Draw(t, "of"), From: noon, Until: noon.Add(time.Hour)}}
		}
		if rapid.Bool().Draw(t, "birth") {
			d.Birth = &parts.Birth{Kind: parts.Single, Line: 1, Number: 2, Steps: 1, First: index.Draw(t, "first")}
		}
		if rapid.Bool().Draw(t, "back") {
			d.Back = &parts.State{Part: "102Q", Seq: 99, Next: index.Draw(t, "back to"), Copies: 1}
		}
		return parts.Event{
			Part: "101S", Seq: seq, Kind: rapid.SampledFrom(append(parts.EventKinds, "sung-to", "")).Draw(t, "kind"),
			At:   noon.Add(time.Duration(rapid.IntRange(-9, 9).Draw(t, "minutes")) * time.Minute),
			Step: index.Draw(t, "step"), By: 3, Detail: d,
		}
	})
}

func TestApply(t *testing.T) {
	at := noon.Add(time.Hour)
	part := parts.State{Part: "101S", Seq: 4, Next: 1, LastAt: noon, Spare: true, LabelDue: true, Copies: 1, Held: "a knot",
		Past: []parts.Past{{How: parts.WasDone, At: noon, By: 2}}}
	tests := []struct {
		name  string
		event parts.Event
		want  func(*parts.State) // what becomes different beside Seq
	}{
		{"a step", parts.Event{Kind: parts.Did, Step: 3, By: 7, Detail: parts.Detail{Next: 5, Filled: []int{1, 2}}}, func(s *parts.State) {
			s.Next = 5
			s.Past = append(s.Past, parts.Past{How: parts.WasFilled}, parts.Past{How: parts.WasFilled}, parts.Past{How: parts.WasDone, At: at, By: 7}, parts.Past{How: parts.WasDone})
		}},
		{"the last step", parts.Event{Kind: parts.Did, Step: 1, Detail: parts.Detail{Next: 2, Finished: true}}, func(s *parts.State) {
			s.Next, s.Finished = 2, true
			s.Past = append(s.Past, parts.Past{How: parts.WasDone, At: at})
		}},
		{"fitted: it is no spare any more", parts.Event{Kind: parts.Fitted, Detail: parts.Detail{Other: "103N"}}, func(s *parts.State) { s.In, s.Spare = "103N", false }},
		{"scrapped: no label, no hold", parts.Event{Kind: parts.Scrapped, Detail: parts.Detail{Other: "103N"}}, func(s *parts.State) {
			s.Scrapped, s.ReplacedBy, s.Held, s.LabelDue = true, "103N", "", false
		}},
		{"took a place", parts.Event{Kind: parts.TookPlace, Detail: parts.Detail{Other: "103N"}}, func(s *parts.State) { s.Spare, s.Replaces = false, "103N" }},
		{"held", parts.Event{Kind: parts.Held, Detail: parts.Detail{Note: "a split"}}, func(s *parts.State) { s.Held = "a split" }},
		{"released", parts.Event{Kind: parts.Released}, func(s *parts.State) { s.Held = "" }},
		{"printed: nothing to the wood", parts.Event{Kind: parts.Printed, Detail: parts.Detail{Copy: 2}}, func(s *parts.State) { s.Copies, s.LabelDue, s.LastAt = 2, false, noon }},
		{"a label waits: nothing to the wood", parts.Event{Kind: parts.LabelWaits}, func(s *parts.State) { s.LastAt = noon }},
		{"taken back", parts.Event{Kind: parts.Reverted, Detail: parts.Detail{Back: &parts.State{Part: "?", Seq: 3, Copies: 1}}}, func(s *parts.State) {
			*s = parts.State{Part: "101S", Copies: 1}
		}},
		{"taken back to nowhere", parts.Event{Kind: parts.Reverted}, nil},
		{"a kind that is not known: it happened, and that is all", parts.Event{Kind: "sung-to", Detail: parts.Detail{Next: 9, Note: "la"}}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.event.Part, tt.event.Seq, tt.event.At = "101S", 5, at
			want := part
			want.LastAt = at
			want.Past = append([]parts.Past(nil), part.Past...)
			if tt.want != nil {
				tt.want(&want)
			}
			want.Seq = 5
			assert.Equal(t, want, parts.Apply(part, tt.event))
		})
	}
}
