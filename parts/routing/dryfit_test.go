package routing_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// done is a part of a frame with every step behind it.
func done(line int64, number int, also ...func(*parts.State)) parts.State {
	return piece(line, number, 8, also...)
}

func TestDryFit(t *testing.T) {
	over := parts.Scan{Station: "glue", At: noon, Override: true, Reason: "they lie here"}
	dryFit := parts.Scan{Station: "glue", At: noon}
	tests := []struct {
		name  string
		group []parts.State
		scan  parts.Scan
		code  string
		bound []parts.ID
	}{
		{"exactly what it takes", []parts.State{done(rails, 1), done(rails, 2), done(stiles, 1), done(stiles, 2)},
			dryFit, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"one rail short", []parts.State{done(rails, 1), done(stiles, 1), done(stiles, 2)}, dryFit, "parts-missing", nil},
		{"one rail short and no word of a person makes one", []parts.State{done(rails, 1), done(stiles, 1), done(stiles, 2)}, over, "parts-missing", nil},
		{"nothing there at all", nil, dryFit, "parts-missing", nil},
		{"more than it takes: the lowest numbers", []parts.State{done(rails, 3), done(rails, 1), done(rails, 2), done(stiles, 1), done(stiles, 2)},
			dryFit, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"a spare goes in only when it must", []parts.State{done(rails, 5), done(rails, 1), done(rails, 2), done(stiles, 1), done(stiles, 2)},
			dryFit, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"a spare fills the gap", []parts.State{done(rails, 5), done(rails, 2), done(stiles, 1), done(stiles, 2)},
			dryFit, "", []parts.ID{"B2", "B5", "C1", "C2"}},
		{"one is not bored yet", []parts.State{done(rails, 1), piece(rails, 2, fpBore), done(stiles, 1), done(stiles, 2)}, dryFit, "parts-missing", nil},
		{"one is not bored yet, and they all lie on the bench", []parts.State{done(rails, 1), piece(rails, 2, fpBore), done(stiles, 1), done(stiles, 2)},
			over, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"of two unfinished ones the further along", []parts.State{piece(rails, 1, fpPlane), piece(rails, 2, fpBore), done(rails, 3), done(stiles, 1), done(stiles, 2)},
			over, "", []parts.ID{"B3", "B2", "C1", "C2"}},
		{"one has a plug in it", []parts.State{done(rails, 1), done(rails, 2, mending(1)), done(stiles, 1), done(stiles, 2)}, dryFit, "parts-missing", nil},
		{"one is held", []parts.State{done(rails, 1), done(rails, 2, held), done(stiles, 1), done(stiles, 2)}, dryFit, "parts-missing", nil},
		{"one is held, and a person overrules no hold", []parts.State{done(rails, 1), done(rails, 2, held), done(stiles, 1), done(stiles, 2)}, over, "parts-missing", nil},
		{"one is scrapped", []parts.State{done(rails, 1), done(rails, 2, scrapped), done(stiles, 1), done(stiles, 2)}, over, "parts-missing", nil},
		{"one is in another frame", []parts.State{done(rails, 1), done(rails, 2, inAssembly), done(stiles, 1), done(stiles, 2)}, over, "parts-missing", nil},
		{"one is wet for a minute more", []parts.State{done(rails, 1), done(rails, 2, waits(parts.Drying, 7, noon.Add(time.Minute))), done(stiles, 1), done(stiles, 2)}, dryFit, "parts-missing", nil},
		{"one is dry on the minute", []parts.State{done(rails, 1), done(rails, 2, waits(parts.Drying, 7, noon)), done(stiles, 1), done(stiles, 2)},
			dryFit, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"clamps on says that it was fitted, and that binds", []parts.State{done(rails, 1), done(rails, 2), done(stiles, 1), done(stiles, 2)},
			parts.Scan{Station: "glue", Step: frGlue + 1, At: noon}, "", []parts.ID{"B1", "B2", "C1", "C2"}},
		{"glued up of too few", []parts.State{done(rails, 1), done(stiles, 1), done(stiles, 2)},
			parts.Scan{Station: "glue", Step: frGlue + 1, At: noon, Override: true}, "parts-missing", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			subject := piece(frames, 1, frDryFit)
			events, err := routing.Advance(view(subject, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				return
			}
			require.Len(t, events, 1+len(tt.bound))
			assert.Equal(t, tt.bound, events[0].Detail.Parts)
			assert.Equal(t, tt.bound, parts.Apply(subject, events[0]).Parts)
			for i, id := range tt.bound {
				e := events[i+1]
				assert.Equal(t, id, e.Part)
				assert.Equal(t, parts.Fitted, e.Kind)
				assert.Equal(t, subject.Part, parts.Apply(parts.State{Spare: true}, e).In)
			}
		})
	}
}

