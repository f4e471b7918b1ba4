package routing_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/drying"
	"benchtally/parts/routing"
)

func TestReadyMadeStepsPassTheCheck(t *testing.T) {
	keys := map[string]bool{}
	for _, r := range routing.ReadyMade() {
		require.NoError(t, routing.CheckSteps(r, routing.Stations()), r.Key)
		assert.False(t, keys[r.Key], "%s is there twice", r.Key)
		keys[r.Key] = true
	}
	for _, st := range routing.Stations() {
		require.NoError(t, routing.CheckStation(st), st.Key)
	}
}

func TestStationsSayWhatIsDangerous(t *testing.T) {
	for i, st := range routing.Stations() {
		assert.Equal(t, i+1, st.Place)
		assert.NotEmpty(t, st.Caution, st.Key)
	}
	caution := func(key parts.Station) string {
		i := slices.IndexFunc(routing.Stations(), func(st parts.StationRow) bool { return st.Key == key })
		require.GreaterOrEqual(t, i, 0)
		return routing.Stations()[i].Caution
	}
	for _, cutter := range []parts.Station{"crosscut", "rip", "joint", "plane", "bore"} {
		assert.Contains(t, caution(cutter), "stopped before you pick up the phone")
	}
	assert.Contains(t, caution("stain"), "Oily rags can catch fire")
	assert.Contains(t, caution("sand"), "dust")
	assert.Contains(t, caution("topcoat"), "data sheet")
}

// The order in which rough lumber is made true, as schools teach it: face,
// edge, width, thickness, end, length ("FEWTEL"; an order with thickness
// before width is taught too). Rough cutting and a rest come before it.
func TestMillingIsInTheTradesOrder(t *testing.T) {
	taught := []string{"face", "edge", "width", "plane", "length"}
	for _, key := range []string{routing.FramePart, routing.LoosePart} {
		at := -1
		text := namesFrom(routingOf(t, key), "rest")
		for _, word := range taught {
			next := strings.Index(text, word)
			require.Greater(t, next, at, "%s: %q comes too early or is missing", key, word)
			at = next
		}
	}
}

func TestTheOrderOfTheTrade(t *testing.T) {
	tests := []struct{ key, earlier, later string }{
		{routing.FramePart, "rough length", "rough width"},
		{routing.FramePart, "rough width", "rest"},
		{routing.FramePart, "cut to length", "bore"},
		{routing.Frame, "dry fit", "glue up, clamps on"},
		{routing.Frame, "in clamps", "set"},
		{routing.Frame, "set", "sand"},
		{routing.Frame, "sand", "stain, first coat"},
		{routing.Frame, "stain, second coat", "topcoat, first coat"},
		{routing.Frame, "topcoat, second coat", "wrap"},
		{routing.Panel, "rip to width", "cut to length"},
		{routing.Panel, "cut to length", "sand"},
		{routing.LoosePart, "cut to length", "sand"},
	}
	for _, tt := range tests {
		t.Run(tt.key+": "+tt.earlier+" before "+tt.later, func(t *testing.T) {
			steps := routingOf(t, tt.key).Steps
			find := func(name string) int {
				return slices.IndexFunc(steps, func(s parts.Step) bool { return s.Name == name })
			}
			require.GreaterOrEqual(t, find(tt.earlier), 0)
			assert.Less(t, find(tt.earlier), find(tt.later))
		})
	}
}

func TestCoatsAndGlueDryAndAreRecorded(t *testing.T) {
	for _, r := range routing.ReadyMade() {
		for i, s := range r.Steps {
			if s.Station != "stain" && s.Station != "topcoat" && !strings.HasPrefix(s.Name, "glue up") {
				continue
			}
			assert.True(t, s.Record, "%s: %s", r.Key, s.Name)
			assert.True(t, r.Steps[i+1].Wait(), "%s: nothing dries after %s", r.Key, s.Name)
		}
	}
	// Wood glue stays in clamps for 30 to 90 minutes by temperature and
	// humidity: reference page in the table of check values, 3.3.
	clamps := routingOf(t, routing.Frame).Steps[frGlue+1]
	assert.Equal(t, parts.Clamps, clamps.Clock)
	assert.GreaterOrEqual(t, clamps.Minutes, 30)
	assert.LessOrEqual(t, clamps.Minutes, 90)
}

