package parts

import (
	"math"
	"strconv"
)

// Degrees is a temperature in °C in a sentence; the edge writes it in the
// shop's own scale.
type Degrees float64

// Fahrenheit is the same temperature in °F, to the degree that a gauge shows.
func (d Degrees) Fahrenheit() float64 { return math.Round(float64(d)*9/5 + 32) }

// String writes it in both scales, where no shop is known.
func (d Degrees) String() string {
	return inCelsius(float64(d)) + " (" + inFahrenheit(d.Fahrenheit()) + ")"
}

// In writes it in the scale that goes with a shop's sizes.
func (d Degrees) In(u Unit) string { return inScale(u, float64(d), d.Fahrenheit()) }

// Warmer is a difference of temperatures, in steps of 1 °C.
type Warmer float64

// String writes it in both scales.
func (w Warmer) String() string {
	return inCelsius(float64(w)) + " (" + inFahrenheit(w.fahrenheit()) + ")"
}

// In writes it in the scale that goes with a shop's sizes.
func (w Warmer) In(u Unit) string { return inScale(u, float64(w), w.fahrenheit()) }

func (w Warmer) fahrenheit() float64 { return math.Round(float64(w) * 9 / 5) }

func inScale(u Unit, celsius, fahrenheit float64) string {
	if u == Inches {
		return inFahrenheit(fahrenheit)
	}
	return inCelsius(celsius)
}

func inCelsius(c float64) string {
	return strconv.FormatFloat(math.Round(c*10)/10+0, 'f', -1, 64) + " °C" // + 0: no "-0"
}

func inFahrenheit(f float64) string { return strconv.FormatFloat(f+0, 'f', -1, 64) + " °F" }
