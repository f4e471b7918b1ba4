package drying

import "time"

// Forecast is when a wet part is ready, as far as the readings tell.
type Forecast struct {
	Ready   time.Time     // zero when it never is in the air ahead
	Needs   time.Duration // at the data sheet's conditions
	Counted time.Duration // of that, so far
	Reasons []Reason      // why it is not what the data sheet says, the greatest loss first
}

// Forecast says when a product that was put on at from has gone through
// needs, a time of its data sheet: Product.Takes, or what the history of the
// part says it was. Readings count up to now, and ahead is the air expected
// from then on; what readings say about later is not looked at. It costs
// O(log n) for n readings.
func (g *Gauge) Forecast(p Product, needs time.Duration, from, now time.Time, ahead Reading) Forecast {
	g.mu.Lock()
	defer g.mu.Unlock()
	c := p.class()
	run := g.run(c, needs, from, now, ahead)
	f := Forecast{Needs: needs, Counted: min(max(0, needs), time.Duration(run.counted)), Reasons: g.measured(run)}
	for i := range f.Reasons {
		f.Reasons[i].Lowest = p.Lowest
	}
	if !run.never {
		f.Ready = moment(run.ready)
	}
	if why, slow := aheadReason(run, p.Lowest); slow {
		f.Reasons = append(f.Reasons, why)
	}
	return f
}

// run is one wait in milliseconds.
type run struct {
	track         *track
	start         int64 // when it began
	until         int64 // up to when the readings count; not before start
	ready         int64
	never         bool
	counted       int64 // ns of progress from start to until
	ahead         pace
	done          bool // ready by until
	before, after sum  // the totals at start and at the end of what was measured
}

// run finds when a class has gone through needs.
func (g *Gauge) run(c class, needs time.Duration, from, now time.Time, ahead Reading) run {
	r := run{track: g.track(c), start: millisUp(from), ahead: c.pace(g.deficit, ahead.Celsius, ahead.Humidity)}
	r.until = max(r.start, millis(now))
	r.before, r.after = g.total(r.track, r.start), g.total(r.track, r.until)
	r.counted = r.after.done - r.before.done
	left := int64(needs) - r.counted
	switch {
	case left <= 0:
		r.done = true
		r.ready = max(r.start, g.reached(r.track, r.before.done+int64(max(0, needs)), doneOf))
		r.after = g.total(r.track, r.ready)
	case r.ahead.rate == 0:
		r.never = true
	default:
		r.ready = r.until + ceilDiv(left, int64(r.ahead.rate))
	}
	return r
}

func doneOf(s sum) int64 { return s.done }

// Window is when a coat takes the next one.
type Window struct {
	Forecast           // when it opens
	Closes   time.Time // zero where the product has no end
	// Shut says that in this air it closes before it opens: the coat is not
	// dry before it is too old.
	Shut bool
}

// Window is the recoat window of a coat put on at from. Warm air closes it
// sooner, by the same estimate that dries, also where the sheet's times are
// never undercut; cold air does not keep it open for longer than the sheet.
func (g *Gauge) Window(p Product, from, now time.Time, ahead Reading) Window {
	w := Window{Forecast: g.Forecast(p, p.Takes(Recoat), from, now, ahead)}
	if p.Latest == 0 {
		return w
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	w.Closes = moment(g.run(p.closing(), time.Duration(p.Latest)*time.Minute, from, now, ahead).ready)
	w.Shut = w.Ready.IsZero() || !w.Ready.Before(w.Closes)
	return w
}
