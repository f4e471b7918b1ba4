package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
)

// Formats gives what the shop keeps of formats of paper, by their keys. The
// store does not read the contents.
func (s *Store) Formats(ctx context.Context) (map[string]json.RawMessage, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT key, content FROM formats")
	if err != nil {
		return nil, fmt.Errorf("read the formats: %w", err)
	}
	defer rows.Close()
	out := map[string]json.RawMessage{}
	for rows.Next() {
		var key, content string
		if err := rows.Scan(&key, &content); err != nil {
			return nil, fmt.Errorf("read a format: %w", err)
		}
		out[key] = json.RawMessage(content)
	}
	return out, rows.Err()
}

const insertFormat = `INSERT INTO formats (key, content) VALUES (?, ?)
ON CONFLICT (key) DO UPDATE SET content = excluded.content`

// SaveFormat changes what is kept of a format. change gets what there is, nil
// for nothing, in the transaction that writes what it gives back: a format and
// the adjustment on it are changed on different pages, perhaps at once.
func (s *Store) SaveFormat(ctx context.Context, key string, change func(was json.RawMessage) (json.RawMessage, error)) error {
	return s.run(ctx, true, func(t *tx) error {
		var was string
		err := t.row("SELECT content FROM formats WHERE key = ?", []any{key}, &was)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return fmt.Errorf("read format %s: %w", key, err)
		}
		content, err := change(json.RawMessage(was))
		if err != nil {
			return err
		}
		if err := t.exec(insertFormat, key, string(content)); err != nil {
			return fmt.Errorf("keep format %s: %w", key, err)
		}
		return nil
	})
}
