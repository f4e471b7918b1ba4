package server

import (
	"math"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/air"
	"benchtally/parts/bench"
	"benchtally/parts/drying"
)

// readingForm is a reading as it was typed. At is that of the reading it is
// to replace, in milliseconds; Read is when it was read by the shop's clock.
// Both are "" for a reading of now. Sure is set by the tap that says that an
// unlikely reading is what the gauge shows.
type readingForm struct {
	Place, Degrees, Unit, Humidity, At, Read, Sure string
}

// OtherUnit is the scale that was not chosen.
func (f readingForm) OtherUnit() string {
	if f.Unit == fahrenheit {
		return celsius
	}
	return fahrenheit
}

// OtherLikely reports whether the same figures are likely in the other scale:
// then the scale was the slip.
func (f readingForm) OtherLikely() bool {
	f.Unit = f.OtherUnit()
	a, err := f.air()
	return err == nil && drying.Reading{Celsius: a.Celsius, Humidity: a.Humidity}.Doubt() == nil
}

// readAsTyped is how a browser sends a date with a time.
const readAsTyped = "2006-01-02T15:04"

// when is the time of the reading, zero for now.
func (f readingForm) when(set parts.Settings) (time.Time, error) {
	if f.At != "" || f.Read == "" {
		return f.Instead(), nil
	}
	at, err := time.ParseInLocation(readAsTyped, f.Read, set.Location())
	if err != nil {
		return at, parts.Problemf(parts.Invalid, "reading-time", "“%s” is no date with a time.", short(f.Read)).Next("Write when the gauge was read, or leave it empty for now.")
	}
	return at, nil
}

// Instead is the time of the reading that is put right.
func (f readingForm) Instead() time.Time {
	ms, err := strconv.ParseInt(f.At, 10, 64)
	if err != nil {
		return time.Time{}
	}
	return time.UnixMilli(ms).UTC()
}

// The scales in which a person may read a thermometer.
const (
	celsius    = "C"
	fahrenheit = "F"
)

// thermometer is the unit of sizes whose scale temperatures are written in.
func (w words) thermometer() parts.Unit {
	switch w.scale {
	case celsius:
		return parts.Millimetres
	case fahrenheit:
		return parts.Inches
	}
	return w.Settings.Unit
}

// Scale is that of the temperatures that a person types and reads.
func (w words) Scale() string {
	if w.thermometer() == parts.Inches {
		return fahrenheit
	}
	return celsius
}

// Typed is a temperature as the field of a form has it, in that scale.
func (w words) Typed(c float64) string { return typedDegrees(c, w.Scale()) }

func typedDegrees(c float64, scale string) string {
	if scale == fahrenheit {
		c = c*9/5 + 32
	}
	return digits(math.Round(c*10) / 10)
}

// inCelsius is what was typed in a scale, to the hundredth.
func inCelsius(degrees float64, scale string) float64 {
	if scale == fahrenheit {
		degrees = (degrees - 32) * 5 / 9
	}
	return math.Round(degrees*100) / 100
}

// usualDegrees is the scale that goes with the shop's sizes.
func usualDegrees(set parts.Settings) string {
	if set.Unit == parts.Inches {
		return fahrenheit
	}
	return celsius
}

// sentReading reads the form of a reading.
func sentReading(c *gin.Context) readingForm {
	return readingForm{Place: c.PostForm("place"), Degrees: strings.TrimSpace(c.PostForm("degrees")), Unit: c.PostForm("unit"),
		Humidity: strings.TrimSpace(c.PostForm("humidity")), At: c.PostForm("at"), Read: c.PostForm("read"), Sure: c.PostForm("sure")}
}

// air reads what was typed as numbers.
func (f readingForm) air() (air.Air, error) {
	degrees, ok := signedAmount(f.Degrees)
	if !ok {
		return air.Air{}, parts.Problemf(parts.Invalid, "reading-temperature", "The temperature “%s” is no number.", short(f.Degrees)).Next("Write it as the gauge shows it, such as 18.5.")
	}
	humidity, ok := amount(strings.TrimSuffix(f.Humidity, "%"))
	if !ok {
		return air.Air{}, parts.Problemf(parts.Invalid, "reading-humidity", "The humidity “%s” is no number.", short(f.Humidity)).Next("Write it as the gauge shows it, such as 55.")
	}
	return air.Air{Celsius: inCelsius(degrees, f.Unit), Humidity: humidity}, nil
}

// signedAmount reads a number that may be below zero.
func signedAmount(text string) (float64, bool) {
	text = strings.ReplaceAll(strings.TrimSpace(text), "\u2212", "-")
	rest, below := strings.CutPrefix(text, "-")
	n, ok := amount(rest)
	if below {
		n = -n
	}
	return n, ok
}

// addReading keeps what somebody read off the gauge.
func (s *Server) addReading(c *gin.Context) error {
	form := sentReading(c)
	if form.Unit == celsius || form.Unit == fahrenheit {
		remember(c, "scale", form.Unit)
		c.Set("scale", form.Unit)
	}
	at, err := form.when(s.words(c.Request.Context()).Settings)
	if err != nil {
		return s.afterAir(c, form, err)
	}
	a, err := form.air()
	if err == nil {
		err = s.bench.ReadGauge(c.Request.Context(), visitor(c).Name, bench.Reading{Place: form.Place, At: at, Celsius: a.Celsius, Humidity: a.Humidity}, form.Sure != "")
	}
	return s.afterAir(c, form, err)
}

// saveUsualAir keeps what air the shop has where nothing was read.
func (s *Server) saveUsualAir(c *gin.Context) error {
	form := sentReading(c)
	a, err := form.air()
	if err == nil {
		err = s.bench.SaveUsualAir(c.Request.Context(), a)
	}
	return s.afterAir(c, readingForm{}, err)
}

// afterAir goes back to the page, or shows it with what was wrong.
func (s *Server) afterAir(c *gin.Context, form readingForm, err error) error {
	if p := parts.AsProblem(err); p != nil {
		return s.showDrying(c, statuses[p.Sort], dryingPage{Problem: p, Reading: form})
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/drying?kept=1#air")
	return nil
}
