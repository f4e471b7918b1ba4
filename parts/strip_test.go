package parts_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"benchtally/parts"
)

var stripSteps = parts.Routing{Steps: []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "bore", Station: "bore", Bores: true},
	{Name: "stain", Station: "stain", Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 720},
	{Name: "wrap", Station: "wrap"},
}}

func TestStripOf(t *testing.T) {
	past := func(hows ...parts.PastHow) (out []parts.Past) {
		for _, how := range hows {
			out = append(out, parts.Past{How: how})
		}
		return out
	}
	const done, filled = parts.WasDone, parts.WasFilled
	dry := []parts.Wait{{Clock: parts.Drying, Step: 3, From: noon, Until: noon.Add(12 * time.Hour)}}
	mend := []parts.Step{{Name: "plug sets", Clock: parts.Setting, Minutes: 120}, {Name: "bore again", Station: "bore"}}
	tests := []struct {
		name   string
		state  parts.State
		now    time.Time
		shapes string
		nicks  []int
		broken bool
	}{
		{"nothing done", parts.State{}, noon, "ooooo", nil, false},
		{"one done", parts.State{Past: past(done), Next: 1}, noon, "foooo", nil, false},
		{"one not recorded", parts.State{Past: past(filled, done), Next: 2}, noon, "dfooo", nil, false},
		{"drying, a minute to go", parts.State{Past: past(done, done, done, done), Next: 4, Waits: dry}, noon.Add(12*time.Hour - time.Minute), "fffho", nil, false},
		{"dry on the minute", parts.State{Past: past(done, done, done, done), Next: 4, Waits: dry}, noon.Add(12 * time.Hour), "ffffo", nil, false},
		{"everything done", parts.State{Past: past(done, done, done, done, done), Next: 5, Finished: true}, noon, "fffff", nil, false},
		{"plugged: the bored notch is not whole", parts.State{Past: past(done, done), Next: 2, Repair: mend, Mend: 1, Nicks: []int{1}}, noon, "fhooo", []int{1}, false},
		{"bored again: the nick stays", parts.State{Past: past(done, done), Next: 2, Repair: mend, Mend: 2, Nicks: []int{1}}, noon, "ffooo", []int{1}, false},
		{"scrapped", parts.State{Past: past(done), Next: 1, Scrapped: true}, noon, "foooo", nil, true},
		{"a wait of a step that is none", parts.State{Waits: []parts.Wait{{Step: 99, Until: noon.Add(time.Hour)}}}, noon, "ooooo", nil, false},
		{"a nick at a step that is none", parts.State{Nicks: []int{99, -1}}, noon, "ooooo", nil, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			strip := parts.StripOf(stripSteps, tt.state, tt.now)
			shapes := ""
			var nicks []int
			for i, n := range strip.Notches {
				shapes += string(n.Shape)
				if n.Nick {
					nicks = append(nicks, i)
				}
			}
			assert.Equal(t, tt.shapes, shapes)
			assert.Equal(t, tt.nicks, nicks)
			assert.Equal(t, tt.broken, strip.Broken)
		})
	}
}

func TestNextStep(t *testing.T) {
	mend := []parts.Step{{Name: "plug sets", Clock: parts.Setting, Minutes: 120}, {Name: "bore again", Station: "bore"}}
	tests := []struct {
		name   string
		state  parts.State
		number int // 0 for none
		step   string
	}{
		{"at the start", parts.State{}, 1, "plane"},
		{"behind a wait", parts.State{Next: 4}, 5, "wrap"},
		{"a repair comes first", parts.State{Next: 4, Repair: mend, Mend: 1}, 1002, "bore again"},
		{"the repair is done", parts.State{Next: 4, Repair: mend, Mend: 2}, 5, "wrap"},
		{"finished", parts.State{Next: 5, Finished: true}, 0, ""},
		{"finished and plugged", parts.State{Next: 5, Finished: true, Repair: mend, Mend: 1}, 1002, "bore again"},
		{"scrapped", parts.State{Next: 1, Scrapped: true}, 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			next, ok := parts.NextStep(stripSteps, tt.state)
			assert.Equal(t, tt.number != 0, ok)
			assert.Equal(t, []any{tt.number, tt.step}, []any{next.Number, next.Step.Name})
		})
	}
}
