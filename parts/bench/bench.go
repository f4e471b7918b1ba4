// Package bench has the verbs of the shop: scan, plug, remake, hold, undo,
// list, print, look. Each joins the rule rooms to the store's one door. It
// owns no rule and no SQL; it is the only room that may import several rooms.
package bench

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"sync"
	"time"

	"benchtally/parts"
	"benchtally/parts/jsontext"
	"benchtally/parts/place"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// Bench is where people work: an open shop with its verbs. It is safe for
// concurrent use.
type Bench struct {
	store *store.Store
	air   *shopAir
	doors *doorBook

	mu       sync.RWMutex
	edition  int // counts how often what follows was forgotten
	stations []parts.StationRow
	settings *parts.Settings
	label    place.Size2D // of the sheet in use

	plans   planBook
	backups backupBook

	darkroom sync.Mutex // held while a picture is made anew
}

// Options are how a shop is opened.
type Options struct {
	Alone bool             // take the lock of a SQLite file
	Clock func() time.Time // nil for the machine's
	// Backups is the folder that KeepBackups will use; a damaged file is refused
	// with the newest one there.
	Backups string
}

// Open opens the shop in dsn, a file's path or a postgres:// address, and
// furnishes a new one with the ready-made stations and steps.
func Open(ctx context.Context, dsn string, o Options) (*Bench, error) {
	opened, err := o.store()
	if err != nil {
		return nil, err
	}
	a := &shopAir{}
	opened.Dry = a.judge
	s, err := store.Open(ctx, dsn, opened)
	if err != nil {
		return nil, err
	}
	a.store, a.now = s, s.Now
	b := &Bench{store: s, air: a, doors: newDoorBook()}
	s.OnOffice(b.forget)
	return b, nil
}

// forget drops what is kept of the rows that the office edits, here or on
// another server.
func (b *Bench) forget() {
	b.doors.mu.Lock()
	b.doors.book = nil
	b.doors.mu.Unlock()
	b.mu.Lock()
	defer b.mu.Unlock()
	b.edition++
	b.stations, b.settings, b.label = nil, nil, place.Size2D{}
}

// editionNow is what a reading begins with; see keep.
func (b *Bench) editionNow() int {
	b.mu.RLock()
	defer b.mu.RUnlock()
	return b.edition
}

// keep keeps what was read, unless it may have changed since the reading began.
func (b *Bench) keep(began int, keep func()) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.edition == began {
		keep()
	}
}

// store is how the store is opened, with the ready-made furniture.
func (o Options) store() (store.Options, error) {
	products, err := readyProducts()
	return store.Options{
		Alone: o.Alone, Clock: o.Clock, Backups: o.Backups,
		Furniture: store.Furniture{Stations: routing.Stations(), Routings: routing.ReadyMade(), Defects: rework.Catalogue(), Products: products},
	}, err
}

// Close closes the shop.
func (b *Bench) Close() error { return b.store.Close() }

// Now is the shop's time.
func (b *Bench) Now() time.Time { return b.store.Now() }

// Watch gives a channel that receives after changes; stop ends it.
func (b *Bench) Watch() (signal <-chan struct{}, stop func()) { return b.store.Watch() }

// Check replays the log and says where the states differ from it.
func (b *Bench) Check(ctx context.Context) (store.Books, error) { return b.store.Check(ctx) }

// Sound gives the problem that what Check found is, and which backup to use; nil
// for none.
func (b *Bench) Sound(found store.Books) error { return b.store.Sound(found) }

// Rebuild makes the states again from the log.
func (b *Bench) Rebuild(ctx context.Context) error { return b.store.Rebuild(ctx) }

// People gives the names of people by their ids in the log.
func (b *Bench) People(ctx context.Context) (map[int64]string, error) { return b.store.People(ctx) }

// Stations gives the shop's stations in the order of the floor.
func (b *Bench) Stations(ctx context.Context) ([]parts.StationRow, error) {
	return b.store.Stations(ctx)
}

// Station finds a station by its key. The list is kept in memory and read
// again when a key is new.
func (b *Bench) Station(ctx context.Context, key parts.Station) (parts.StationRow, error) {
	if st, ok := b.remembered(key); ok {
		return st, nil
	}
	began := b.editionNow()
	all, err := b.store.Stations(ctx)
	if err != nil {
		return parts.StationRow{}, err
	}
	b.keep(began, func() { b.stations = all })
	var keys []string
	for _, st := range all {
		if st.Key == key {
			return st, nil
		}
		keys = append(keys, string(st.Key))
	}
	return parts.StationRow{}, parts.Problemf(parts.Missing, "station-unknown", "The shop has no station %q.", string(key)).
		Next("Scan the placard of the station.").Fact("stations", keys)
}

func (b *Bench) remembered(key parts.Station) (parts.StationRow, bool) {
	b.mu.RLock()
	defer b.mu.RUnlock()
	i := slices.IndexFunc(b.stations, func(st parts.StationRow) bool { return st.Key == key })
	if i < 0 {
		return parts.StationRow{}, false
	}
	return b.stations[i], true
}

// SaveStation adds a station or changes what is said of one.
func (b *Bench) SaveStation(ctx context.Context, st parts.StationRow) error {
	if err := routing.CheckStation(st); err != nil {
		return err
	}
	return b.store.SaveStation(ctx, st)
}

// Settings gives what the shop says once.
func (b *Bench) Settings(ctx context.Context) (parts.Settings, error) {
	b.mu.RLock()
	known := b.settings
	b.mu.RUnlock()
	if known != nil {
		return *known, nil
	}
	began := b.editionNow()
	set, err := b.store.Settings(ctx)
	if err == nil {
		b.keep(began, func() { b.settings = &set })
	}
	return set, err
}

// SaveSettings keeps what the shop says once.
func (b *Bench) SaveSettings(ctx context.Context, set parts.Settings) error {
	if err := set.Check(); err != nil {
		return err
	}
	return b.store.SaveSettings(ctx, set)
}

// hashed fills in what tells a repeat of a command from a reused id.
func hashed(c store.Command, request any) (store.Command, error) {
	kind := c.Kind + "\x00"
	err := jsontext.Use(request, kind, func(text []byte) { c.Request, c.Hash = string(text[len(kind):]), sha256.Sum256(text) })
	if err != nil {
		return c, fmt.Errorf("write the request of %s: %w", c.ID, err)
	}
	return c, nil
}
