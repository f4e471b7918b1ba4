package parts

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var dryNoon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// judgedTo gives every wait for a product the same end.
func judgedTo(end time.Time) func(ID, Wait) Wait {
	return func(_ ID, w Wait) Wait {
		w.Dry = &Dry{Ready: end}
		return w
	}
}

// What is computed for a moment is in no row of the log or the states.
func TestAForecastIsNeverSaved(t *testing.T) {
	s := State{Part: "101S", Waits: []Wait{{Clock: Drying, Product: "shellac", Until: dryNoon}, {Clock: Setting, Until: dryNoon}}}
	before, err := json.Marshal(s)
	require.NoError(t, err)
	later := s.Judged(judgedTo(dryNoon.Add(time.Hour)))
	after, err := json.Marshal(later)
	require.NoError(t, err)
	assert.Equal(t, string(before), string(after))
	assert.Nil(t, s.Waits[0].Dry, "the state that was judged stays as it was")
	assert.Equal(t, dryNoon.Add(time.Hour), later.Ready())
	assert.Equal(t, []time.Time{dryNoon.Add(time.Hour), dryNoon}, later.Relied())
	assert.Nil(t, s.Relied(), "the clock alone says when a wait is over")
}

// Whether a wait was waited out is told by what the next step relied on, not
// by the first forecast.
func TestAWaitIsCutShortByWhatWasReliedOn(t *testing.T) {
	wet := State{Seq: 1, Next: 2, Past: []Past{{How: WasDone}, {How: WasDone}},
		Waits: []Wait{{Clock: Drying, Step: 1, Product: "shellac", Until: dryNoon}}}
	for _, tt := range []struct {
		name   string
		relied []time.Time
		at     time.Time
		want   PastHow
	}{
		{"a warm day made it ready sooner", []time.Time{dryNoon.Add(-2 * time.Hour)}, dryNoon.Add(-time.Hour), WasDone},
		{"a cold night made it ready later", []time.Time{dryNoon.Add(2 * time.Hour)}, dryNoon.Add(time.Hour), WasFilled},
		{"on the minute", []time.Time{dryNoon}, dryNoon, WasDone},
		{"it stood still", []time.Time{Never}, dryNoon.Add(time.Hour), WasFilled},
		{"nothing was judged", nil, dryNoon.Add(time.Hour), WasDone},
		{"nothing was judged, and it was early", nil, dryNoon.Add(-time.Hour), WasFilled},
	} {
		got := Apply(wet, Event{Seq: 2, Kind: Did, At: tt.at, Step: 2, Detail: Detail{Next: 3, Relied: tt.relied}})
		assert.Equal(t, tt.want, got.Past[1].How, tt.name)
	}
}

// The log of a program from before the readings folds as it did.
func TestAWaitForNoProductIsLeftToTheClock(t *testing.T) {
	s := State{Waits: []Wait{{Clock: Resting, Until: dryNoon}}}
	same := s.Judged(judgedTo(dryNoon.Add(time.Hour)))
	assert.Equal(t, s, same)
	assert.Equal(t, s, s.Judged(nil))
}

// Only a coming coat on the same faces has to be on in time.
func TestTheWindowEndsForACoatToCome(t *testing.T) {
	closes := dryNoon.Add(8 * time.Hour)
	w := Wait{Clock: Drying, Step: 1, From: dryNoon, Until: dryNoon.Add(time.Hour), Latest: closes}
	coat := func(faces ...Face) Step {
		return Step{Name: "topcoat", Station: "topcoat", Record: true, Coat: "topcoat", Coats: faces}
	}
	dry, wrap, looked := Step{Name: "dry", Clock: Drying}, Step{Name: "wrap", Station: "wrap"}, Step{Name: "look over", Station: "wrap", Record: true}
	unnamed := Step{Name: "oil", Station: "stain", Record: true}
	for _, tt := range []struct {
		name  string
		steps []Step
		want  time.Time
	}{
		{"another coat", []Step{coat(Faces...), dry, coat(Faces...), dry, wrap}, closes},
		{"another coat after sanding", []Step{coat(Faces...), dry, wrap, coat(ShowFace)}, closes},
		{"the last coat", []Step{coat(Faces...), dry, wrap}, time.Time{}},
		{"the last coat, looked over then", []Step{coat(Faces...), dry, looked}, time.Time{}},
		{"the other side comes next", []Step{coat(BackFace), dry, coat(ShowFace, Edges)}, time.Time{}},
		{"a coat whose faces nobody named", []Step{coat(), dry, coat(ShowFace)}, closes},
		{"steps that name no coats", []Step{unnamed, dry, unnamed}, closes},
		{"nothing comes", []Step{coat(Faces...), dry}, time.Time{}},
	} {
		assert.Equal(t, tt.want, State{Next: 2}.Recoat(Routing{Steps: tt.steps}, w), tt.name)
	}
	w.Mends = true
	last := Routing{Steps: []Step{coat(Faces...), dry, wrap}}
	s := State{Next: 2, Repair: []Step{coat(ShowFace), dry, coat(ShowFace)}, Mend: 2}
	assert.Equal(t, closes, s.Recoat(last, w), "the second coat of a repair")
	s.Mend = 3
	assert.Zero(t, s.Recoat(last, w), "the last coat of a repair")
}
