package store

import (
	"context"
	"encoding/json"
	"fmt"

	"benchtally/parts/finish"
)

// Can is a can of an ingredient on the shelf.
type Can struct {
	ID int64 // 0 for a new one
	finish.Can
}

// Cans gives what is on the shelf, by name.
func (s *Store) Cans(ctx context.Context) ([]Can, error) { return cans(reader{s, ctx}) }

func cans(q querier) ([]Can, error) {
	rows, err := q.query("SELECT id, content FROM cans ORDER BY id")
	if err != nil {
		return nil, fmt.Errorf("read the cans: %w", err)
	}
	defer rows.Close()
	var out []Can
	for rows.Next() {
		var c Can
		var content string
		if err := rows.Scan(&c.ID, &content); err != nil {
			return nil, fmt.Errorf("read a can: %w", err)
		}
		if err := json.Unmarshal([]byte(content), &c.Can); err != nil {
			return nil, fmt.Errorf("read can %d: %w", c.ID, err)
		}
		out = append(out, c)
	}
	return out, rows.Err()
}

// SaveCan puts a can on the shelf, or says anew what is in it. One in which
// nothing is left is taken off.
func (s *Store) SaveCan(ctx context.Context, c Can) (int64, error) {
	err := s.run(ctx, true, func(t *tx) (err error) {
		c.ID, err = t.saveCan(c)
		return err
	})
	return c.ID, err
}

func (t *tx) saveCan(c Can) (id int64, err error) {
	content, err := json.Marshal(c.Can)
	switch {
	case err != nil:
	case c.Left <= 0:
		err = t.exec("DELETE FROM cans WHERE id = ?", c.ID)
	case c.ID == 0:
		err = t.row("INSERT INTO cans (content) VALUES (?) RETURNING id", []any{string(content)}, &c.ID)
	default:
		err = t.exec("UPDATE cans SET content = ? WHERE id = ?", string(content), c.ID)
	}
	if err != nil {
		return 0, fmt.Errorf("keep a can of %s: %w", c.Name, err)
	}
	return c.ID, nil
}
