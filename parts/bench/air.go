package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"sync"
	"time"

	"benchtally/parts"
	"benchtally/parts/air"
	"benchtally/parts/drying"
	"benchtally/parts/store"
)

// shopAir keeps in memory what waits for products are judged by: a gauge for
// each place that has readings, and every version of the products. It is
// extended as readings come, and never made again from the beginning while
// they come in order.
type shopAir struct {
	store *store.Store
	now   func() time.Time

	mu       sync.RWMutex
	loaded   bool
	version  store.AirVersion
	usual    drying.Reading
	gauges   map[string]*drying.Gauge
	first    map[string]time.Time // of each place but the whole shop: its first reading
	last     map[string]drying.Reading
	products map[string][]drying.Product // by key; version 1 first
}

// oldest is how far back readings are kept in memory: longer than anything
// may take by its data sheet.
const oldest = 120 * 24 * time.Hour

// usualAir is what a shop is taken to have until it says otherwise: the air
// that data sheets commonly take for granted.
var usualAir = drying.Reading{Celsius: 20, Humidity: 50}

// deficitOf hands the formula of one room to the other.
func deficitOf(celsius, humidity float64) float64 {
	return air.Air{Celsius: celsius, Humidity: humidity}.Deficit()
}

// fresh reads what is new since the last time. It costs one comparison when
// nothing is.
func (a *shopAir) fresh(ctx context.Context) error {
	known := a.store.KnownAir()
	a.mu.RLock()
	same := a.loaded && a.version == known
	a.mu.RUnlock()
	if same {
		return nil
	}
	a.mu.Lock()
	defer a.mu.Unlock()
	if !a.loaded || a.version.Usual != known.Usual {
		if err := a.empty(known.Usual); err != nil {
			return err
		}
	}
	if !a.loaded || a.version.Products != known.Products {
		if err := a.readProducts(ctx); err != nil {
			return err
		}
	}
	if err := a.extend(ctx); err != nil {
		return err
	}
	a.loaded, a.version.Usual, a.version.Products = true, known.Usual, known.Products
	return nil
}

// empty starts without readings, in the usual air.
func (a *shopAir) empty(kept string) error {
	a.usual = usualAir
	if kept != "" {
		if err := json.Unmarshal([]byte(kept), &a.usual); err != nil {
			return fmt.Errorf("read the usual air: %w", err)
		}
	}
	whole, err := drying.NewGauge(deficitOf, a.usual)
	if err != nil {
		return err
	}
	a.gauges, a.first, a.last = map[string]*drying.Gauge{"": whole}, map[string]time.Time{}, map[string]drying.Reading{}
	a.version.Readings = 0
	return nil
}

// extend puts in the readings that came since. One of a place from before the
// first that place had starts everything again: until then the place goes by
// the readings of the whole shop.
func (a *shopAir) extend(ctx context.Context) error {
	rows, err := a.store.ReadingsAfter(ctx, a.version.Readings, a.now().Add(-oldest))
	if err != nil {
		return err
	}
	if a.startsOver(rows) {
		if err := a.empty(a.version.Usual); err != nil {
			return err
		}
		if rows, err = a.store.ReadingsAfter(ctx, 0, a.now().Add(-oldest)); err != nil {
			return err
		}
	}
	for _, r := range rows {
		if at, ok := a.first[r.Place]; r.Place != "" && (!ok || r.At.Before(at)) {
			a.first[r.Place] = r.At
		}
	}
	byPlace := map[string][]drying.Reading{}
	for _, r := range rows {
		reading := drying.Reading{At: r.At, Celsius: r.Celsius, Humidity: r.Humidity}
		if r.Place != "" {
			byPlace[r.Place] = append(byPlace[r.Place], reading)
		} else {
			byPlace[""] = append(byPlace[""], reading)
			for place, at := range a.first {
				if r.At.Before(at) {
					byPlace[place] = append(byPlace[place], reading)
				}
			}
		}
		if last, ok := a.last[r.Place]; !ok || !r.At.Before(last.At) {
			a.last[r.Place] = reading
		}
		a.version.Readings = max(a.version.Readings, r.ID)
	}
	return a.put(byPlace)
}

