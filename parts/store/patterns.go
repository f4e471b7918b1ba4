package store

import (
	"context"
	"encoding/json"
	"fmt"

	"benchtally/parts"
)

// Patterns gives the shop's patterns of holes, by their keys.
func (s *Store) Patterns(ctx context.Context) ([]parts.Pattern, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT key, content FROM patterns ORDER BY key")
	if err != nil {
		return nil, fmt.Errorf("read the patterns: %w", err)
	}
	defer rows.Close()
	var out []parts.Pattern
	for rows.Next() {
		var key, content string
		var p parts.Pattern
		if err := rows.Scan(&key, &content); err != nil {
			return nil, fmt.Errorf("read a pattern: %w", err)
		}
		if err := json.Unmarshal([]byte(content), &p); err != nil {
			return nil, fmt.Errorf("read pattern %s: %w", key, err)
		}
		p.Key = key
		out = append(out, p)
	}
	return out, rows.Err()
}

const insertPattern = `INSERT INTO patterns (key, content) VALUES (?, ?)
ON CONFLICT (key) DO UPDATE SET content = excluded.content`

// SavePattern adds a pattern or changes one. Parts that were bored keep the
// holes they have; lines that name the pattern are read with its new ones.
func (s *Store) SavePattern(ctx context.Context, p parts.Pattern) error {
	content, err := json.Marshal(p)
	if err != nil {
		return fmt.Errorf("write pattern %s: %w", p.Key, err)
	}
	return s.run(ctx, true, func(t *tx) error {
		if err := t.exec(insertPattern, p.Key, string(content)); err != nil {
			return fmt.Errorf("keep pattern %s: %w", p.Key, err)
		}
		return nil
	})
}
