package air

import (
	"fmt"

	"benchtally/parts"
)

// Above is how much warmer than the dew point, in kelvins, a surface should
// be when it is coated: a rule of thumb of the trade, no source. The product's
// data sheet decides.
const Above = 3.0

// Surface is whether parts are warm enough to be coated in some air.
type Surface struct {
	Celsius  float64 // of the parts
	DewPoint float64 // of the air; zero in air as good as dry
	Above    float64 // how much warmer they should be
	Risk     Risk
}

// Risk says how near a surface is to water settling on it.
type Risk string

// The risks.
const (
	NoRisk   Risk = ""
	TooClose Risk = "close to the dew point"
	Dewy     Risk = "at or below the dew point"
)

// Surface judges parts of some temperature in this air. above is how much
// warmer than the dew point they should be, usually Above; on the limit is
// warm enough.
func (a Air) Surface(celsius, above float64) (Surface, error) {
	if err := a.Check(); err != nil {
		return Surface{}, err
	}
	if err := checkCelsius(celsius); err != nil {
		return Surface{}, err
	}
	s := Surface{Celsius: celsius, Above: above}
	dew, ok := a.DewPoint()
	if !ok {
		return s, nil
	}
	s.DewPoint = dew
	switch {
	case celsius <= dew:
		s.Risk = Dewy
	case celsius < dew+above:
		s.Risk = TooClose
	}
	return s, nil
}

// Say is the advice as a format and its values, "" where there is no risk.
func (s Surface) Say() (format string, args []any) {
	switch s.Risk {
	case Dewy:
		return "The parts are at %s and the air's dew point is %s: water settles on them. Do not spray. Let them warm up in this room first, or dry the air.",
			[]any{parts.Degrees(s.Celsius), parts.Degrees(s.DewPoint)}
	case TooClose:
		return "The parts are at %s, close to the air's dew point of %s. Wait until they are at %s; the product's data sheet may ask for more.",
			[]any{parts.Degrees(s.Celsius), parts.Degrees(s.DewPoint), parts.Degrees(s.DewPoint + s.Above)}
	}
	return "", nil
}

// Text is the advice in English.
func (s Surface) Text() string {
	format, args := s.Say()
	return fmt.Sprintf(format, args...)
}
