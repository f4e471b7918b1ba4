package drying

import (
	"math"

	"benchtally/parts"
)

// Deficit is the vapour pressure deficit of air in pascals: how much more
// water it could take at a temperature in °C and a humidity in percent.
type Deficit func(celsius, humidity float64) float64

// Rate is how fast a product goes, in millionths of the speed of its data
// sheet. It is a whole number so that sums of it are exact.
type Rate int64

// The bounds of the estimate. It never goes faster than the sheet, save for a
// product whose sheet says that it does. The bounds besides the sheet's own
// speed are common practice, no source. Air that is full of water dries
// nothing at all: the lower bound keeps a forecast within days, and a reason
// that rests on it asks for a touch.
const (
	Sheet   Rate = 1_000_000
	Slowest Rate = 200_000
	Fastest Rate = 1_500_000
)

// Share is the rate as a part of the sheet's speed.
func (r Rate) Share() float64 { return float64(r) / float64(Sheet) }

// Cause is why a product goes slower than its data sheet says.
type Cause string

// The causes.
const (
	NoCause Cause = ""
	TooCold Cause = "too cold" // under its lowest temperature
	Cold    Cause = "cold"
	Damp    Cause = "damp"
)

// causes are those that time is lost to, by their place in a sum.
var causes = [...]Cause{TooCold, Cold, Damp}

// class is all that the speed of a product depends on. Products that agree in
// it, and the needs of one product, share their sums.
type class struct {
	evaporates        bool
	celsius, humidity float64
	per10, lowest     float64
	least, most       Rate
}

// class is how the product dries or sets.
func (p Product) class() class {
	c := class{evaporates: p.Evaporates, celsius: p.Celsius, humidity: p.Humidity, per10: p.Per10, lowest: p.Lowest, least: Slowest, most: Sheet}
	if c.per10 == 0 {
		c.per10 = UsualPer10
	}
	if p.Faster {
		c.most = Fastest
	}
	return c
}

// closing is how the end of the recoat window comes nearer: with warmth
// sooner, and in the cold no later than the sheet says.
func (p Product) closing() class {
	c := p.class()
	c.lowest, c.least, c.most = math.Inf(-1), Sheet, Fastest
	return c
}

// pace is the rate of a class in some air, and where in causes the reason is
// if that is slow; -1 for none.
type pace struct {
	rate  Rate
	cause int
}

// pace gives how fast the class goes in this air. What evaporates goes by how
// much water the air can take, against the air of the sheet; what reacts by
// its factor for each 10 °C. The air's water says little about a solvent,
// which is one more reason to check by touch.
func (c class) pace(deficit Deficit, celsius, humidity float64) pace {
	if celsius < c.lowest {
		return pace{0, 0}
	}
	if !c.evaporates {
		return c.bounded(math.Pow(c.per10, (celsius-c.celsius)/10), 1)
	}
	full := deficit(c.celsius, c.humidity)
	cause := 2
	// Which of the two takes more away says what to blame.
	if deficit(celsius, c.humidity) <= deficit(c.celsius, humidity) {
		cause = 1
	}
	return c.bounded(deficit(celsius, humidity)/full, cause)
}

// bounded rounds a share of the sheet's speed down, never up, and keeps it
// within the bounds. What is not a number counts as the slowest.
func (c class) bounded(share float64, cause int) pace {
	rate := c.least
	if share > 0 {
		rate = max(c.least, Rate(math.Min(share, c.most.Share())*float64(Sheet)))
	}
	if rate >= Sheet {
		cause = -1
	}
	return pace{rate, cause}
}

// Model is how the speed of the product is estimated, as a format and its
// values, to be shown beside each forecast.
func (p Product) Model() (format string, args []any) {
	never := "never faster than the data sheet"
	if p.Faster {
		never = "at most half as fast again as the data sheet, which says that warm air helps"
	}
	if p.Evaporates {
		return "An estimate: it counts how much water the air can still take, against %s and %s %% humidity, %s. Check by touch on a test piece.",
			[]any{parts.Degrees(p.Celsius), number(p.Humidity), never}
	}
	return "An estimate: %s times slower for each %s under %s, a rule of thumb, %s. Check by touch on a test piece.",
		[]any{number(p.class().per10), parts.Warmer(10), parts.Degrees(p.Celsius), never}
}
