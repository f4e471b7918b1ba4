package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"benchtally/parts"
)

// Reading is the air of one place, as a person or a sensor told it.
type Reading struct {
	ID       int64
	Place    string // "" for the whole shop; else the key of a station or the mark of a cart
	At       time.Time
	Celsius  float64
	Humidity float64 // percent
	Source   string  // "person" or "sensor"
	Who      int64   // a row of people; 0 when nobody said
	Recorded time.Time
}

// AirVersion names a state of what drying is judged by. It is cheap to read,
// and another one says that there is something to read again.
type AirVersion struct {
	Readings int64  // id of the newest reading
	Products int64  // id of the newest version of a product
	Usual    string // the air that is usual in the shop, as it is kept
}

const findAirVersion = `SELECT (SELECT coalesce(max(id), 0) FROM readings), (SELECT coalesce(max(id), 0) FROM products),
(SELECT coalesce(max(value), '') FROM settings WHERE key = 'air')`

// AirVersion reads the version from the database and remembers it.
func (s *Store) AirVersion(ctx context.Context) (AirVersion, error) {
	var v AirVersion
	if err := s.read.QueryRowContext(ctx, findAirVersion).Scan(&v.Readings, &v.Products, &v.Usual); err != nil {
		return v, fmt.Errorf("read the newest readings of the air: %w", err)
	}
	s.air.Store(&v)
	return v, nil
}

// KnownAir is the newest version that this server knows of, without asking
// the database: it is read again after each change made here, and on
// PostgreSQL before each group of decisions.
func (s *Store) KnownAir() AirVersion {
	if v := s.air.Load(); v != nil {
		return *v
	}
	return AirVersion{}
}

const insertReading = `INSERT INTO readings (place, at, celsius, humidity, source, who, recorded) VALUES (?, ?, ?, ?, ?, ?, ?)`

// AddReadings keeps readings, all or none. by is a person's name.
func (s *Store) AddReadings(ctx context.Context, by string, readings []Reading) error {
	err := s.run(ctx, len(readings) > mostTogether, func(t *tx) error {
		who, err := t.person(by)
		if err != nil {
			return err
		}
		now := t.s.Now().UnixMilli()
		for _, r := range readings {
			if err := t.exec(insertReading, r.Place, r.At.UnixMilli(), r.Celsius, r.Humidity, r.Source, who, now); err != nil {
				return fmt.Errorf("keep a reading: %w", err)
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	_, err = s.AirVersion(ctx)
	return err
}

const readingColumns = `SELECT id, place, at, celsius, humidity, source, who, recorded FROM readings `

// ReadingsAfter gives the readings with an id above one, of a time or later,
// in the order in which they came.
func (s *Store) ReadingsAfter(ctx context.Context, id int64, since time.Time) ([]Reading, error) {
	return s.readings(ctx, "WHERE id > ? AND at >= ? ORDER BY id", id, since.UnixMilli())
}

// LastReadings gives the newest readings, by their own time, newest first.
func (s *Store) LastReadings(ctx context.Context, most int) ([]Reading, error) {
	return s.readings(ctx, "ORDER BY at DESC, id DESC LIMIT ?", most)
}

func (s *Store) readings(ctx context.Context, condition string, args ...any) ([]Reading, error) {
	rows, err := s.read.QueryContext(ctx, s.bind(readingColumns+condition), args...)
	if err != nil {
		return nil, fmt.Errorf("read the readings: %w", err)
	}
	defer rows.Close()
	var out []Reading
	for rows.Next() {
		var r Reading
		var at, recorded int64
		if err := rows.Scan(&r.ID, &r.Place, &at, &r.Celsius, &r.Humidity, &r.Source, &r.Who, &recorded); err != nil {
			return nil, fmt.Errorf("read a reading: %w", err)
		}
		r.At, r.Recorded = time.UnixMilli(at).UTC(), time.UnixMilli(recorded).UTC()
		out = append(out, r)
	}
	return out, rows.Err()
}

// UsualAir is the air that is usual in the shop, as it was kept; "" for what
// was never said.
func (s *Store) UsualAir(ctx context.Context) (string, error) {
	var kept string
	err := s.read.QueryRowContext(ctx, "SELECT value FROM settings WHERE key = 'air'").Scan(&kept)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return "", fmt.Errorf("read the usual air: %w", err)
	}
	return kept, nil
}

// SaveUsualAir keeps the air that is usual in the shop.
func (s *Store) SaveUsualAir(ctx context.Context, kept string) error {
	err := s.run(ctx, false, func(t *tx) error {
		if err := t.exec("INSERT INTO settings (key, value) VALUES ('air', ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value", kept); err != nil {
			return fmt.Errorf("keep the usual air: %w", err)
		}
		return nil
	})
	if err != nil {
		return err
	}
	_, err = s.AirVersion(ctx)
	return err
}

// dry gives what judges waits at a moment, nil when the store has none.
func (s *Store) dry(now time.Time) func(parts.ID, parts.Wait) parts.Wait {
	if s.judge == nil {
		return nil
	}
	return s.judge(now)
}

// judged judges the waits of a view by the readings. The states that the
// writer has seen are not touched: what is computed is never saved.
func (s *Store) judged(v parts.View) parts.View {
	if v.Dry = s.dry(v.Now); v.Dry == nil {
		return v
	}
	v.Subject = v.Subject.Judged(v.Dry)
	group := make([]parts.State, len(v.Group))
	for i, st := range v.Group {
		group[i] = st.Judged(v.Dry)
	}
	v.Group = group
	return v
}
