// Package air is what the shop's air does to wood and to parts that are to be
// coated: how much water the air holds and could still take, its dew point,
// the moisture that wood comes to in it, how much a part moves and whether its
// gap survives that, what a part weighs, and whether it is too cold to spray.
// It owns the formulas and the table of species, each with its source. It does
// not own how long anything dries, which is parts/drying.
package air

import (
	"math"
	"strconv"

	"benchtally/parts"
)

// Air is a temperature and a relative humidity.
type Air struct {
	Celsius  float64 // °C
	Humidity float64 // relative, in percent
}

// The temperatures a shop or a client's room has. What is outside them is a
// slip of the pen or of the unit.
const (
	Coldest = -30.0
	Hottest = 60.0
)

// Check says what is wrong with air that a person or a sensor reported.
func (a Air) Check() error {
	if !(a.Humidity >= 0 && a.Humidity <= 100) { // so that NaN is refused too
		return parts.Problemf(parts.Invalid, "air-humidity", "Humidity is from 0 to 100 %%, not %s %%.", number(a.Humidity)).
			Next("Read the gauge again.")
	}
	return checkCelsius(a.Celsius)
}

func checkCelsius(c float64) error {
	if !(c >= Coldest && c <= Hottest) {
		return parts.Problemf(parts.Invalid, "air-temperature", "A shop is from %s to %s, not at %s.", parts.Degrees(Coldest), parts.Degrees(Hottest), parts.Degrees(c)).
			Next("Read the gauge again, and check that it shows degrees Celsius.")
	}
	return nil
}

// Saturation is the pressure of water vapour, in pascals, in air that can
// hold no more at this temperature.
func (a Air) Saturation() float64 { return Saturation(a.Celsius) }

// Vapour is the pressure of the water vapour in the air, in pascals. Below
// freezing the humidity is taken against ice.
func (a Air) Vapour() float64 { return a.Saturation() * a.Humidity / 100 }

// Deficit is how much more water vapour the air could take, in pascals: what
// drives the drying of whatever gives off water.
func (a Air) Deficit() float64 { return a.Saturation() * (1 - a.Humidity/100) }

// driest is the coldest dew point that the formulas hold for.
const driest = -100.0

// DewPoint is the temperature in °C at which this air begins to leave water
// on what is that cold; below freezing it is frost. Air as good as dry has none.
func (a Air) DewPoint() (celsius float64, ok bool) {
	vapour := a.Vapour()
	low, high := driest, a.Celsius
	if vapour < Saturation(low) {
		return 0, false
	}
	// The pressure never falls with the temperature, so halving finds the
	// place, also across the step of 0.06 Pa where ice gives way to water.
	for high-low > 1e-9 {
		middle := (low + high) / 2
		if Saturation(middle) < vapour {
			low = middle
		} else {
			high = middle
		}
	}
	return high, true
}

// number prints a value with at most one decimal.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}
