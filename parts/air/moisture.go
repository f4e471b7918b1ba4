package air

import (
	"math"

	"benchtally/parts"
)

// Moisture is the moisture content, in percent of its dry weight, that wood
// comes to when it is left in this air: the equilibrium moisture content of
// the Wood Handbook (FPL-GTR-190, 2010), ch. 4, Eq. (4-5). Its table goes from
// -1 to 66 °C; in colder air this is an extrapolation.
func (a Air) Moisture() float64 {
	t, h := a.Celsius, a.Humidity/100
	w := 349 + t*(1.29+t*0.0135)
	k := 0.805 + t*(0.000736-t*0.00000273)
	k1 := 6.27 - t*(0.00938+t*0.000303)
	k2 := 1.91 + t*(0.0407-t*0.000293)
	kh := k * h
	return 1800 / w * (kh/(1-kh) + (k1*kh+2*k1*k2*kh*kh)/(1+k1*kh+k1*k2*kh*kh))
}

// Wettest is the moisture content, in percent, up to which wood shrinks and
// swells: the usual fibre saturation point of the Wood Handbook.
const Wettest = 30.0

// checkMoisture refuses what no formula of this room holds for.
func checkMoisture(percent ...float64) error {
	for _, m := range percent {
		if !(m >= 0 && m <= Wettest) {
			return parts.Problemf(parts.Invalid, "wood-moisture", "A moisture of the wood of %s %% is outside 0 to %s %%, where it moves.", number(m), number(Wettest)).
				Next("Measure again, in the middle of the part and away from its ends.")
		}
	}
	return nil
}

// The range of a meter with two pins, and how its reading shifts with the
// wood's temperature: Wood Handbook, ch. 13.
const (
	meterLeast    = 4.0
	pointsPerSpan = 0.5
	spanInCelsius = 10 / 1.8 // 10 °F
	meterSetAt    = 21.1     // °C, 70 °F: where a meter is calibrated unless its manual says otherwise
	settledWithin = 2.0      // points; common practice, no source
)

// Corrected is a moisture reading, in percent, put right for wood at another
// temperature than the 70 °F that the meter is set for. Colder wood reads low.
func Corrected(reading, celsius float64) (float64, error) {
	if err := checkCelsius(celsius); err != nil {
		return 0, err
	}
	if !(reading >= meterLeast && reading <= Wettest) {
		return 0, parts.Problemf(parts.Invalid, "meter-range", "A meter tells nothing certain at %s %%: it is good from %s to %s %%.", number(reading), number(meterLeast), number(Wettest)).
			Next("Weigh a cut-off, dry it in the oven and weigh it again, or let the wood dry first.")
	}
	return reading + pointsPerSpan*(meterSetAt-celsius)/spanInCelsius, nil
}

// Settled reports whether wood of this moisture is near enough to what this
// air brings it to, within two points (common practice, no source).
func (a Air) Settled(moisture float64) bool {
	return math.Abs(moisture-a.Moisture()) <= settledWithin
}
