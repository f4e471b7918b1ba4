package routing_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

func TestSkip(t *testing.T) {
	const bought = "bought planed"
	fitted := func(s *parts.State) { s.Parts = []parts.ID{"B1", "B2", "C1", "C2"} }
	rest := waits(parts.Resting, 2, noon.Add(time.Minute))
	rail := piece(rails, 1, 1)
	tests := []struct {
		name    string
		subject parts.State
		group   []parts.State
		number  int
		reason  string
		scan    parts.Scan
		code    string
		moved   []parts.ID
		next    int
	}{
		{"to a later step", rail, nil, fpLength + 1, bought, parts.Scan{}, "", []parts.ID{"B1"}, fpLength},
		{"to a wait: to the work behind it", piece(rails, 1, 0), nil, 3, bought, parts.Scan{}, "", []parts.ID{"B1"}, fpJoint},
		{"everything is left out", rail, nil, 9, bought, parts.Scan{}, "", []parts.ID{"B1"}, 8},
		{"a step that it does not have", rail, nil, 10, bought, parts.Scan{}, "step-unknown", nil, 0},
		{"a step below the first", rail, nil, 0, bought, parts.Scan{}, "step-unknown", nil, 0},
		{"to where it is", rail, nil, 2, bought, parts.Scan{}, "done-already", nil, 0},
		{"to what it has done", piece(rails, 1, fpPlane), nil, 2, bought, parts.Scan{}, "done-already", nil, 0},
		{"no reason", rail, nil, fpLength + 1, " ", parts.Scan{}, "reason-missing", nil, 0},
		{"held", as(rail, held), nil, fpLength + 1, bought, parts.Scan{}, "held", nil, 0},
		{"scrapped", as(rail, scrapped), nil, fpLength + 1, bought, parts.Scan{}, "scrapped", nil, 0},
		{"in an assembly", as(rail, inAssembly), nil, fpLength + 1, bought, parts.Scan{}, "in-assembly", nil, 0},
		{"under repair", as(rail, mending(1)), nil, fpLength + 1, bought, parts.Scan{}, "under-repair", nil, 0},
		{"from before its last scan", rail, nil, fpLength + 1, bought, parts.Scan{At: noon.Add(-2 * time.Hour)}, "late", nil, 0},
		{"it rests for a minute more", piece(rails, 1, fpJoint, rest), nil, fpLength + 1, bought, parts.Scan{}, "waiting", nil, 0},
		{"it rests, and a person says it may go on", piece(rails, 1, fpJoint, rest), nil, fpLength + 1, bought, parts.Scan{Override: true}, "", []parts.ID{"B1"}, fpLength},
		{"a coat that was on when it came", piece(shelves, 1, 7), nil, 13, "pre-finished", parts.Scan{}, "", []parts.ID{"E1"}, 12},

		{"a frame past its dry fit", piece(frames, 1, frDryFit), nil, frSand + 1, bought, parts.Scan{}, "parts-missing", nil, 0},
		{"a frame past its dry fit, whatever a person says", piece(frames, 1, frDryFit), nil, frSand + 1, bought, parts.Scan{Override: true}, "parts-missing", nil, 0},
		{"a frame past its glue-up", piece(frames, 1, frGlue, fitted), nil, frSand + 1, "screwed", parts.Scan{}, "", []parts.ID{"D1"}, frSand},

		{"a ticket: those that stand before it", railTicket, []parts.State{rail, piece(rails, 2, fpBore), piece(rails, 3, 0)}, fpLength + 1, bought, parts.Scan{}, "", []parts.ID{"B1", "B3"}, fpLength},
		{"a ticket: held, scrapped, fitted and plugged ones stay", railTicket,
			[]parts.State{as(rail, held), piece(rails, 2, 0, scrapped), piece(rails, 3, 0, inAssembly), piece(rails, 4, 0, mending(1)), piece(rails, 5, 0)}, fpLength + 1, bought, parts.Scan{}, "", []parts.ID{"B5"}, fpLength},
		{"a ticket: one rests, so none goes", railTicket, []parts.State{rail, piece(rails, 2, fpJoint, rest)}, fpLength + 1, bought, parts.Scan{}, "waiting", nil, 0},
		{"a ticket that has gone past that", railTicket, []parts.State{piece(rails, 1, fpBore)}, fpLength + 1, bought, parts.Scan{}, "done-already", nil, 0},
		{"a held ticket", as(railTicket, held), []parts.State{rail}, fpLength + 1, bought, parts.Scan{}, "held", nil, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if tt.scan.At.IsZero() {
				tt.scan.At = noon
			}
			events, err := routing.Skip(view(tt.subject, tt.group...), tt.number, tt.reason, tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			require.Equal(t, tt.moved, marks(events))
			before := map[parts.ID]parts.State{tt.subject.Part: tt.subject}
			for _, s := range tt.group {
				before[s.Part] = s
			}
			for _, e := range events {
				was := before[e.Part]
				after := parts.Apply(was, e)
				assert.Equal(t, tt.next, after.Next)
				assert.Equal(t, tt.next == len(testRoutings()[was.Steps].Steps), after.Finished)
				for i := was.Next; i < after.Next; i++ {
					assert.Equal(t, parts.WasSkipped, after.Past[i].How, "what was left out is not taken for done")
				}
				assert.True(t, slices.Equal(was.Past, after.Past[:len(was.Past)]), "what was done stays done")
				assert.Equal(t, tt.scan.Override, e.Detail.Override != "", "what a person overruled stays to be seen")
			}
		})
	}
}

func TestWhatWasLeftOutIsDone(t *testing.T) {
	s := piece(rails, 1, 0)
	events, err := routing.Skip(view(s), 9, "bought", parts.Scan{At: noon})
	require.NoError(t, err)
	s = parts.Apply(s, events[0])
	_, err = routing.Advance(view(s), parts.Scan{Station: "bore", At: noon})
	assert.Equal(t, "finished", parts.CodeOf(err))
	kits := routing.Kits(view(piece(frames, 1, frDryFit), s), parts.Scan{At: noon})
	assert.Equal(t, []int{1}, numbers(kits[0].Ready), "a bought part goes into its frame")
}