// startsOver reports whether a place gets its first reading, or an earlier one.
func (a *shopAir) startsOver(rows []store.Reading) bool {
	return a.loaded && slices.ContainsFunc(rows, func(r store.Reading) bool {
		at, ok := a.first[r.Place]
		return r.Place != "" && (!ok || r.At.Before(at))
	})
}

func (a *shopAir) put(byPlace map[string][]drying.Reading) error {
	for place, readings := range byPlace {
		g := a.gauges[place]
		if g == nil {
			var err error
			if g, err = drying.NewGauge(deficitOf, a.usual); err != nil {
				return err
			}
			a.gauges[place] = g
		}
		if err := g.Add(readings...); err != nil {
			return err
		}
	}
	return nil
}

func (a *shopAir) readProducts(ctx context.Context) error {
	rows, err := a.store.Products(ctx)
	if err != nil {
		return err
	}
	a.products = map[string][]drying.Product{}
	for _, row := range rows {
		var p drying.Product
		if err := json.Unmarshal(row.Body, &p); err != nil {
			return fmt.Errorf("read product %s: %w", row.Key, err)
		}
		a.products[row.Key] = append(a.products[row.Key], p)
	}
	return nil
}

// product gives a version of a product and its number; 0 is the newest. The
// number is 0 when there is none.
func (a *shopAir) product(key string, version int) (drying.Product, int) {
	all := a.products[key]
	if version == 0 {
		version = len(all)
	}
	if version < 1 || version > len(all) {
		return drying.Product{}, 0
	}
	return all[version-1], version
}

// gauge is the one of the place where a piece lies: its cart, or where it was
// coated or glued, or the whole shop.
func (a *shopAir) gauge(cart parts.ID, at parts.Station) *drying.Gauge {
	for _, place := range []string{string(cart), string(at)} {
		if g := a.gauges[place]; g != nil && place != "" {
			return g
		}
	}
	return a.gauges[""]
}

// judge gives what judges waits at a moment; see parts.View.
func (a *shopAir) judge(now time.Time) func(parts.ID, parts.Wait) parts.Wait {
	// The readings come from the database that the store itself has open: what
	// cannot be read now leaves the last picture, and the request that asks
	// the database itself says what is wrong with it.
	if err := a.fresh(context.Background()); err != nil {
		return func(_ parts.ID, w parts.Wait) parts.Wait { return w }
	}
	return func(cart parts.ID, w parts.Wait) parts.Wait {
		a.mu.RLock()
		defer a.mu.RUnlock()
		p, version := a.product(w.Product, w.Version)
		if version == 0 {
			return w
		}
		g := a.gauge(cart, w.At)
		begins := w.Version == 0
		if begins {
			w.Version, w.Needs = version, int(p.Takes(needOf(p, w)).Minutes())
		}
		w.Dry = dryOf(g, p, w, now)
		if begins {
			w.Until, w.Latest = w.Dry.Ready, w.Dry.Closes
		}
		return w
	}
}

// needOf is what a wait is for; a step that does not say gets the first need
// of its clock.
func needOf(p drying.Product, w parts.Wait) drying.Need {
	switch {
	case w.Need != "":
		return drying.Need(w.Need)
	case w.Clock == parts.Drying:
		return drying.Recoat
	}
	for _, n := range p.Kind.Needs() {
		if p.Kind.Clock(n) == w.Clock {
			return n
		}
	}
	return drying.Cure
}

// dryOf is the forecast of one wait.
func dryOf(g *drying.Gauge, p drying.Product, w parts.Wait, now time.Time) *parts.Dry {
	ahead, _ := g.Air(now)
	f := g.Forecast(p, time.Duration(w.Needs)*time.Minute, w.From, now, ahead)
	d := &parts.Dry{Ready: f.Ready, Counted: f.Counted, Air: parts.Degrees(ahead.Celsius), Missed: p.Missed}
	if f.Ready.IsZero() {
		d.Ready = parts.Never
	}
	if p.Latest > 0 && w.Clock == parts.Drying {
		win := g.Window(p, w.From, now, ahead)
		d.Closes, d.Shut = win.Closes, win.Shut
	}
	for _, r := range f.Reasons {
		why := parts.Reason{Slight: r.Slight()}
		why.Say, why.Args = argsOf(r.Say())
		why.In, why.Few = argsOf(r.Short())
		d.Why = append(d.Why, why)
	}
	return d
}

func argsOf(format string, args []any) (string, parts.Args) { return format, args }
