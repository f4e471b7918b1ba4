package rework_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// wrapped is a frame with every step behind it.
func wrapped(id parts.ID, also ...func(*parts.State)) parts.State {
	s := front(frWrap+1, fit)
	s.Part, s.Finished = id, true
	for _, change := range also {
		change(&s)
	}
	return s
}

func inDoubt(s *parts.State) { s.Doubt = "same setup as Stile 9, which was off" }

func TestDeliver(t *testing.T) {
	dries := func(until time.Time) func(*parts.State) {
		return func(s *parts.State) {
			s.Waits = []parts.Wait{{Clock: parts.Drying, Step: 12, From: noon.Add(-time.Hour), Until: until}}
		}
	}
	tests := []struct {
		name  string
		group []parts.State
		gone  []parts.ID
		left  int // not finished
	}{
		{"what is finished", []parts.State{wrapped("F1"), wrapped("F2")}, []parts.ID{"F1", "F2"}, 0},
		{"one is not wrapped and stays", []parts.State{wrapped("F1"), front(frWrap, fit, func(s *parts.State) { s.Part = "F2" })}, []parts.ID{"F1"}, 1},
		{"a loose part", []parts.State{rail(1, 6)}, []parts.ID{"R1"}, 0},
		{"what is inside goes with its frame", []parts.State{wrapped("F1"), stile(1, inAssembly)}, []parts.ID{"F1"}, 0},
		{"a part that goes into a frame is no delivery", []parts.State{stile(1)}, nil, 0},
		{"a spare stays in the rack", []parts.State{rail(5, 6)}, nil, 0},
		{"its ticket stays", []parts.State{rail(1, 6, ticket)}, nil, 0},
		{"scrapped", []parts.State{wrapped("F1", scrapped)}, nil, 0},
		{"held", []parts.State{wrapped("F1", held)}, nil, 1},
		{"in doubt", []parts.State{wrapped("F1", inDoubt)}, nil, 1},
		{"under repair", []parts.State{wrapped("F1", mending)}, nil, 1},
		{"its last coat dries for a minute more", []parts.State{wrapped("F1", dries(noon.Add(time.Minute)))}, nil, 1},
		{"its last coat is dry on the minute", []parts.State{wrapped("F1", dries(noon))}, []parts.ID{"F1"}, 0},
		{"delivered before", []parts.State{wrapped("F1", delivered)}, nil, 0},
		{"nothing at all", nil, nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v := shop(parts.State{}, tt.group...)
			events, err := rework.Deliver(v, by)
			if tt.gone == nil {
				require.Equal(t, "nothing-finished", parts.CodeOf(err))
				assert.Equal(t, tt.left, parts.AsProblem(err).Facts["unfinished"])
				return
			}
			require.NoError(t, err)
			var gone []parts.ID
			for i, e := range events {
				gone = append(gone, e.Part)
				assert.Equal(t, noon, parts.Apply(tt.group[i], e).Delivered)
			}
			assert.Equal(t, tt.gone, gone)
		})
	}
}

func TestADeliveryIsNeverBeforeTheLastScan(t *testing.T) {
	s := wrapped("F1", func(s *parts.State) { s.LastAt = noon.Add(time.Minute) })
	events, err := rework.Deliver(shop(parts.State{}, s), by)
	require.NoError(t, err)
	assert.Equal(t, noon.Add(time.Minute), events[0].At)
}

// What came back is repaired, wrapped again and delivered again.
func TestAReturn(t *testing.T) {
	s := wrapped("F1", delivered)
	events, err := rework.Return(shop(s), rework.Flaw{Defect: defect("dent"), Spot: "show face", Note: "dropped on the stairs"}, by)
	require.NoError(t, err)
	require.Equal(t, parts.Returned, events[0].Kind)
	assert.Equal(t, []string{"steam the dent", "dry drying 1440 min", "sand it level", "wrap again"}, told(events[0].Detail.Repair))
	s = parts.Apply(s, events[0])
	assert.True(t, s.Delivered.IsZero(), "it is in the shop")
	_, err = rework.Deliver(shop(parts.State{}, s), by)
	assert.Equal(t, "nothing-finished", parts.CodeOf(err))
	s = walk(t, s)
	assert.True(t, s.Finished)
	events, err = rework.Deliver(shop(parts.State{}, s), rework.By{At: s.LastAt})
	require.NoError(t, err)
	assert.Equal(t, s.LastAt, parts.Apply(s, events[0]).Delivered)
}

func TestReturnRefuses(t *testing.T) {
	wrap := parts.Defect{Key: "badly-wrapped", Name: "Badly wrapped", Again: parts.LastAgain}
	tests := []struct {
		name   string
		state  parts.State
		defect parts.Defect
		note   string
		code   string
		repair []string
	}{
		{"a dent", wrapped("F1", delivered), defect("dent"), "on the stairs", "", []string{"steam the dent", "dry drying 1440 min", "sand it level", "wrap again"}},
		{"the last step is done again once, not twice", wrapped("F1", delivered), wrap, "torn", "", []string{"wrap again"}},
		{"a hole in a loose board: bored again and wrapped again", rail(1, 6, delivered), defect("hole-off"), "hinge off", "", []string{"plug sets setting 120 min", "trim flush, bore for the hinges again", "wrap again"}},
		{"no reason", wrapped("F1", delivered), defect("dent"), " ", "reason-missing", nil},
		{"it never left", wrapped("F1"), defect("dent"), "on the stairs", "not-delivered", nil},
		{"it is back and under repair", wrapped("F1", mending), defect("dent"), "on the stairs", "not-delivered", nil},
		{"nothing repairs it", wrapped("F1", delivered), defect("cut-short"), "does not fit", "remake-better", nil},
		{"scrapped", wrapped("F1", delivered, scrapped), defect("dent"), "on the stairs", "scrapped", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Return(shop(tt.state), rework.Flaw{Defect: tt.defect, Note: tt.note}, by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code == "" {
				assert.Equal(t, parts.Returned, events[0].Kind)
				assert.Equal(t, tt.repair, told(events[0].Detail.Repair))
			}
		})
	}
}
