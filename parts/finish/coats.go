package finish

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"benchtally/parts"
)

// Side is some faces that a step coats, and which coat of how many it is for
// them: "coat 1 of 2 on the back".
type Side struct {
	Faces []parts.Face
	N, Of int
}

// Sides says of step i which coat it is for each side. Faces that agree are
// one side; a step that does not coat has none, and neither has a touch-up.
func Sides(steps []parts.Step, i int) []Side {
	if i < 0 || i >= len(steps) || steps[i].TouchUp {
		return nil
	}
	var out []Side
	for _, f := range parts.Faces {
		if !has(steps[i].Coats, f) {
			continue
		}
		n, of := 0, 0
		for j, s := range steps {
			if s.Coat != steps[i].Coat || s.TouchUp || !has(s.Coats, f) {
				continue
			}
			of++
			if j <= i {
				n++
			}
		}
		at := slices.IndexFunc(out, func(s Side) bool { return s.N == n && s.Of == of })
		if at < 0 {
			out = append(out, Side{Faces: []parts.Face{f}, N: n, Of: of})
			continue
		}
		out[at].Faces = append(out[at].Faces, f)
	}
	return out
}

// Text says which coat it is: "stain, coat 1 of 2: back, edges".
func (s Side) Text(coat string) string {
	if len(s.Faces) == len(parts.Faces) {
		return fmt.Sprintf("%s, coat %d of %d", coat, s.N, s.Of)
	}
	names := make([]string, len(s.Faces))
	for i, f := range s.Faces {
		names[i] = string(f)
	}
	return fmt.Sprintf("%s, coat %d of %d: %s", coat, s.N, s.Of, strings.Join(names, ", "))
}

// saysGrit finds the grit in the name of a step: "sand to 180 grit", "P150".
var saysGrit = regexp.MustCompile(`(?i)\bp ?(\d{2,4})\b|\b(\d{2,4})[- ]?grit\b|\bgrit (\d{2,4})\b`)

// Grit reads the grit off the name of a step; 0 when it names none. The last
// one counts: that of "sand, 120 then 180 grit" is 180.
func Grit(name string) int {
	grit := 0
	for _, found := range saysGrit.FindAllStringSubmatch(name, -1) {
		// One of the three ways matched, so the others are empty.
		if n, err := strconv.Atoi(found[1] + found[2] + found[3]); err == nil {
			grit = n
		}
	}
	return grit
}

// LastGrit is the grit of the last sanding before step i; 0 when no step
// says one. How fine the wood is decides how dark a stain comes out.
func LastGrit(steps []parts.Step, i int) int {
	for j := min(i, len(steps)) - 1; j >= 0; j-- {
		if grit := Grit(steps[j].Name); grit > 0 && !steps[j].Wait() {
			return grit
		}
	}
	return 0
}

// CodeColourScuffed is the code of a coat of colour that would be scuffed.
const CodeColourScuffed = "colour-scuffed"

// CheckScuff refuses steps that scuff a face whose last coat gives colour:
// that takes the colour off in patches. colours says of a coat whether it
// does. What a clear coat needs between two of them its data sheet says.
func CheckScuff(steps []parts.Step, colours func(coat string) bool) *parts.Problem {
	bare := map[parts.Face]int{} // the step that gave the face its colour, nothing over it since
	for i, s := range steps {
		for _, f := range parts.Faces {
			by, colour := bare[f]
			// Sanding back to the wood cuts the face: the colour is meant to go.
			if s.Scuff && colour && !has(s.Cuts, f) {
				return invalid(CodeColourScuffed, "Step %d scuffs the %s, and step %d gave it its colour.", i+1, string(f), by).
					Next("Take the scuff out, or put a clear coat between the two.").Fact("step", i+1)
			}
		}
		for _, f := range s.Cuts {
			delete(bare, f)
		}
		for _, f := range s.Coats {
			delete(bare, f)
			if s.Coat != "" && colours(s.Coat) {
				bare[f] = i + 1
			}
		}
	}
	return nil
}
