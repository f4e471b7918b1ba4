package air

import (
	"math"
	"strconv"

	"benchtally/parts"
)

// Density is the weight of the wood in kg for each cubic metre at a moisture
// content in percent: Wood Handbook, ch. 4, the formula for specific gravity
// at that moisture from the one of green volume.
func (s Species) Density(moisture float64) (float64, error) {
	if err := checkMoisture(moisture); err != nil {
		return 0, err
	}
	swollen := 1 - 0.265*s.Gravity*(1-moisture/Wettest)
	return 1000 * s.Gravity / swollen * (1 + moisture/100), nil
}

// Weight is what a piece of this size weighs in kg. A size that is not known
// is zero and gives zero.
func Weight(length, width, thick parts.Length, density float64) float64 {
	metres := func(l parts.Length) float64 { return float64(l) / float64(parts.Metre) }
	return metres(length) * metres(width) * metres(thick) * density
}

// OnePerson is the weight in kg, 51 lb, that one person may lift under the best of
// conditions: the load constant of the NIOSH lifting equation (1994), from
// memory. Anything awkward, far or often lifted is less; local rules decide.
const OnePerson = 23.0

// LiftCaution is what to say to somebody who is about to lift this much, ""
// for nothing.
func LiftCaution(kg float64) string {
	switch {
	case kg > 2*OnePerson:
		return "Too heavy for two: use a cart, a hoist or more hands."
	case kg > OnePerson:
		return "Lift it with a second person."
	}
	return ""
}

// FormatWeight prints a weight as the shop's units go: pounds beside inches.
func FormatWeight(kg float64, st parts.Style) string {
	unit := " kg"
	if st.Unit == parts.Inches || st.Unit == parts.Feet {
		kg, unit = kg/0.45359237, " lb"
	}
	if kg < 10 {
		return number(kg) + unit
	}
	return strconv.FormatFloat(math.Round(kg), 'f', -1, 64) + unit
}
