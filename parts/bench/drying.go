package bench

import (
	"context"
	"time"

	"benchtally/parts"
	"benchtally/parts/drying"
)

// judged gives states with their waits judged by the readings up to now.
func (b *Bench) judged(ctx context.Context, states []parts.State, now time.Time) ([]parts.State, error) {
	if err := b.freshAir(ctx); err != nil {
		return nil, err
	}
	dry := b.air.judge(now)
	out := make([]parts.State, len(states))
	for i, s := range states {
		out[i] = s.Judged(dry)
	}
	return out, nil
}

// Drying is everything that is wet, with the air it dries in.
type Drying struct {
	drying.Board
	Airs   []AirNow // the whole shop first
	Places []Place  // those where something is wet, by their names
}

// Drying looks at everything that is wet.
func (b *Bench) Drying(ctx context.Context) (Drying, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return Drying{}, err
	}
	set, err := b.store.Settings(ctx)
	if err != nil {
		return Drying{}, err
	}
	carts, err := b.store.Carts(ctx)
	if err != nil {
		return Drying{}, err
	}
	wet := drying.Shop{States: shop.States, Lines: shop.Lines, Routings: shop.Routings, Stations: shop.Stations,
		Carts: map[parts.ID]string{}, Products: b.air.names(), Zone: set.Location(), Now: shop.Now}
	for _, c := range carts {
		wet.Carts[c.Part] = parts.PieceName(parts.Line{}, c)
	}
	out := Drying{Board: drying.Count(wet)}
	b.air.flush(out.Rows, shop.Now)
	if out.Airs, err = b.AirsNow(ctx); err != nil {
		return out, err
	}
	seen := map[string]bool{}
	for _, r := range out.Rows {
		if !seen[r.Place] {
			seen[r.Place] = true
			out.Places = append(out.Places, Place{Key: r.Place, Name: r.Where})
		}
	}
	return out, nil
}

// flush fills in when the joints of what is glued may be sanded flush: the
// water of the glue swells the wood beside them, and what is flushed sooner
// sinks later.
func (a *shopAir) flush(rows []drying.Row, now time.Time) {
	a.mu.RLock()
	defer a.mu.RUnlock()
	for i, r := range rows {
		w, cart := r.Wait()
		p, version := a.product(w.Product, w.Version)
		if version == 0 || p.Kind != drying.Glue || !p.Given(drying.Sand) || r.Need == drying.Sand {
			continue
		}
		g := a.gauge(cart, w.At)
		ahead, _ := g.Air(now)
		f := g.Forecast(p, p.Takes(drying.Sand), w.From, now, ahead)
		if rows[i].Flush = f.Ready; f.Ready.IsZero() {
			rows[i].Flush = parts.Never
		}
	}
}

// names are the names of the products by their keys.
func (a *shopAir) names() map[string]string {
	a.mu.RLock()
	defer a.mu.RUnlock()
	out := map[string]string{}
	for key, versions := range a.products {
		out[key] = versions[len(versions)-1].Name
	}
	return out
}

// Plot is how far some rows came, with the air they dried in: values at the
// same moments. What lies after Now is the forecast.
type Plot struct {
	Now      time.Time
	Times    []time.Time
	Celsius  []float64
	Humidity []float64
	Lines    []PlotLine
}

// PlotLine is one row of the board. Percent is of what its data sheet asks; it
// is negative before the product was put on.
type PlotLine struct {
	Name    string
	Percent []float64
}

// The bounds of a plot.
const (
	mostLines  = 4
	plotPoints = 144
	plotPast   = 72 * time.Hour
	plotAhead  = 48 * time.Hour
)

// DryingPlot gives the plot of the rows of a place that are not ready and
// wait for a product, the first to be ready first.
func (b *Bench) DryingPlot(ctx context.Context, place string) (Plot, error) {
	d, err := b.Drying(ctx)
	if err != nil {
		return Plot{}, err
	}
	now := d.Now
	p := Plot{Now: now}
	from, to := now.Add(-24*time.Hour), now.Add(6*time.Hour)
	var rows []drying.Row
	for _, r := range d.In(place).Rows {
		if r.When == drying.IsReady || r.Key == "" || len(rows) == mostLines {
			continue
		}
		rows = append(rows, r)
		from = earlier(from, r.Since.Add(-time.Hour))
		if !r.Ready.Equal(parts.Never) {
			to = later(to, r.Ready.Add(time.Hour))
		}
	}
	from, to = later(from, now.Add(-plotPast)), earlier(to, now.Add(plotAhead))
	for i := range plotPoints {
		p.Times = append(p.Times, from.Add(to.Sub(from)*time.Duration(i)/(plotPoints-1)))
	}
	b.air.plot(&p, place, rows)
	return p, nil
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}

// plot fills in the values at the times of p.
func (a *shopAir) plot(p *Plot, place string, rows []drying.Row) {
	a.mu.RLock()
	defer a.mu.RUnlock()
	air := a.gauge(parts.ID(place), "")
	for _, t := range p.Times {
		r, _ := air.Air(earlier(t, p.Now))
		p.Celsius, p.Humidity = append(p.Celsius, r.Celsius), append(p.Humidity, r.Humidity)
	}
	for _, row := range rows {
		w, cart := row.Wait()
		product, version := a.product(w.Product, w.Version)
		if version == 0 || w.Needs == 0 {
			continue
		}
		line, g := PlotLine{Name: row.Name}, a.gauge(cart, w.At)
		ahead, _ := g.Air(p.Now)
		rate := g.Rate(product, ahead).Share()
		for _, t := range p.Times {
			done := g.Progress(product, w.From, earlier(t, p.Now))
			if t.After(p.Now) {
				done += time.Duration(rate * float64(t.Sub(later(p.Now, w.From))))
			}
			percent := min(100, 100*done.Minutes()/float64(w.Needs))
			if t.Before(w.From) {
				percent = -1
			}
			line.Percent = append(line.Percent, percent)
		}
		p.Lines = append(p.Lines, line)
	}
}
