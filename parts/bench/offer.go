package bench

import (
	"cmp"
	"context"
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/floor"
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
	Ahead   *Ahead      // of a coat: what is to be known before the brush is dipped
}

// Offers gives what can be recorded for a piece, the best first: the largest
// pile at the station the phone is set to, then wherever its parts come next.
func (b *Bench) Offers(ctx context.Context, p Piece, here parts.Station) ([]Offer, error) {
	var offers []Offer
	for _, pl := range piles(p, here) {
		o, err := routing.OfferAt(p.View, pl.station, pl.step)
		if parts.AsProblem(err) != nil || o.Missed != "" {
			continue // it would be refused
		}
		if err != nil {
			return nil, err
		}
		if slices.ContainsFunc(offers, func(other Offer) bool { return other.Station.Key == pl.station && other.Number == o.Number }) {
			continue // what a scan here means is one of them
		}
		station, err := b.Station(ctx, pl.station)
		if err != nil {
			return nil, err
		}
		if _, repair := parts.StepIndex(o.Number); o.State.Mending() && !repair && p.State.Kind != parts.Cart {
			continue // the repair comes first
		}
		offer := Offer{Offer: o, Station: station, Here: pl.station == here}
		if w, runs := o.State.Waiting(p.View.Now); runs {
			if len(o.Filled) > 0 {
				continue // early and out of turn at once is no one-tap thing
			}
			w.Until = o.State.Ready()
			offer.Wait, offer.Reason = &w, routing.OverruleReason(o.State)
		}
		if offer.Ahead, err = b.ahead(ctx, p.View, offer); err != nil {
			return nil, err
		}
		offers = append(offers, offer)
	}
	return offers, nil
}

// pile is some parts that need the same step next.
type pile struct {
	station parts.Station
	step    int // its number; 0 for whatever a scan at the station means
	count   int
	dry     int // of those, the ones that need not wait
}

// piles are the steps that come next for a piece or for the parts of a
// ticket: those at the station here first, before others those that need not
// wait, then the larger. When nothing can be done here next, a scan here may
// still mean a later step.
func piles(p Piece, here parts.Station) []pile {
	states := []parts.State{p.State}
	if p.State.Kind.Counts() {
		states = p.View.Group
	}
	var out []pile
	for _, s := range states {
		next, ok := parts.NextStep(p.View.Routing(s), s)
		if !ok || s.In != "" || s.Scrapped || s.Held != "" {
			continue
		}
		number := next.Number
		if p.State.Kind == parts.Cart {
			number = 0 // what lies on it has steps of several lists
		}
		i := slices.IndexFunc(out, func(o pile) bool { return o.step == number && o.station == next.Step.Station })
		if i < 0 {
			out = append(out, pile{station: next.Step.Station, step: number})
			i = len(out) - 1
		}
		out[i].count++
		if _, wet := s.Waiting(p.View.Now); !wet {
			out[i].dry++
		}
	}
	if glue := clampsOn(p); glue > 0 {
		out = append(out, pile{station: p.Steps[glue-1].Station, step: glue, dry: 1})
	}
	at := func(o pile) bool { return o.station == here }
	if here != "" && len(out) > 0 && !slices.ContainsFunc(out, func(o pile) bool { return at(o) && o.dry > 0 }) {
		out = append(out, pile{station: here, dry: 1})
	}
	first := func(yes, no bool) int {
		switch {
		case yes == no:
			return 0
		case yes:
			return -1
		}
		return 1
	}
	slices.SortStableFunc(out, func(a, b pile) int {
		return cmp.Or(first(at(a), at(b)), first(a.dry > 0, b.dry > 0), b.count-a.count)
	})
	return out
}

// clampsOn is the number of the glue-up when an assembly stands right before
// its dry fit: with wet hands one tap says both. 0 for none.
func clampsOn(p Piece) int {
	s := p.State
	if s.Kind != parts.Assembly || s.Mending() || s.Next >= len(p.Steps) || !p.Steps[s.Next].Binds {
		return 0
	}
	glue := parts.NextWork(p.Steps, s.Next+1)
	if glue == len(p.Steps) || !p.Steps[glue].Glues || s.Held != "" || s.Scrapped || s.In != "" {
		return 0
	}
	return parts.StepNumber(glue, false)
}

// Spot is where some parts of a ticket are.
type Spot struct {
	Step    string // what they need next; "" when nothing is left
	Station parts.StationRow
	Stands  string
	Short   int       // how many of them lack parts for their dry fit
	Until   time.Time // when the last of them is ready; zero when nothing has to be waited for
	Count   int
	Marks   []parts.ID
}

// Spots says where the parts of a ticket are, those furthest behind first. Of
// assemblies it counts those that lack parts, as the floor does.
func (b *Bench) Spots(ctx context.Context, p Piece) ([]Spot, error) {
	spots, err := b.spotsOf(ctx, p.View, p.View.Group)
	if err != nil || p.State.Kind != parts.Ticket || p.Line.Kind != parts.Assembly {
		return spots, err
	}
	shop, err := b.shop(ctx)
	if err != nil {
		return spots, err
	}
	complete := floor.Complete(shop.Lines, shop.States, shop.Now)[p.Line.ID]
	for i := range spots {
		first := stateIn(p.View, spots[i].Marks[0])
		steps := p.View.Routing(first).Steps
		if spots[i].Stands == "ready" && !first.Mending() && first.Next < len(steps) && steps[first.Next].Binds {
			spots[i].Short = max(0, spots[i].Count-complete)
		}
	}
	return spots, nil
}

func (b *Bench) spotsOf(ctx context.Context, v parts.View, group []parts.State) ([]Spot, error) {
	states := slices.Clone(group)
	slices.SortStableFunc(states, func(a, b parts.State) int { return a.Next - b.Next })
	var spots []Spot
	for _, s := range states {
		spot := Spot{Stands: StateOf(s, v.Now)}
		if next := nextOf(v.Routing(s), s); next != nil {
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
		if _, waits := s.Waiting(v.Now); waits && s.Ready().After(spots[i].Until) {
			spots[i].Until = s.Ready()
		}
	}
	return spots, nil
}

// Answered gives what a command led to, for the page after it.
func (b *Bench) Answered(ctx context.Context, id parts.CommandID) (Answer, bool, error) {
	a, subject, found, err := b.store.Answered(ctx, id)
	if err != nil || !found {
		return Answer{}, false, err
	}
	out, err := outcome(store.Command{ID: id, Subject: subject}, a, nil)
	if parts.AsProblem(err) != nil {
		return out, false, nil
	}
	return out, err == nil, err
}
