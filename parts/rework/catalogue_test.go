package rework_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
)

// drip is a defect that passes the check; change makes it another.
func drip(change func(*parts.Defect)) parts.Defect {
	d := parts.Defect{Key: "drip", Name: "Drip", Again: parts.CoatsAgain, Limit: 2, Steps: []parts.Step{
		{Name: "sand back", Station: "sand", Scuff: true, Record: true},
		{Name: "dry", Clock: parts.Drying, Minutes: 60},
	}}
	change(&d)
	return d
}

func TestCheckDefect(t *testing.T) {
	type d = *parts.Defect
	tests := []struct {
		name   string
		change func(d)
		code   string
		step   any // the number of the repair step it is about
	}{
		{"as it is", func(d) {}, "", nil},
		{"no name", func(d d) { d.Name = " \t" }, "defect-name", nil},
		{"a name of 40 letters", func(d d) { d.Name = strings.Repeat("ß", 40) }, "", nil},
		{"a name of 41 letters", func(d d) { d.Name = strings.Repeat("ß", 41) }, "defect-name", nil},
		{"a key with a space", func(d d) { d.Key = "a drip" }, "defect-key", nil},
		{"no key", func(d d) { d.Key = "" }, "defect-key", nil},
		{"no limit", func(d d) { d.Limit = 0 }, "", nil},
		{"20 times", func(d d) { d.Limit = 20 }, "", nil},
		{"21 times", func(d d) { d.Limit = 21 }, "defect-limit", nil},
		{"less than never", func(d d) { d.Limit = -1 }, "defect-limit", nil},
		{"something else again", func(d d) { d.Again = "lunch" }, "defect-again", nil},
		{"only the coats", func(d d) { d.Steps = nil }, "", nil},
		{"only the steps", func(d d) { d.Again = "" }, "", nil},
		{"only a rest", func(d d) { d.Again, d.Steps = "", d.Steps[1:] }, "", nil},
		{"neither", func(d d) { d.Again, d.Steps = "", nil }, "defect-empty", nil},
		{"a remake", func(d d) { *d = parts.Defect{Key: d.Key, Name: d.Name, Remake: true} }, "", nil},
		{"a remake with steps", func(d d) { d.Remake, d.Again, d.Limit = true, "", 0 }, "defect-remake", nil},
		{"a remake with coats", func(d d) { d.Remake, d.Steps, d.Limit = true, nil, 0 }, "defect-remake", nil},
		{"a remake after the second time", func(d d) { d.Remake, d.Steps, d.Again = true, nil, "" }, "defect-remake", nil},
		{"a hole that is bored again", func(d d) { d.Key, d.Again = rework.HoleOff, parts.BoreAgain }, "", nil},
		{"a hole that is coated again", func(d d) { d.Key = rework.HoleOff }, "defect-hole", nil},
		{"a hole that is remade", func(d d) { *d = parts.Defect{Key: rework.HoleOff, Name: d.Name, Remake: true} }, "", nil},
		{"10 steps", func(d d) { d.Steps = many(d.Steps[0], 10) }, "", nil},
		{"11 steps", func(d d) { d.Steps = many(d.Steps[0], 11) }, "defect-steps", nil},
		{"a step without a name", func(d d) { d.Steps[0].Name = "" }, "step-name", 1},
		{"a step with a long name", func(d d) { d.Steps[1].Name = strings.Repeat("x", 61) }, "step-name", 2},
		{"a station nobody has", func(d d) { d.Steps[0].Station = "lathe" }, "step-station", 1},
		{"neither place nor wait", func(d d) { d.Steps[0] = parts.Step{Name: "sand"} }, "step-clock", 1},
		{"an unknown wait", func(d d) { d.Steps[1].Clock = "sleeping" }, "step-clock", 2},
		{"a wait of no time", func(d d) { d.Steps[1].Minutes = 0 }, "step-minutes", 2},
		{"a wait of a year", func(d d) { d.Steps[1].Minutes = 60 * 24 * 365 }, "", nil},
		{"a wait of more than a year", func(d d) { d.Steps[1].Minutes = 60*24*365 + 1 }, "step-minutes", 2},
		{"a wait that roughens", func(d d) { d.Steps[1].Scuff = true }, "step-repair", 2},
		{"a wait with a window, which no repair minds", func(d d) { d.Steps[1].Latest = 90 }, "step-repair", 2},
		{"work that waits too", func(d d) { d.Steps[0].Minutes = 5 }, "step-repair", 1},
		{"a dry fit", func(d d) { d.Steps[0].Binds = true }, "step-repair", 1},
		{"a glue-up", func(d d) { d.Steps[0].Glues = true }, "step-repair", 1},
		{"a cut into several", func(d d) { d.Steps[0].Parts = true }, "step-repair", 1},
		{"a coat of its own", func(d d) { d.Steps[0].Coat, d.Steps[0].Coats = "stain", []parts.Face{parts.ShowFace} }, "step-repair", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := rework.CheckDefect(drip(tt.change), routing.Stations())
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.Equal(t, tt.step, p.Facts["step"])
				assert.NotEmpty(t, p.Do, "it does not say what to do")
			}
		})
	}
}

