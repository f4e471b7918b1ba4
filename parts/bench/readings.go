package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/air"
	"benchtally/parts/drying"
	"benchtally/parts/store"
)

// Reading is the air of the shop, or of one place in it, as somebody tells it.
type Reading struct {
	Place    string    // "" for the whole shop; else the key of a station or the mark of a cart
	At       time.Time // zero for now
	Celsius  float64
	Humidity float64 // percent
}

// The sources of readings.
const (
	FromPerson = "person"
	FromSensor = "sensor"
)

// mostReadings bounds what is sent at once: a week of one a minute.
const mostReadings = 10_080

// AddReadings keeps readings, all or none, and says how many.
func (b *Bench) AddReadings(ctx context.Context, by, source string, readings []Reading) (int, error) {
	if len(readings) == 0 {
		return 0, parts.Problemf(parts.Invalid, "readings-none", "There is no reading in that.").Next("Send one at least.")
	}
	if len(readings) > mostReadings {
		return 0, parts.Problemf(parts.TooBig, "readings-many", "These are %d readings; at most %d are taken at once.", len(readings), mostReadings).Next("Send them in several requests.")
	}
	now := b.Now()
	rows := make([]store.Reading, len(readings))
	known := map[string]bool{"": true}
	for i, r := range readings {
		if r.At.IsZero() {
			r.At = now
		}
		if err := b.checkReading(ctx, r, now, known); err != nil {
			if p := parts.AsProblem(err); p != nil && len(readings) > 1 {
				return 0, p.Fact("reading", i+1)
			}
			return 0, err
		}
		rows[i] = store.Reading{Place: r.Place, At: r.At.UTC().Truncate(time.Millisecond), Celsius: r.Celsius, Humidity: r.Humidity, Source: source}
	}
	return len(rows), b.store.AddReadings(ctx, strings.TrimSpace(by), rows)
}

// ReadGauge keeps what a person read off the gauge. An unlikely reading is
// asked back first, and taken when they are sure.
func (b *Bench) ReadGauge(ctx context.Context, by string, r Reading, sure bool) error {
	read := drying.Reading{Celsius: r.Celsius, Humidity: r.Humidity}
	if err := read.CheckAir(); err != nil {
		return err
	}
	if doubt := read.Doubt(); doubt != nil && !sure {
		return doubt
	}
	if now := b.Now(); r.At.After(now.Add(ahead)) {
		return parts.Problemf(parts.Invalid, "reading-ahead", "A reading of %s has not happened yet: it is %s.", r.At, now).Next("Write when the gauge was read, or leave it empty for now.")
	}
	_, err := b.AddReadings(ctx, by, FromPerson, []Reading{r})
	return err
}

// ahead is how far the clock of a sensor may be fast.
const ahead = 5 * time.Minute

func (b *Bench) checkReading(ctx context.Context, r Reading, now time.Time, known map[string]bool) error {
	if err := (drying.Reading{At: r.At, Celsius: r.Celsius, Humidity: r.Humidity}).Check(); err != nil {
		return err
	}
	if r.At.After(now.Add(ahead)) {
		return parts.Problemf(parts.Invalid, "reading-ahead", "A reading of %s has not happened yet: it is %s.", r.At, now).Next("Set the clock of the sensor.")
	}
	if known[r.Place] {
		return nil
	}
	places, err := b.Places(ctx)
	if err != nil {
		return err
	}
	for _, p := range places {
		known[p.Key] = true
	}
	if !known[r.Place] {
		return parts.Problemf(parts.Invalid, "place-unknown", "The shop has no station and no cart %q.", r.Place).
			Next("Leave the place out for the whole shop, or name a station or the mark of a cart.").Fact("place", r.Place)
	}
	return nil
}

// Place is where something may dry.
type Place struct {
	Key  string // "" for the whole shop
	Name string
}

// Places lists the whole shop, its carts and racks, and its stations.
func (b *Bench) Places(ctx context.Context) ([]Place, error) {
	out := []Place{{Name: "the whole shop"}}
	carts, err := b.store.Carts(ctx)
	if err != nil {
		return nil, err
	}
	for _, c := range carts {
		out = append(out, Place{Key: string(c.Part), Name: parts.PieceName(parts.Line{}, c)})
	}
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	for _, st := range stations {
		out = append(out, Place{Key: string(st.Key), Name: st.Name})
	}
	return out, nil
}

// LastReading is a reading that was kept.
type LastReading struct {
	store.Reading
	Name string // of the place
	By   string // who said it
}

// LastReadings gives the newest readings, newest first.
func (b *Bench) LastReadings(ctx context.Context, most int) ([]LastReading, error) {
	rows, err := b.store.LastReadings(ctx, most)
	if err != nil {
		return nil, err
	}
	places, err := b.Places(ctx)
	if err != nil {
		return nil, err
	}
	people, err := b.store.People(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, p := range places {
		names[p.Key] = p.Name
	}
	out := make([]LastReading, len(rows))
	for i, r := range rows {
		out[i] = LastReading{Reading: r, Name: names[r.Place], By: people[r.Who]}
	}
	return out, nil
}

// AirNow is the air that holds in a place, and what it does.
type AirNow struct {
	Place    Place
	At       time.Time // when it was read; zero when it is only the usual air
	Air      air.Air
	DewPoint float64 // °C
	Dry      bool    // as good as dry: there is no dew point
	Moisture float64 // percent that wood settles at
	Coldest  float64 // °C that parts must have to be coated
}

// AirsNow gives the air of the whole shop and of each place that has readings
// of its own.
func (b *Bench) AirsNow(ctx context.Context) ([]AirNow, error) {
	if err := b.freshAir(ctx); err != nil {
		return nil, err
	}
	places, err := b.Places(ctx)
	if err != nil {
		return nil, err
	}
	b.air.mu.RLock()
	defer b.air.mu.RUnlock()
	var out []AirNow
	for _, p := range places {
		last, read := b.air.last[p.Key]
		if !read && p.Key != "" {
			continue
		}
		if !read {
			last = b.air.usual
		}
		a := air.Air{Celsius: last.Celsius, Humidity: last.Humidity}
		dew, wet := a.DewPoint()
		out = append(out, AirNow{Place: p, At: last.At, Air: a, DewPoint: dew, Dry: !wet, Moisture: a.Moisture(), Coldest: dew + air.Above})
	}
	return out, nil
}

// freshAir reads what another server may have put in meanwhile.
func (b *Bench) freshAir(ctx context.Context) error {
	if _, err := b.store.AirVersion(ctx); err != nil {
		return err
	}
	return b.air.fresh(ctx)
}

// UsualAir is the air that the shop is taken to have where nothing was read.
func (b *Bench) UsualAir(ctx context.Context) (air.Air, error) {
	kept, err := b.store.UsualAir(ctx)
	out := air.Air{Celsius: usualAir.Celsius, Humidity: usualAir.Humidity}
	if err != nil || kept == "" {
		return out, err
	}
	if err := json.Unmarshal([]byte(kept), &out); err != nil {
		return out, fmt.Errorf("read the usual air: %w", err)
	}
	return out, nil
}

// SaveUsualAir says what air the shop is taken to have.
func (b *Bench) SaveUsualAir(ctx context.Context, a air.Air) error {
	if err := (drying.Reading{Celsius: a.Celsius, Humidity: a.Humidity}).CheckAir(); err != nil {
		return err
	}
	kept, err := json.Marshal(a)
	if err != nil {
		return fmt.Errorf("write the usual air: %w", err)
	}
	return b.store.SaveUsualAir(ctx, string(kept))
}
