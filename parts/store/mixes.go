package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// Mixes gives the shop's mixes by name.
func (s *Store) Mixes(ctx context.Context) ([]finish.Mix, error) {
	return contents[finish.Mix](reader{s, ctx}, "mixes", "SELECT content FROM mixes ORDER BY key")
}

// contents reads rows of one column of JSON.
func contents[T any](q querier, what, query string, args ...any) ([]T, error) {
	rows, err := q.query(query, args...)
	if err != nil {
		return nil, fmt.Errorf("read the %s: %w", what, err)
	}
	defer rows.Close()
	var out []T
	for rows.Next() {
		var content string
		var one T
		if err := rows.Scan(&content); err != nil {
			return nil, fmt.Errorf("read the %s: %w", what, err)
		}
		if err := json.Unmarshal([]byte(content), &one); err != nil {
			return nil, fmt.Errorf("read the %s: %w", what, err)
		}
		out = append(out, one)
	}
	return out, rows.Err()
}

// mix reads one mix in the writer's transaction; found is false without one.
func (t *tx) mix(key string) (m finish.Mix, found bool, err error) {
	var content string
	err = t.row("SELECT content FROM mixes WHERE key = ?", []any{key}, &content)
	if errors.Is(err, sql.ErrNoRows) {
		return m, false, nil
	}
	if err == nil {
		err = json.Unmarshal([]byte(content), &m)
	}
	if err != nil {
		return m, false, fmt.Errorf("read mix %s: %w", key, err)
	}
	return m, true, nil
}

const insertMix = `INSERT INTO mixes (key, version, content) VALUES (?, 1, ?)
ON CONFLICT (key) DO UPDATE SET content = excluded.content, version = mixes.version + 1`

// ChangeMix changes one mix, or adds it. change gets what there is, the zero
// Mix for nothing, in the transaction that writes what it gives back.
func (s *Store) ChangeMix(ctx context.Context, key string, change func(was finish.Mix) (finish.Mix, error)) (finish.Mix, error) {
	var m finish.Mix
	err := s.run(ctx, true, func(t *tx) error {
		was, _, err := t.mix(key)
		if err != nil {
			return err
		}
		if m, err = change(was); err != nil {
			return err
		}
		return t.saveMix(m)
	})
	return m, err
}

func (t *tx) saveMix(m finish.Mix) error {
	t.s.mixless.Store(false)
	content, err := json.Marshal(m)
	if err == nil {
		err = t.exec(insertMix, m.Key, string(content))
	}
	if err != nil {
		return fmt.Errorf("keep mix %s: %w", m.Key, err)
	}
	return nil
}

func mixUnknown(key string) error {
	return parts.Problemf(parts.Missing, "mix-unknown", "The shop has no mix %q.", key).Next("Choose one of those on the page of mixes.")
}

// Measures gives what the shop doses with; none until it says so.
func (s *Store) Measures(ctx context.Context) ([]finish.Measure, error) {
	return contents[finish.Measure](reader{s, ctx}, "measures", "SELECT content FROM measures ORDER BY key")
}

const insertMeasure = `INSERT INTO measures (key, content) VALUES (?, ?) ON CONFLICT (key) DO UPDATE SET content = excluded.content`

// SaveMeasures adds measures or changes them.
func (s *Store) SaveMeasures(ctx context.Context, list []finish.Measure) error {
	return s.run(ctx, true, func(t *tx) error {
		for _, ms := range list {
			content, err := json.Marshal(ms)
			if err == nil {
				err = t.exec(insertMeasure, ms.Key, string(content))
			}
			if err != nil {
				return fmt.Errorf("keep measure %s: %w", ms.Key, err)
			}
		}
		return nil
	})
}