func many(s parts.Step, n int) []parts.Step {
	var out []parts.Step
	for range n {
		out = append(out, s)
	}
	return out
}

func TestTheReadyMadeDefectsAreInOrder(t *testing.T) {
	keys := map[string]bool{}
	for _, d := range rework.Catalogue() {
		assert.NoError(t, rework.CheckDefect(d, routing.Stations()), d.Name)
		assert.False(t, keys[d.Key], "two defects have the key %s", d.Key)
		keys[d.Key] = true
	}
	assert.True(t, keys[rework.HoleOff], "the tap “plugged” needs it")
}

// A dent is steamed, dries, and is sanded then: water swells the fibres, and
// wood sanded while it is swollen is hollow when it has dried. The source is
// advice of woodworkers ("Steaming out a dent", a forum of hand-tool users,
// woodcentral.com: leave it for a day), no standard.
func TestADentDriesBeforeItIsSanded(t *testing.T) {
	for _, d := range rework.Catalogue() {
		if d.Key != "dent" {
			continue
		}
		require.Len(t, d.Steps, 3)
		assert.Contains(t, d.Steps[0].Name, "steam")
		assert.True(t, d.Steps[1].Wait())
		assert.GreaterOrEqual(t, d.Steps[1].Minutes, 24*60)
		assert.Contains(t, d.Steps[2].Name, "sand")
		return
	}
	t.Fatal("there is no dent")
}

// anyRepair makes defects of every shape, good and bad.
func anyRepair(t *rapid.T) parts.Defect {
	step := rapid.Custom(func(t *rapid.T) parts.Step {
		return parts.Step{
			Name:    rapid.SampledFrom([]string{"", "sand", "glue", "dry"}).Draw(t, "name"),
			Station: rapid.SampledFrom([]parts.Station{"", "", "sand", "lathe"}).Draw(t, "station"),
			Clock:   rapid.SampledFrom([]parts.Clock{"", parts.Setting, parts.Drying}).Draw(t, "clock"),
			Minutes: rapid.SampledFrom([]int{0, 1, 60}).Draw(t, "minutes"),
			Scuff:   rapid.Bool().Draw(t, "scuffs"), Binds: rapid.IntRange(0, 9).Draw(t, "binds") == 0,
		}
	})
	return parts.Defect{
		Key: rapid.SampledFrom([]string{rework.HoleOff, "drip", ""}).Draw(t, "key"), Name: "x", Remake: rapid.Bool().Draw(t, "remake"),
		Again: rapid.SampledFrom([]parts.Again{parts.NothingAgain, parts.BoreAgain, parts.CoatsAgain, parts.LastAgain, "lunch"}).Draw(t, "again"),
		Limit: rapid.IntRange(-1, 21).Draw(t, "limit"), Steps: rapid.SliceOfN(step, 0, 3).Draw(t, "steps"),
	}
}

// Whatever passes the check can be recorded on a piece that was bored and
// coated, and every repair step of it has a place to be done at or a wait that
// ends; what does not pass says why.
func TestWhatPassesTheCheckCanBeRepaired(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := anyRepair(t)
		if err := rework.CheckDefect(d, routing.Stations()); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%v", err)
			return
		}
		s := rail(1, 5)
		events, err := rework.Mend(view(s), rework.Flaw{Defect: d, Coats: []int{3}}, by)
		if d.Remake {
			require.Equal(t, "remake-better", parts.CodeOf(err))
			return
		}
		require.NoError(t, err)
		require.Len(t, events, 1)
		e := events[0]
		e.Seq = s.Seq + 1
		after := parts.Apply(s, e)
		require.Equal(t, s.Next, after.Next, "it goes on from where it was")
		for _, step := range after.Repair {
			require.Equal(t, step.Wait(), step.Minutes > 0)
			require.False(t, step.Binds || step.Glues || step.Parts)
		}
		require.Equal(t, parts.NextWork(after.Repair, 0), after.Mend)
	})
}
