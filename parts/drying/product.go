package drying

import (
	"cmp"
	"time"
)

// Product is a glue or a finish as its data sheet describes it. Times are in
// minutes at the sheet's own temperature and humidity; zero is not given.
type Product struct {
	Key  string `json:"key"`  // never changes: "water-clear"
	Name string `json:"name"` // as people say it
	Kind Kind   `json:"kind"`

	Celsius    float64 `json:"celsius"`          // at which the sheet's times hold
	Humidity   float64 `json:"humidity"`         // the same, in percent
	Lowest     float64 `json:"lowest"`           // °C; colder, nothing happens that holds
	Evaporates bool    `json:"evaporates"`       // dries by giving off water or solvent; else it reacts
	Per10      float64 `json:"per10,omitempty"`  // for one that reacts: how many times faster 10 °C warmer; 0 for UsualPer10
	Faster     bool    `json:"faster,omitempty"` // the sheet itself says that warm, dry air shortens its times

	ClampsOff int `json:"clamps_off,omitempty"` // glue only
	Machine   int `json:"machine,omitempty"`    // glue only
	Turn      int `json:"turn,omitempty"`       // coats only, as are recoat, latest, stack and wrap
	Recoat    int `json:"recoat,omitempty"`
	Latest    int `json:"latest,omitempty"` // end of the recoat window; 0 where the product has none
	Sand      int `json:"sand,omitempty"`   // glue: until the swollen joint is sanded flush
	Stack     int `json:"stack,omitempty"`
	Wrap      int `json:"wrap,omitempty"`
	Cure      int `json:"cure"`

	Missed string `json:"missed,omitempty"` // what the sheet says when the window was missed
	Source string `json:"source,omitempty"` // where the figures are from
}

// UsualPer10 is how many times faster a reaction goes when it is 10 °C
// warmer: a rule of thumb of chemistry, no source for any product.
const UsualPer10 = 2.0

// Takes is how long a need takes at the sheet's own conditions. A time that
// the sheet does not give counts as its full cure, so that nothing is called
// ready because a field was left empty.
func (p Product) Takes(n Need) time.Duration {
	return time.Duration(cmp.Or(p.minutes(n), p.Cure)) * time.Minute
}

// Given reports whether the sheet gives a time for the need.
func (p Product) Given(n Need) bool { return p.minutes(n) > 0 }

// minutes is what the sheet gives for a need, 0 for nothing.
func (p Product) minutes(n Need) int {
	switch n {
	case ClampsOff:
		return p.ClampsOff
	case Machine:
		return p.Machine
	case Turn:
		return p.Turn
	case Recoat:
		return p.Recoat
	case Sand:
		return p.Sand
	case Stack:
		return p.Stack
	case Wrap:
		return p.Wrap
	}
	return p.Cure
}
