package drying

import (
	"time"

	"benchtally/parts"
)

// Reading is the air of the shop, or of one place in it, from a moment on
// until the next reading.
type Reading struct {
	At       time.Time
	Celsius  float64
	Humidity float64 // in percent
}

// The moments that a reading may be of: a sensor whose clock was never set
// says 1970.
var (
	earliest = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	latest   = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
)

// CheckAir says what is wrong with the reading apart from its time.
func (r Reading) CheckAir() error {
	switch {
	case !(r.Humidity >= 0 && r.Humidity <= 100): // so that NaN is refused too
		return invalid("reading-humidity", "Humidity is from 0 to 100 %%, not %s %%.", number(r.Humidity)).Next("Read the gauge again.")
	case !(r.Celsius >= -30 && r.Celsius <= 60):
		return invalid("reading-temperature", "A shop is from %s to %s, not at %s.", parts.Degrees(-30), parts.Degrees(60), parts.Degrees(r.Celsius)).
			Next("Read the gauge again, and check that it shows degrees Celsius.")
	}
	return nil
}

// The air that a shop with people in it may have, °C: common practice, no
// source.
const (
	coldestShop = 0.0
	hottestShop = 45.0
)

// CodeUnlikely is the code of a reading that is asked back.
const CodeUnlikely = "reading-unlikely"

// Doubt asks a person back who read what a shop hardly ever has: mostly the
// scale or a digit slipped. nil for a likely reading.
func (r Reading) Doubt() error {
	switch {
	case r.Celsius < coldestShop || r.Celsius > hottestShop:
		return parts.Problemf(parts.Refused, CodeUnlikely, "%s in the shop, really?", parts.Degrees(r.Celsius)).
			Next("Nothing was kept yet. Read the gauge again, and look at the scale.")
	case r.Humidity == 0:
		return parts.Problemf(parts.Refused, CodeUnlikely, "0 %% humidity, really?").
			Next("Nothing was kept yet. Read the gauge again.")
	}
	return nil
}

// Check says what is wrong with a reading that a person or a sensor sent.
func (r Reading) Check() error {
	if err := r.CheckAir(); err != nil {
		return err
	}
	if r.At.Before(earliest) || !r.At.Before(latest) {
		return parts.Problemf(parts.Invalid, "reading-time", "A reading of %s cannot be.", r.At).Next("Set the clock of the sensor.")
	}
	return nil
}

// millis is a moment as whole milliseconds, rounded down and kept to the
// years that readings may be of.
func millis(t time.Time) int64 {
	switch {
	case t.Before(earliest):
		t = earliest
	case t.After(latest):
		t = latest
	}
	return t.UnixMilli()
}

// millisUp is the same, rounded up, for starts: what began within a
// millisecond is not counted from before it.
func millisUp(t time.Time) int64 {
	ms := millis(t)
	if time.UnixMilli(ms).Before(t) && t.Before(latest) {
		ms++
	}
	return ms
}

func moment(ms int64) time.Time { return time.UnixMilli(ms).UTC() }
