package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

const findPerson = `SELECT id FROM people WHERE name = ?`

// person gives the id of a name, and makes one for a name that is new; 0 for
// nobody.
func (t *tx) person(name string) (int64, error) {
	name = strings.TrimSpace(name)
	if name == "" {
		return 0, nil
	}
	if id, ok := t.s.memory.people[name]; ok {
		return id, nil
	}
	var id int64
	err := t.row(findPerson, []any{name}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		err = t.row("INSERT INTO people (name) VALUES (?) RETURNING id", []any{name}, &id)
	}
	if err != nil {
		return 0, fmt.Errorf("look for a person: %w", err)
	}
	t.s.memory.people[name] = id
	return id, nil
}

// AddPerson makes a name known, or finds that it is.
func (s *Store) AddPerson(ctx context.Context, name string) error {
	return s.office(ctx, func(t *tx) error {
		_, err := t.person(name)
		return err
	})
}

// People gives the names of people by id.
func (s *Store) People(ctx context.Context) (map[int64]string, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT id, name FROM people")
	if err != nil {
		return nil, fmt.Errorf("read people: %w", err)
	}
	defer rows.Close()
	names := map[int64]string{}
	for rows.Next() {
		var id int64
		var name string
		if err := rows.Scan(&id, &name); err != nil {
			return nil, fmt.Errorf("read people: %w", err)
		}
		names[id] = name
	}
	return names, rows.Err()
}
