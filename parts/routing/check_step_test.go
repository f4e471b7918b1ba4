package routing_test

import (
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// What one step may say, and what makes no sense.
func TestCheckOneStep(t *testing.T) {
	work := parts.Step{Name: "plane", Station: "plane"}
	dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 240}
	tests := []struct {
		name   string
		step   parts.Step
		change func(*parts.Step)
		code   string
	}{
		{"a setting", work, func(s *parts.Step) { s.Sets = parts.ToThickness }, ""},
		{"a setting nobody knows", work, func(s *parts.Step) { s.Sets = "angle" }, "step-sets"},
		{"a size it makes", work, func(s *parts.Step) { s.Makes = parts.ToThickness }, ""},
		{"a size nobody knows", work, func(s *parts.Step) { s.Makes = "angle" }, "step-makes"},
		{"a check of 120 letters", work, func(s *parts.Step) { s.Check = strings.Repeat("ä", 120) }, ""},
		{"a check of 121 letters", work, func(s *parts.Step) { s.Check = strings.Repeat("a", 121) }, "step-check"},
		{"a part of 10 m is the least", work, func(s *parts.Step) { s.Safe.Length = 10 * parts.Metre }, ""},
		{"more than 10 m", work, func(s *parts.Step) { s.Safe.Length = 10*parts.Metre + 1 }, "step-safe"},
		{"a width of less than nothing", work, func(s *parts.Step) { s.Safe.Width = -1 }, "step-safe"},
		{"a thickness of less than nothing", work, func(s *parts.Step) { s.Safe.Thick = -parts.Inch }, "step-safe"},
		{"a snipe", work, func(s *parts.Step) { s.Snipe = 2 * parts.Inch }, ""},
		{"a snipe of less than nothing", work, func(s *parts.Step) { s.Snipe = -1 }, "step-snipe"},
		{"a snipe of more than a metre", work, func(s *parts.Step) { s.Snipe = parts.Metre + 1 }, "step-snipe"},
		{"every face is cut", work, func(s *parts.Step) { s.Cuts = parts.Faces }, ""},
		{"a face nobody knows", work, func(s *parts.Step) { s.Bears = []parts.Face{"top"} }, "step-face"},
		{"a face twice", work, func(s *parts.Step) { s.Joins = []parts.Face{parts.Edges, parts.Edges} }, "step-face"},
		{"a coat on a face", work, func(s *parts.Step) { s.Coat, s.Coats = "stain", []parts.Face{parts.ShowFace} }, ""},
		{"a mix of no coat", work, func(s *parts.Step) { s.Mix = "locker-brown" }, "step-coat"},
		{"a touch-up of no coat", work, func(s *parts.Step) { s.TouchUp = true }, "step-coat"},
		{"a coat on no face", work, func(s *parts.Step) { s.Coat = "stain" }, "step-coat"},
		{"a face coated with nothing", work, func(s *parts.Step) { s.Coats = []parts.Face{parts.ShowFace} }, "step-coat"},
		{"a coat of 41 letters", work, func(s *parts.Step) { s.Coat, s.Coats = strings.Repeat("a", 41), parts.Faces }, "step-coat"},
		{"a day to set the machine", work, func(s *parts.Step) { s.SetupMinutes = 1440 }, ""},
		{"more than a day", work, func(s *parts.Step) { s.SetupMinutes = 1441 }, "step-setup"},
		{"less than nothing to set it", work, func(s *parts.Step) { s.SetupMinutes = -1 }, "step-setup"},
		{"a day for each", work, func(s *parts.Step) { s.EachSeconds = 86400 }, ""},
		{"more than a day for each", work, func(s *parts.Step) { s.EachSeconds = 86401 }, "step-each"},
		{"less than nothing for each", work, func(s *parts.Step) { s.EachSeconds = -1 }, "step-each"},
		{"it glues, and names no face", work, func(s *parts.Step) { s.Glues = true }, ""},
		{"work that waits", work, func(s *parts.Step) { s.Minutes = 1 }, "step-work"},
		{"work with a clock", work, func(s *parts.Step) { s.Clock = parts.Drying }, "step-work"},
		{"work with a window", work, func(s *parts.Step) { s.Latest = 10 }, "step-work"},
		{"work with what follows a window", work, func(s *parts.Step) { s.Missed = "sand" }, "step-work"},
		{"a window after the wait", dry, func(s *parts.Step) { s.Latest, s.Missed = 241, strings.Repeat("ä", 120) }, ""},
		{"a window that ends with the wait", dry, func(s *parts.Step) { s.Latest = 240 }, "step-latest"},
		{"a window of less than nothing", dry, func(s *parts.Step) { s.Latest = -1 }, "step-latest"},
		{"a window of a year and a minute", dry, func(s *parts.Step) { s.Latest = 525601 }, "step-latest"},
		{"a window where nothing dries", dry, func(s *parts.Step) { s.Clock, s.Latest = parts.Clamps, 500 }, "step-latest"},
		{"a product and what it is waited for", dry, func(s *parts.Step) { s.Product, s.Need = "oil-varnish", "sand it" }, ""},
		{"a product where wood rests", dry, func(s *parts.Step) { s.Clock, s.Product = parts.Resting, "oil-varnish" }, "step-product"},
		{"a product beside a window of its own", dry, func(s *parts.Step) { s.Product, s.Latest = "oil-varnish", 500 }, "step-product"},
		{"a need of no product", dry, func(s *parts.Step) { s.Need = "sand it" }, "step-product"},
		{"work that waits for a product", work, func(s *parts.Step) { s.Product = "oil-varnish" }, "step-work"},
		{"121 letters about the end of it", dry, func(s *parts.Step) { s.Latest, s.Missed = 500, strings.Repeat("a", 121) }, "step-missed"},
		{"the end of a window without one", dry, func(s *parts.Step) { s.Missed = "sand" }, "step-missed"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			step := tt.step
			tt.change(&step)
			err := routing.CheckSteps(parts.Routing{Name: "Shop steps", For: parts.Single, Steps: []parts.Step{{Name: "rip", Station: "rip"}, step}}, routing.Stations())
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.Equal(t, 2, p.Facts["step"])
				assert.NotEmpty(t, p.Do, "it does not say what to do")
			}
		})
	}
}

// A wait has a name and a clock. Whatever else a step may have is work, also
// what is added to the type one day.
func TestAWaitHasNothingOfWork(t *testing.T) {
	ofWait := []string{"Name", "Station", "Clock", "Minutes", "Product", "Need", "Latest", "Missed"}
	kind := reflect.TypeFor[parts.Step]()
	for i := range kind.NumField() {
		if slices.Contains(ofWait, kind.Field(i).Name) {
			continue
		}
		dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60}
		filled := reflect.New(kind.Field(i).Type).Elem()
		fill(filled)
		reflect.ValueOf(&dry).Elem().Field(i).Set(filled)
		err := routing.CheckSteps(parts.Routing{Name: "Shop steps", For: parts.Single, Steps: []parts.Step{{Name: "saw", Station: "rip"}, dry}}, routing.Stations())
		assert.Equal(t, "step-wait", parts.CodeOf(err), kind.Field(i).Name)
	}
}

// fill gives a field a value that is not its zero.
func fill(v reflect.Value) {
	switch v.Kind() {
	case reflect.Bool:
		v.SetBool(true)
	case reflect.String:
		v.SetString("width")
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		fill(v.Index(0))
	case reflect.Struct:
		fill(v.Field(0))
	default:
		v.SetInt(1)
	}
}
