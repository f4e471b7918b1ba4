package routing

import (
	"regexp"
	"slices"
	"strings"

	"benchtally/parts"
)

// checkScuff sees to it that glue goes on wood or on a coat that was made
// rough: on a smooth coat it does not hold.
func checkScuff(r parts.Routing) *parts.Problem {
	coated := map[parts.Face]int{} // the step that coated the face, smooth since
	for i, s := range r.Steps {
		for _, f := range s.Joins {
			if by, ok := coated[f]; ok {
				return parts.Problemf(parts.Invalid, "scuff-first", "Step %d glues onto the %s, which step %d coats: put a step before it that scuffs.", i+1, string(f), by).
					Next("Add the step between the two and tick that it roughens a coat.").Fact("step", i+1)
			}
		}
		if s.Scuff {
			clear(coated)
		}
		for _, f := range s.Coats {
			coated[f] = i + 1
		}
	}
	return nil
}

// saysScuff finds scuff, scuffs and scuffing.
var saysScuff = regexp.MustCompile(`(?i)\bscuff`)

// checkStain refuses the advice to scuff a stain whose window has passed:
// that takes the colour off in patches.
func checkStain(r parts.Routing) *parts.Problem {
	stain := 0 // the step before the waits, if it stains
	for i, s := range r.Steps {
		if !s.Wait() {
			stain = 0
			if stains(s.Coat) {
				stain = i + 1
			}
			continue
		}
		if stain > 0 && saysScuff.MatchString(s.Missed) {
			return parts.Problemf(parts.Invalid, "stain-scuffed", "Step %d says to scuff what step %d stains: a scuff takes the colour off in patches.", i+1, stain).
				Next("Write what the product's data sheet says after the window, without a scuff.").Fact("step", i+1)
		}
	}
	return nil
}

// stains reports whether a coat is a stain, as in "oil stain" and "Stain".
// A stain-blocking primer is not one.
func stains(coat string) bool {
	return slices.Contains(strings.FieldsFunc(strings.ToLower(coat), func(r rune) bool { return r == ' ' || r == ',' }), "stain")
}

// checkDries finds work that was put between a coat or glue and the wait that
// belongs to it: the wait would then start after that work.
func checkDries(r parts.Routing) *parts.Problem {
	for i, s := range r.Steps {
		wets := s.Coat != "" || s.Glues
		if !wets || i+2 >= len(r.Steps) || r.Steps[i+1].Wait() || !dries(r.Steps[i+2]) || r.Steps[i+1].Coat != "" || r.Steps[i+1].Glues {
			continue
		}
		return parts.Problemf(parts.Invalid, "step-in-the-wet", "Step %d, %s, comes between %s and the wait that belongs to it.", i+2, r.Steps[i+1].Name, s.Name).
			Next("Put it before step %d or after the wait.", i+1).Fact("step", i+2)
	}
	return nil
}

// dries reports whether a step is a wait that glue or a coat needs.
func dries(s parts.Step) bool {
	return s.Clock == parts.Clamps || s.Clock == parts.Setting || s.Clock == parts.Drying
}