func TestWhatWasNotReadyStaysToBeSeen(t *testing.T) {
	group := []parts.State{done(rails, 1), piece(rails, 2, fpBore), done(stiles, 1), done(stiles, 2)}
	scan := parts.Scan{Station: "glue", At: noon, Override: true, Reason: "bored without a scan"}
	events, err := routing.Advance(view(piece(frames, 1, frDryFit), group...), scan)
	require.NoError(t, err)
	var reasons []string
	for _, e := range events[1:] {
		reasons = append(reasons, e.Detail.Override)
	}
	assert.Equal(t, []string{"", "bored without a scan", "", ""}, reasons)
}

func TestKits(t *testing.T) {
	v := view(piece(frames, 1, frDryFit), done(rails, 1), done(rails, 5), piece(rails, 2, fpPlane), piece(rails, 3, fpBore),
		done(rails, 4, held), done(stiles, 1))
	kits := routing.Kits(v, parts.Scan{At: noon})
	require.Len(t, kits, 2)
	assert.Equal(t, 0, kits[0].Short())
	assert.Equal(t, []int{1, 5}, numbers(kits[0].Ready), "spares last")
	assert.Equal(t, []int{3, 2}, numbers(kits[0].Away), "the furthest along first")
	assert.Equal(t, 1, kits[1].Short())
	assert.Empty(t, kits[1].Away)

	_, err := routing.Advance(v, parts.Scan{Station: "glue", At: noon})
	assert.Equal(t, []string{"1 of 2 Stile ready, and no other is on its way"}, parts.AsProblem(err).Facts["missing"])
}

func numbers(states []parts.State) []int {
	var out []int
	for _, s := range states {
		out = append(out, s.Number)
	}
	return out
}

func TestAnAssemblyMovesLikeAPart(t *testing.T) {
	bound := func(s *parts.State) { s.Parts = []parts.ID{"B1", "B2", "C1", "C2"} }
	s := piece(frames, 1, frGlue, bound)
	events, err := routing.Advance(view(s), parts.Scan{Station: "glue", At: noon})
	require.NoError(t, err)
	require.Len(t, events, 1, "gluing binds nothing again")
	s = parts.Apply(s, events[0])
	assert.Equal(t, frSand, s.Next)

	// Clamps for an hour and no stress for a day: what makers of wood glue
	// commonly print, see ready_made.go.
	for at, clock := range map[time.Duration]parts.Clock{59 * time.Minute: parts.Clamps, time.Hour: parts.Setting, 24*time.Hour - time.Minute: parts.Setting} {
		_, err = routing.Advance(view(s), parts.Scan{Station: "sand", At: noon.Add(at)})
		require.Equal(t, "waiting", parts.CodeOf(err))
		assert.Equal(t, string(clock), parts.AsProblem(err).Facts["clock"], "after %v", at)
		assert.Equal(t, noon.Add(24*time.Hour), parts.AsProblem(err).Facts["ready_at"], "after %v", at)
	}
	_, err = routing.Advance(view(s), parts.Scan{Station: "sand", At: noon.Add(24 * time.Hour)})
	require.NoError(t, err)
	_, err = routing.Advance(view(s), parts.Scan{Station: "topcoat", At: noon.Add(24 * time.Hour)})
	assert.Equal(t, "must-record", parts.CodeOf(err))
}
