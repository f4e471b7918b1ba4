package store

import (
	"context"
	"fmt"

	"benchtally/parts"
)

// AddCart makes a cart with the next number and a mark of its own. decide
// gives the first events of the mark.
func (s *Store) AddCart(ctx context.Context, c Command, decide func(id parts.ID, number int, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		serial, err := t.serial()
		if err != nil {
			return Decision{}, err
		}
		var number int
		if err := t.row("SELECT coalesce(max(number), 0) + 1 FROM part_states WHERE job = 0 AND kind = 'cart'", nil, &number); err != nil {
			return Decision{}, fmt.Errorf("count the carts: %w", err)
		}
		id, next := parts.NextMark(serial)
		d, err := decide(id, number, person)
		if err != nil {
			return d, err
		}
		return d, t.saveSerial(next)
	})
}

// Carts gives the shop's carts by number.
func (s *Store) Carts(ctx context.Context) ([]parts.State, error) {
	return s.states(ctx, "job = 0 AND kind = 'cart' ORDER BY number")
}

// OnCarts says how many pieces lie on each cart.
func (s *Store) OnCarts(ctx context.Context) (map[parts.ID]int, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT cart, count(*) FROM part_states WHERE cart <> '' GROUP BY cart")
	if err != nil {
		return nil, fmt.Errorf("count what lies on carts: %w", err)
	}
	defer rows.Close()
	counts := map[parts.ID]int{}
	for rows.Next() {
		var id string
		var n int
		if err := rows.Scan(&id, &n); err != nil {
			return nil, fmt.Errorf("count what lies on carts: %w", err)
		}
		counts[parts.ID(id)] = n
	}
	return counts, rows.Err()
}
