package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"benchtally/parts"
)

// Defects gives the shop's catalogue of defects in its order.
func (s *Store) Defects(ctx context.Context) ([]parts.Defect, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT content FROM defects ORDER BY place, key")
	if err != nil {
		return nil, fmt.Errorf("read the defects: %w", err)
	}
	defer rows.Close()
	var out []parts.Defect
	for rows.Next() {
		var content string
		var d parts.Defect
		if err := rows.Scan(&content); err != nil {
			return nil, fmt.Errorf("read a defect: %w", err)
		}
		if err := json.Unmarshal([]byte(content), &d); err != nil {
			return nil, fmt.Errorf("read a defect: %w", err)
		}
		out = append(out, d)
	}
	return out, rows.Err()
}

const insertDefect = `INSERT INTO defects (key, place, content) VALUES (?, (SELECT coalesce(max(place), 0) + 1 FROM defects), ?)
ON CONFLICT (key) DO UPDATE SET content = excluded.content`

// SaveDefect adds a defect to the catalogue or changes one. What was recorded
// keeps the repair it began with.
func (s *Store) SaveDefect(ctx context.Context, d parts.Defect) error {
	content, err := json.Marshal(d)
	if err != nil {
		return fmt.Errorf("write defect %s: %w", d.Key, err)
	}
	return s.run(ctx, true, func(t *tx) error {
		if err := t.exec(insertDefect, d.Key, string(content)); err != nil {
			return fmt.Errorf("keep defect %s: %w", d.Key, err)
		}
		return nil
	})
}

// Photo is a picture of a defect.
type Photo struct {
	Name string // SHA-256 of the bytes that were sent, in hexadecimal
	Type string // "image/jpeg"
	Data []byte
}

// AddPhoto keeps a picture; the same one twice is kept once.
func (s *Store) AddPhoto(ctx context.Context, p Photo) error {
	return s.run(ctx, true, func(t *tx) error {
		err := t.exec("INSERT INTO photos (name, type, data, recorded) VALUES (?, ?, ?, ?) ON CONFLICT (name) DO NOTHING",
			p.Name, p.Type, p.Data, s.Now().UnixMilli())
		if err != nil {
			return fmt.Errorf("keep a photo: %w", err)
		}
		return nil
	})
}

// Photo gives a picture by its name.
func (s *Store) Photo(ctx context.Context, name string) (Photo, error) {
	p := Photo{Name: name}
	err := s.read.QueryRowContext(ctx, s.bind("SELECT type, data FROM photos WHERE name = ?"), name).Scan(&p.Type, &p.Data)
	if errors.Is(err, sql.ErrNoRows) {
		return p, parts.Problemf(parts.Missing, "photo-unknown", "There is no such picture.").Next("Open the part's page again.")
	}
	if err != nil {
		return p, fmt.Errorf("read photo %s: %w", name, err)
	}
	return p, nil
}
