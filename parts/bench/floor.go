package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/floor"
	"benchtally/parts/store"
)

// Floor adds up where everything is.
func (b *Bench) Floor(ctx context.Context) (floor.Board, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return floor.Board{}, err
	}
	return floor.Count(shop), nil
}

// shop reads what the floor and the setups are counted from.
func (b *Bench) shop(ctx context.Context) (floor.Shop, error) {
	shop := floor.Shop{Now: b.Now(), Lines: map[int64]parts.Line{}}
	var err error
	if shop.Jobs, err = b.store.OpenJobs(ctx); err != nil {
		return shop, err
	}
	lines, err := b.store.OpenLines(ctx)
	if err != nil {
		return shop, err
	}
	for _, l := range lines {
		shop.Lines[l.ID] = l
	}
	if shop.Routings, err = b.routings(ctx); err != nil {
		return shop, err
	}
	if shop.Stations, err = b.store.Stations(ctx); err != nil {
		return shop, err
	}
	if shop.States, err = b.store.OnTheFloor(ctx); err != nil {
		return shop, err
	}
	shop.States, err = b.judged(ctx, shop.States, shop.Now)
	return shop, err
}

// LateScans lists the scans that came too late to be judged by themselves.
func (b *Bench) LateScans(ctx context.Context) ([]store.Late, error) { return b.store.LateScans(ctx) }

// RecordLate records a late scan as of now, because a person says that it
// still holds.
func (b *Bench) RecordLate(ctx context.Context, id, late parts.CommandID) (Answer, error) {
	all, err := b.store.LateScans(ctx)
	if err != nil {
		return Answer{}, err
	}
	i := slices.IndexFunc(all, func(l store.Late) bool { return l.Command == late })
	if i < 0 {
		return Answer{}, parts.Problemf(parts.Missing, "late-gone", "That scan is not on the list of late ones.").Next("Somebody has settled it.")
	}
	var r Request
	if err := json.Unmarshal(all[i].Request, &r); err != nil {
		return Answer{}, fmt.Errorf("read late scan %s: %w", late, err)
	}
	r.ID, r.At = id, time.Time{}
	again := map[string]func(context.Context, Request) (Answer, error){
		"plug": b.Plug, "mend": b.Mend, "return": b.Return, "remake": b.Remake, "scrap": b.Scrap, "lost": b.Lost,
		"skip": b.Skip, "take-apart": b.TakeApart, "clamps-off": b.ClampsOff,
	}
	if verb, ok := again[all[i].Kind]; ok {
		return verb(ctx, r)
	}
	return b.Scan(ctx, r)
}

// Settle takes a late scan off the list.
func (b *Bench) Settle(ctx context.Context, id parts.CommandID) error { return b.store.Settle(ctx, id) }

// Orders gives the newest print orders.
func (b *Bench) Orders(ctx context.Context, most int) ([]store.Order, error) {
	return b.store.Orders(ctx, most)
}

// Order gives one print order.
func (b *Bench) Order(ctx context.Context, id int64) (store.Order, error) {
	return b.store.Order(ctx, id)
}
