package server

import (
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/templates"
)

// sentSteps is a form of two steps, for tests that change one field of it.
func sentSteps(changes ...string) url.Values {
	form := writeSteps([]parts.Step{{Name: "rip to width", Station: "rip", Sets: parts.ToWidth}, {Name: "dry", Clock: parts.Drying, Minutes: 240}}, styles[0])
	for i := 0; i+1 < len(changes); i += 2 {
		form.Set(changes[i], changes[i+1])
	}
	return form
}

func TestReadSteps(t *testing.T) {
	tests := []struct {
		name    string
		changes []string
		code    string
		step    any // the number that the problem is about
	}{
		{"as it is", nil, "", nil},
		{"a form that was cut off", []string{"whole", ""}, "steps-torn", nil},
		{"fewer blocks than it says", []string{"steps", "3"}, "steps-torn", nil},
		{"no count", []string{"steps", "some"}, "steps-torn", nil},
		{"more blocks than anybody has steps", []string{"steps", "61"}, "steps-many", nil},
		{"a number that is none", []string{"step-2-number", "last"}, "step-order", nil},
		{"not a number", []string{"step-2-number", "NaN"}, "step-order", nil},
		{"a wait of no time", []string{"step-2-hours", ""}, "step-hours", 2},
		{"a wait in words", []string{"step-2-hours", "overnight"}, "step-hours", 2},
		{"a wait of less than nothing", []string{"step-2-hours", "-1"}, "step-hours", 2},
		{"a wait that moved to the front", []string{"step-2-hours", "overnight", "step-2-number", "0.5"}, "step-hours", 1},
		{"a window in words", []string{"step-2-latest", "never"}, "step-hours", 2},
		{"a size in words", []string{"step-1-safe-length", "long"}, "length-unreadable", 1},
		{"a size of less than nothing", []string{"step-1-snipe", "-2"}, "length-negative", 1},
		{"a size of zero does not matter", []string{"step-1-safe-width", "0"}, "", nil},
		{"half a minute to set", []string{"step-1-setup", "1.5"}, "step-setup", 1},
		{"a time for each in words", []string{"step-1-each", "quick"}, "step-each", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := readSteps(sentSteps(tt.changes...), parts.Inches)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.Equal(t, tt.step, p.Facts["step"])
				assert.NotEmpty(t, p.Do, "it does not say what to do")
			}
		})
	}
}

func TestStepsMoveAndGo(t *testing.T) {
	names := func(changes ...string) []string {
		steps, err := readSteps(sentSteps(changes...), parts.Inches)
		require.NoError(t, err)
		var out []string
		for _, s := range steps {
			out = append(out, s.Name)
		}
		return out
	}
	assert.Equal(t, []string{"rip to width", "dry"}, names())
	assert.Equal(t, []string{"dry", "rip to width"}, names("step-2-number", "0,5"))
	assert.Equal(t, []string{"dry", "rip to width"}, names("step-1-number", "10", "step-2-number", "9"), "numbers, not letters, have an order")
	assert.Equal(t, []string{"dry"}, names("step-1-name", " "))
	assert.Equal(t, []string{"dry"}, names("step-1-out", "1"))
	assert.Equal(t, []string{"dry"}, names("step-1-name", "", "step-1-number", "", "step-1-safe-length", "long"), "what is taken out may say anything")
}

func TestTimesAreReadAsPeopleWriteThem(t *testing.T) {
	for text, want := range map[string]int{"24": 1440, "0.5": 30, "0,5": 30, ".5": 30, "1.5 h": 90, "2 hours": 120, "50 min": 50, "50min": 50, "1 minute": 1, "3 days": 4320, "1 D": 1440, "0.0167": 1} {
		m, ok := readMinutes(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, m, text)
	}
	for _, text := range []string{"", "1.2.3", "1e3", "inf", "NaN", "0x10", "-1", "1 week", "12345678", "5 minutess"} {
		_, ok := readMinutes(text)
		assert.False(t, ok, text)
	}
	for m := range 3000 {
		again, _ := readMinutes(minutesText(m))
		require.Equal(t, m, again)
	}
}

// A problem of a step opens its block, and the blocks are numbered as the
// sentence counts.
func TestTheBlockOfAProblemIsOpen(t *testing.T) {
	form := sentSteps("step-2-number", "0.5", "step-2-hours", "overnight")
	_, err := readSteps(form, parts.Inches)
	blocks, drawn := arranged(templates.English, form, parts.AsProblem(err))
	require.NoError(t, drawn)
	open := map[string]bool{}
	for _, b := range blocks {
		open[b.Number+" "+b.Value("name")] = b.Open
	}
	assert.Equal(t, map[string]bool{"1 dry": true, "2 rip to width": false, "3 ": false, "4 ": false}, open)
}
