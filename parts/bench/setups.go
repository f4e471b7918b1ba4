package bench

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/floor"
	"benchtally/parts/routing"
	"benchtally/parts/setup"
)

// Setups lists what a station's machine must be set to, what can be done with
// each setting now, and what will want it later and where that is.
func (b *Bench) Setups(ctx context.Context, at parts.Station) ([]setup.Setup, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return nil, err
	}
	set, err := b.store.Settings(ctx)
	if err != nil {
		return nil, err
	}
	tickets, err := b.store.Tickets(ctx)
	if err != nil {
		return nil, err
	}
	patterns, err := b.store.Patterns(ctx)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	for _, p := range patterns {
		names[p.Key] = p.Name
	}
	unchecked := func(l parts.Line, step int) bool {
		return !routing.ChecksHold(tickets[l.Ticket], step, shop.Now)
	}
	return setup.At(setup.Shop{Lines: shop.Lines, Routings: shop.Routings, Stations: shop.Stations,
		States: shop.States, Style: set.Style(), Now: shop.Now,
		Unchecked: unchecked, Patterns: names, Complete: floor.Complete(shop.Lines, shop.States, shop.Now)}, at), nil
}
