package routing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// What steps say together.
func TestCheckStepsTogether(t *testing.T) {
	back, show := []parts.Face{parts.BackFace}, []parts.Face{parts.ShowFace}
	coat := func(name string, faces []parts.Face) parts.Step {
		return parts.Step{Name: "coat", Station: "topcoat", Coat: name, Coats: faces}
	}
	glue := func(faces []parts.Face) parts.Step {
		return parts.Step{Name: "cleats", Station: "glue", Joins: faces}
	}
	scuff := parts.Step{Name: "scuff", Station: "sand", Scuff: true}
	plane := parts.Step{Name: "plane", Station: "plane"}
	cut := parts.Step{Name: "cut apart", Station: "crosscut", Parts: true}
	fit := parts.Step{Name: "dry fit", Station: "glue", Binds: true}
	late := func(what string) parts.Step {
		return parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60, Latest: 120, Missed: what}
	}
	dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60}
	list := func(steps ...parts.Step) parts.Routing {
		return parts.Routing{Name: "Shop steps", For: parts.Single, Steps: steps}
	}
	tests := []struct {
		name string
		r    parts.Routing
		code string
		step any
	}{
		{"parts are cut apart once", list(plane, cut), "", nil},
		{"parts are cut apart twice", list(cut, plane, cut), "steps-distinct", 1},
		{"an assembly becomes several", parts.Routing{Name: "Shop steps", For: parts.Assembly, Steps: []parts.Step{fit, cut}}, "steps-distinct", 2},
		{"an assembly is put together twice", parts.Routing{Name: "Shop steps", For: parts.Assembly, Steps: []parts.Step{plane, fit, fit}}, "steps-dry-fit", 2},
		{"a part is put together", list(plane, fit), "steps-dry-fit", 2},
		{"glue on bare wood", list(glue(back), coat("clear", back)), "", nil},
		{"glue on a coat", list(plane, coat("clear", back), dry, glue(back)), "scuff-first", 4},
		{"glue on a coat that was scuffed", list(coat("clear", back), scuff, glue(back)), "", nil},
		{"glue on another face", list(coat("clear", show), glue(back)), "", nil},
		{"one of two faces is coated", list(coat("clear", back), glue([]parts.Face{parts.Edges, parts.BackFace})), "scuff-first", 2},
		{"scuffed before the last coat", list(coat("clear", back), scuff, coat("clear", back), glue(back)), "scuff-first", 4},
		{"a step that scuffs and coats", list(coat("clear", back), parts.Step{Name: "level", Station: "topcoat", Scuff: true, Coat: "clear", Coats: back}, glue(back)), "scuff-first", 3},
		{"coated and glued in one step", list(parts.Step{Name: "both", Station: "glue", Joins: back, Coat: "clear", Coats: back}), "", nil},
		{"a late topcoat is scuffed", list(coat("topcoat", show), late("scuff, then coat")), "", nil},
		{"a late stain is scuffed", list(coat("stain", show), late("Scuff it, then coat")), "stain-scuffed", 2},
		{"scuffing is a scuff", list(coat("oil stain", show), late("coat after scuffing")), "stain-scuffed", 2},
		{"a stain by a capital", list(coat("Stain", show), late("scuffs off")), "stain-scuffed", 2},
		{"the second wait after a stain", list(coat("stain", show), dry, late("scuff")), "stain-scuffed", 3},
		{"a late stain, by its data sheet", list(coat("stain", show), late("coat a test piece first")), "", nil},
		{"a word that has scuff in it", list(coat("stain", show), late("unscuffed pieces only")), "", nil},
		{"a topcoat after the stain", list(coat("stain", show), dry, coat("topcoat", show), late("scuff")), "", nil},
		{"a primer that blocks stains", list(coat("stain-blocking primer", show), late("scuff")), "", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := routing.CheckSteps(tt.r, routing.Stations())
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.Equal(t, tt.step, p.Facts["step"])
			}
		})
	}
	err := routing.CheckSteps(list(plane, plane, plane, plane, coat("clear", back), dry, plane, glue(back)), routing.Stations())
	require.ErrorContains(t, err, "Step 8 glues onto the back, which step 5 coats: put a step before it that scuffs.")
}

func TestNothingIsDoneInTheWet(t *testing.T) {
	coat := parts.Step{Name: "stain", Station: "stain", Coat: "stain", Coats: parts.Faces, Record: true}
	dry := parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60}
	hang := parts.Step{Name: "hang hinges", Station: "bore"}
	rest := parts.Step{Name: "rest", Clock: parts.Resting, Minutes: 60}
	tests := []struct {
		name  string
		steps []parts.Step
		code  string
	}{
		{"after the wait", []parts.Step{coat, dry, hang}, ""},
		{"before the coat", []parts.Step{hang, coat, dry}, ""},
		{"between coat and wait", []parts.Step{coat, hang, dry}, "step-in-the-wet"},
		{"a coat that needs no wait", []parts.Step{coat, hang}, ""},
		{"a rest belongs to the work before it", []parts.Step{coat, hang, rest}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			err := routing.CheckSteps(parts.Routing{Name: "Board", For: parts.Single, Steps: tt.steps}, routing.Stations())
			assert.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
		})
	}
}
