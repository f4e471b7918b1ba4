package server

import (
	"bytes"
	"encoding/json"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/drying"
)

// wetBoardJSON is everything that is wet.
type wetBoardJSON struct {
	Now  time.Time `json:"now"`
	Air  []wetAir  `json:"air"`
	Rows []wetJSON `json:"rows"`
}

// wetAir is the air of a place that was read, the whole shop first.
type wetAir struct {
	Place    string    `json:"place"`
	ReadAt   time.Time `json:"read_at,omitzero"`
	Celsius  float64   `json:"celsius"`
	Humidity float64   `json:"humidity"`
	DewPoint *float64  `json:"dew_point_c,omitempty"`
	Moisture float64   `json:"equilibrium_moisture_pct"`
}

// wetJSON is some pieces of one line in one place under one clock.
type wetJSON struct {
	Line    string      `json:"line"`
	Name    string      `json:"name"`
	Count   int         `json:"count"`
	Marks   []parts.ID  `json:"marks"`
	Place   string      `json:"place"`
	Where   string      `json:"where"`
	Clock   parts.Clock `json:"clock"`
	Product string      `json:"product,omitempty"`
	For     string      `json:"for,omitempty"`
	Since   time.Time   `json:"since"`
	First   time.Time   `json:"first_ready_at,omitzero"`
	Ready   time.Time   `json:"ready_at,omitzero"`
	When    string      `json:"when"`
	Share   float64     `json:"share"`
	Still   bool        `json:"stands_still,omitempty"`
	Closes  time.Time   `json:"window_closes_at,omitzero"`
	TooLate bool        `json:"window_missed,omitempty"`
	Missed  string      `json:"window_advice,omitempty"`
	Why     []string    `json:"why,omitempty"`
	Next    string      `json:"next,omitempty"`
}

// apiDrying says what is wet.
func (s *Server) apiDrying(c *gin.Context) error {
	page, err := s.lookDrying(c.Request.Context(), c.Request.URL.Query())
	if err != nil {
		return err
	}
	out := wetBoardJSON{Now: page.Now, Air: []wetAir{}, Rows: []wetJSON{}}
	for _, a := range page.Airs {
		one := wetAir{Place: a.Place.Key, ReadAt: a.At, Celsius: a.Air.Celsius, Humidity: a.Air.Humidity, Moisture: a.Moisture}
		if !a.Dry {
			one.DewPoint = &a.DewPoint
		}
		out.Air = append(out.Air, one)
	}
	for _, r := range page.Rows {
		out.Rows = append(out.Rows, wetOf(page.Words, r))
	}
	return answer(c, http.StatusOK, out)
}

func wetOf(w words, r drying.Row) wetJSON {
	out := wetJSON{Line: r.Line.Name, Name: r.Name, Count: len(r.Marks), Marks: r.Marks, Place: r.Place, Where: r.Where, Clock: r.Clock,
		Product: r.Key, For: string(r.Need), Since: r.Since, First: r.First, Ready: r.Ready, When: string(r.When), Share: r.Share,
		Closes: r.Closes, TooLate: r.TooLate(w.Now), Next: r.Next}
	if !r.Closes.IsZero() {
		out.Missed = r.Missed
	}
	if w.Never(r.Ready) {
		out.Still, out.Ready = true, time.Time{}
	}
	if w.Never(r.First) {
		out.First = time.Time{}
	}
	for _, why := range r.Why {
		out.Why = append(out.Why, w.Why(why))
	}
	return out
}

// readingSent is one reading of a sensor.
type readingSent struct {
	Place    string    `json:"place"`
	At       time.Time `json:"at"`
	Celsius  *float64  `json:"celsius"`
	Humidity *float64  `json:"humidity"`
}

// readingsSent is one reading, or several at once. Sending one again does
// nothing: of two of one place and time only one counts.
type readingsSent struct {
	Place    string            `json:"place"`
	At       time.Time         `json:"at"`
	Celsius  *float64          `json:"celsius"`
	Humidity *float64          `json:"humidity"`
	Readings []json.RawMessage `json:"readings"`
	By       string            `json:"by"`
}

// all gives the readings of a body.
func (b readingsSent) all() ([]bench.Reading, error) {
	if b.Readings == nil {
		one, err := readingSent{b.Place, b.At, b.Celsius, b.Humidity}.reading()
		return []bench.Reading{one}, err
	}
	if b.Celsius != nil || b.Humidity != nil || b.Place != "" || !b.At.IsZero() {
		return nil, parts.Problemf(parts.Invalid, "readings-twice", "The request has one reading beside a list of them.").Next("Put them all into the list.")
	}
	var out []bench.Reading
	for i, raw := range b.Readings {
		one, err := oneReading(raw)
		if p := parts.AsProblem(err); p != nil {
			return nil, p.Fact("reading", i+1)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, nil
}

func oneReading(raw json.RawMessage) (bench.Reading, error) {
	var r readingSent
	if err := decode(bytes.NewReader(raw), &r); err != nil {
		return bench.Reading{}, err
	}
	return r.reading()
}

// reading is what was sent, with nothing left out that counts.
func (r readingSent) reading() (bench.Reading, error) {
	switch {
	case r.Celsius == nil:
		return bench.Reading{}, fieldMissing("celsius", "Send the temperature in degrees Celsius.")
	case r.Humidity == nil:
		return bench.Reading{}, fieldMissing("humidity", "Send the relative humidity in percent.")
	}
	return bench.Reading{Place: r.Place, At: r.At, Celsius: *r.Celsius, Humidity: *r.Humidity}, nil
}

// readingsKept says how many readings were kept.
type readingsKept struct {
	Kept int `json:"kept"`
}

// apiReadings keeps readings of the air, all or none.
func (s *Server) apiReadings(c *gin.Context) error {
	var b readingsSent
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	readings, err := b.all()
	if err != nil {
		return err
	}
	n, err := s.bench.AddReadings(c.Request.Context(), b.By, bench.FromSensor, readings)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, readingsKept{Kept: n})
}
