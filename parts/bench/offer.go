package bench

import (
	"context"
	"slices"

	"benchtally/parts"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// Offer is one button of a page: a step that can be recorded now.
type Offer struct {
	routing.Offer
	Station parts.StationRow
	Here    bool        // it is the place this phone is set to
	Wait    *parts.Wait // a clock that still runs for it
	Reason  string      // the ready-made reason to overrule the clock
}

// Offers gives what can be recorded for a piece, the best first: at the
// station the phone is set to when there is something to do there, then
// wherever its parts come next.
func (b *Bench) Offers(ctx context.Context, p Piece, here parts.Station) ([]Offer, error) {
	places := nextStations(p)
	if here != "" {
		places = append([]parts.Station{here}, slices.DeleteFunc(places, func(s parts.Station) bool { return s == here })...)
	}
	var offers []Offer
	for _, at := range places {
		o, err := routing.OfferAt(p.View, at)
		if parts.AsProblem(err) != nil || o.Missed != "" {
			continue // it would be refused
		}
		if err != nil {
			return nil, err
		}
		station, err := b.Station(ctx, at)
		if err != nil {
			return nil, err
		}
		offer := Offer{Offer: o, Station: station, Here: at == here}
		if w, runs := o.State.Waiting(p.View.Now); runs {
			if len(o.Filled) > 0 {
				continue // early and out of turn at once is no one-tap thing
			}
			w.Until = o.State.Ready()
			offer.Wait, offer.Reason = &w, routing.OverruleReasons[w.Clock]
		}
		offers = append(offers, offer)
	}
	return offers, nil
}

// nextStations are the stations where a piece, or the parts of a ticket, come
// next, each once, in the order of their steps.
func nextStations(p Piece) []parts.Station {
	states := []parts.State{p.State}
	if p.State.Kind == parts.Ticket {
		states = slices.Clone(p.View.Group)
		slices.SortStableFunc(states, func(a, b parts.State) int { return a.Next - b.Next })
	}
	var out []parts.Station
	for _, s := range states {
		if s.In != "" || s.Scrapped || s.Held != "" {
			continue
		}
		next, ok := parts.NextStep(p.View.Routing(s), s)
		if ok && !slices.Contains(out, next.Step.Station) {
			out = append(out, next.Step.Station)
		}
	}
	return out
}

// Spot is where some parts of a ticket are.
type Spot struct {
	Step    string // what they need next; "" when nothing is left
	Station parts.StationRow
	Stands  string
	Count   int
	Marks   []parts.ID
}

// Spots says where the parts of a ticket are, those furthest behind first.
func (b *Bench) Spots(ctx context.Context, p Piece) ([]Spot, error) {
	states := slices.Clone(p.View.Group)
	slices.SortStableFunc(states, func(a, b parts.State) int { return a.Next - b.Next })
	var spots []Spot
	for _, s := range states {
		spot := Spot{Stands: StateOf(s, p.View.Now)}
		if next := nextOf(p.View.Routing(s), s); next != nil {
			spot.Step = next.Name
			st, err := b.Station(ctx, next.Station)
			if err != nil && parts.AsProblem(err) == nil {
				return nil, err
			}
			spot.Station = st
		}
		i := slices.IndexFunc(spots, func(o Spot) bool {
			return o.Step == spot.Step && o.Stands == spot.Stands && o.Station.Key == spot.Station.Key
		})
		if i < 0 {
			spots = append(spots, spot)
			i = len(spots) - 1
		}
		spots[i].Count++
		spots[i].Marks = append(spots[i].Marks, s.Part)
	}
	return spots, nil
}

// Answered gives what a command led to, for the page after it.
func (b *Bench) Answered(ctx context.Context, id parts.CommandID) (Answer, bool, error) {
	a, subject, found, err := b.store.Answered(ctx, id)
	if err != nil || !found {
		return Answer{}, false, err
	}
	out, err := finish(store.Command{ID: id, Subject: subject}, a, nil)
	if parts.AsProblem(err) != nil {
		return out, false, nil
	}
	return out, err == nil, err
}

// Reason is the ready-made reason to overrule a clock.
func Reason(clock parts.Clock) string { return routing.OverruleReasons[clock] }
