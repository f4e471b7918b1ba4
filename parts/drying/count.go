package drying

import (
	"cmp"
	"slices"
	"time"

	"benchtally/parts"
)

// near is how far apart the pieces of a row become ready at most, and the ends
// of their recoat windows.
const near = 15 * time.Minute

// rowKey is what the pieces of a row have in common, apart from the time.
type rowKey struct {
	line    int64
	place   string
	clock   parts.Clock
	product string
	need    Need
	next    string
	ready   bool
}

// Count makes the board. Wood at rest is not wet, and what is inside an
// assembly dries with it.
func Count(shop Shop) Board {
	c := counter{shop: shop, stations: map[parts.Station]string{}, byKey: map[rowKey][]Row{}}
	for _, st := range shop.Stations {
		c.stations[st.Key] = st.Name
	}
	for _, s := range shop.States {
		c.add(s)
	}
	return Board{Now: shop.Now, Rows: c.rows()}
}

type counter struct {
	shop     Shop
	stations map[parts.Station]string
	byKey    map[rowKey][]Row
}

// add makes a row of one piece, if it is wet or was and nobody went on with it.
func (c *counter) add(s parts.State) {
	if s.Scrapped || s.In != "" || !s.Delivered.IsZero() || len(s.Waits) == 0 {
		return
	}
	i := slices.IndexFunc(s.Waits, func(w parts.Wait) bool { return c.shop.Now.Before(w.Ends()) })
	running := i >= 0
	if !running {
		i = len(s.Waits) - 1
	}
	w := s.Waits[i]
	next, more := parts.NextStep(c.shop.Routings[s.Steps], s)
	if w.Clock == parts.Resting || !running && !more {
		return
	}
	line := c.shop.Lines[s.Line]
	r := Row{Line: line, Name: parts.PieceName(line, s), Marks: []parts.ID{s.Part}, Mark: s.Part, Clock: w.Clock, Key: w.Product,
		Product: cmp.Or(c.shop.Products[w.Product], w.Product), Need: Need(w.Need), Since: w.From, First: w.Ends(), Ready: w.Ends(),
		Closes: s.Recoat(c.shop.Routings[s.Steps], w), Next: next.Step.Name, NextAt: c.stations[next.Step.Station], Share: 1, wait: w, cart: s.Cart}
	r.names, r.lastCloses = []string{r.Name}, r.Closes
	c.place(&r, s, w)
	if running && i+1 < len(s.Waits) {
		last := s.Waits[len(s.Waits)-1]
		r.Then, r.ThenIs = last.Ends(), last.Clock
	}
	if w.Product != "" {
		r.Means = meaning(w.Clock, r.Need)
	}
	if d := w.Dry; d != nil {
		r.Why, r.Shut, r.Missed = d.Why, d.Shut && !r.Closes.IsZero(), d.Missed
		if w.Needs > 0 {
			r.Share = min(1, float64(d.Counted)/float64(time.Duration(w.Needs)*time.Minute))
		}
	}
	if lasts := w.Ends().Sub(w.From); running && w.Dry == nil && lasts > 0 {
		r.Share = min(1, max(0, float64(c.shop.Now.Sub(w.From))/float64(lasts)))
	}
	key := rowKey{s.Line, r.Place, r.Clock, r.Key, r.Need, r.Next, !running}
	c.byKey[key] = append(c.byKey[key], r)
}

// place says where a piece dries: on its cart, or where it was coated or glued.
func (c *counter) place(r *Row, s parts.State, w parts.Wait) {
	if s.Cart != "" {
		r.Place, r.Where, r.OnCart, r.Mark = string(s.Cart), cmp.Or(c.shop.Carts[s.Cart], string(s.Cart)), true, s.Cart
		return
	}
	at := w.At
	if at == "" { // a wait from before it was kept
		at = stationBefore(c.shop.Routings[s.Steps].Steps, w)
	}
	r.Place, r.Where = string(at), cmp.Or(c.stations[at], "in repair")
}

// stationBefore is where the work was done that a wait of the steps follows.
func stationBefore(steps []parts.Step, w parts.Wait) parts.Station {
	for i := min(w.Step, len(steps)) - 1; i >= 0 && !w.Mends; i-- {
		if !steps[i].Wait() {
			return steps[i].Station
		}
	}
	return ""
}

// meaning says which kind of dry a wait is for.
func meaning(clock parts.Clock, n Need) string {
	if clock != parts.Drying {
		return Glue.Means(n)
	}
	return Clear.Means(n)
}

// rows joins the pieces that become ready within a short time of each other,
// and puts the rows in order.
func (c *counter) rows() []Row {
	var out []Row
	for _, alike := range c.byKey {
		slices.SortStableFunc(alike, func(a, b Row) int { return cmp.Or(a.Ready.Compare(b.Ready), cmp.Compare(a.Marks[0], b.Marks[0])) })
		var rows []Row
		for _, r := range alike {
			i := slices.IndexFunc(rows, func(row Row) bool { return row.takes(r) })
			if i < 0 {
				rows = append(rows, r)
				continue
			}
			rows[i] = joined(rows[i], r)
		}
		out = append(out, rows...)
	}
	for i := range out {
		out[i].When = c.when(out[i])
	}
	slices.SortFunc(out, func(a, b Row) int {
		return cmp.Or(a.Ready.Compare(b.Ready), cmp.Compare(a.Line.Job, b.Line.Job), cmp.Compare(a.Line.Number, b.Line.Number), cmp.Compare(a.Marks[0], b.Marks[0]))
	})
	return out
}

// takes reports whether a piece that is ready no sooner is near enough to all
// of the row.
func (r Row) takes(o Row) bool {
	if o.Ready.Sub(r.First) > near || o.Closes.IsZero() != r.Closes.IsZero() {
		return false
	}
	return o.Closes.Sub(r.Closes) <= near && r.lastCloses.Sub(o.Closes) <= near
}

// joined adds a piece that is ready no sooner than the row.
func joined(row, r Row) Row {
	marks, first, since := append(row.Marks, r.Marks...), row.First, row.Since
	closes, mark, shut, last := row.Closes, row.Mark, row.Shut || r.Shut, row.lastCloses
	names := append(row.names, r.names...)
	if r.Since.Before(since) {
		since = r.Since
	}
	if r.Closes.Before(closes) {
		closes = r.Closes
	}
	if r.Closes.After(last) {
		last = r.Closes
	}
	r.Name, r.Marks, r.First, r.Since, r.Closes, r.Mark, r.Shut = r.Line.Name, marks, first, since, closes, mark, shut
	r.names, r.lastCloses = names, last
	if !r.OnCart && r.Line.Ticket != "" {
		r.Mark = r.Line.Ticket
	}
	return r
}

// when says by when a row is ready.
func (c *counter) when(r Row) When {
	now := c.shop.Now.In(c.shop.Zone)
	y, m, d := now.Date()
	at := func(day, hour int) time.Time { return time.Date(y, m, d+day, hour, 0, 0, 0, c.shop.Zone) }
	switch {
	case !now.Before(r.Ready):
		return IsReady
	case r.Ready.Equal(parts.Never):
		return NotAtAll
	case !r.Ready.After(now.Add(time.Hour)):
		return NextHour
	case !r.Ready.After(at(0, nightFrom)):
		return Tonight
	case now.Hour() < morning && !r.Ready.After(at(0, morning)), !r.Ready.After(at(1, morning)):
		return Tomorrow
	}
	return Later
}