func TestGuess(t *testing.T) {
	tests := []struct {
		material, name string
		in             bool
		want           string
	}{
		{"white oak", "Rail", true, routing.FramePart},
		{"white oak", "Shelf", false, routing.LoosePart},
		{"3/4 birch plywood", "Back", true, routing.FramePanel},
		{"MDF", "Panel", false, routing.Panel},
		{"Birkensperrholz", "Rückwand", false, routing.Panel},
		{"3-ply", "Back", false, routing.Panel},
		{"OSB", "Base", false, routing.Panel},
		{"sheet goods", "Back", true, routing.FramePanel},
		{"", "Plywood back", true, routing.FramePanel},
		{"white oak", "Supply shelf", false, routing.LoosePart},
		{"", "", false, routing.LoosePart},
		{"", "", true, routing.FramePart},
	}
	for _, tt := range tests {
		t.Run(tt.material+" "+tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, routing.Guess(tt.material, tt.name, tt.in))
		})
	}
}

func TestEveryClockHasAdviceAndAReason(t *testing.T) {
	for _, clock := range parts.Clocks {
		s := piece(rails, 1, fpJoint, waits(clock, 2, noon.Add(1)))
		assert.NotEmpty(t, routing.OverruleReason(s), clock)
		_, err := routing.Advance(view(s), parts.Scan{Station: "joint", At: noon})
		assert.NotEmpty(t, parts.AsProblem(err).Do, clock)
	}
}

// What overrules a wait is as much as the next step needs: touch-dry is not
// hard enough to wrap, and clamps that may come off are not a joint that has
// set.
func TestTheReasonIsAsMuchAsIsNeeded(t *testing.T) {
	clamps := waits(parts.Clamps, 2, noon.Add(time.Hour))
	dries := func(need drying.Need) func(*parts.State) {
		return func(s *parts.State) {
			s.Waits = []parts.Wait{{Clock: parts.Drying, Step: 2, From: noon, Until: noon.Add(time.Hour), Product: "x", Need: string(need)}}
		}
	}
	for _, tt := range []struct {
		name   string
		s      parts.State
		reason string
	}{
		{"the next coat", piece(rails, 1, fpJoint, dries(drying.Recoat)), "Dry by touch"},
		{"sanding", piece(rails, 1, fpJoint, dries(drying.Sand)), "Dry by touch"},
		{"a need that nobody named", piece(rails, 1, fpJoint, dries("")), "Dry by touch"},
		{"stacking", piece(rails, 1, fpJoint, dries(drying.Stack)), "Dry through"},
		{"wrapping", piece(rails, 1, fpJoint, dries(drying.Wrap)), "Hard: a thumbnail leaves no mark"},
		{"use", piece(rails, 1, fpJoint, dries(drying.Cure)), "Hard: a thumbnail leaves no mark"},
		{"clamps alone", piece(rails, 1, fpJoint, clamps), "Joint checked, clamps may come off"},
		{"clamps, then sanding", piece(rails, 1, fpJoint, clamps, waits(parts.Setting, 3, noon.Add(24*time.Hour))), "The joint has set"},
	} {
		assert.Equal(t, tt.reason, routing.OverruleReason(tt.s), tt.name)
		_, err := routing.Advance(view(tt.s), parts.Scan{Station: "joint", At: noon})
		assert.Equal(t, tt.reason, parts.AsProblem(err).Facts["overrule"], tt.name)
		if tt.name == "clamps, then sanding" {
			assert.Contains(t, err.Error(), "The clamps may come off from 2026-03-02 13:00:00 +0000 UTC. Then leave it until the joint has set.")
		}
	}
}

func routingOf(t *testing.T, key string) parts.Routing {
	t.Helper()
	for _, r := range routing.ReadyMade() {
		if r.Key == key {
			return r
		}
	}
	t.Fatalf("no steps %q", key)
	return parts.Routing{}
}

// namesFrom joins the names of the steps that come after one.
func namesFrom(r parts.Routing, after string) string {
	i := slices.IndexFunc(r.Steps, func(s parts.Step) bool { return s.Name == after })
	var names []string
	for _, s := range r.Steps[i+1:] {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}
