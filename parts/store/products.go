package store

import (
	"context"
	"encoding/json"
	"fmt"

	"benchtally/parts"
)

// Product is one version of a glue or a finish. The store does not read its
// body.
type Product struct {
	ID      int64
	Key     string
	Version int
	Body    json.RawMessage
}

// Products gives every version of every product, the oldest version first.
func (s *Store) Products(ctx context.Context) ([]Product, error) {
	rows, err := s.read.QueryContext(ctx, "SELECT id, key, version, body FROM products ORDER BY key, version")
	if err != nil {
		return nil, fmt.Errorf("read the products: %w", err)
	}
	defer rows.Close()
	var out []Product
	for rows.Next() {
		var p Product
		var body string
		if err := rows.Scan(&p.ID, &p.Key, &p.Version, &body); err != nil {
			return nil, fmt.Errorf("read a product: %w", err)
		}
		p.Body = json.RawMessage(body)
		out = append(out, p)
	}
	return out, rows.Err()
}

const insertProduct = `INSERT INTO products (key, version, body) VALUES (?, ?, ?)`

// SaveProduct keeps a new version of a product. p.Version is the one it was
// made from, 0 for a product that is new: if there is a newer one meanwhile,
// or a product of that key, nothing is kept.
func (s *Store) SaveProduct(ctx context.Context, p Product) (Product, error) {
	err := s.run(ctx, false, func(t *tx) error {
		var newest int
		if err := t.row("SELECT coalesce(max(version), 0) FROM products WHERE key = ?", []any{p.Key}, &newest); err != nil {
			return fmt.Errorf("look for product %s: %w", p.Key, err)
		}
		switch {
		case newest != p.Version && p.Version == 0:
			return parts.Problemf(parts.Refused, "product-there", "There is a product with the key %q already.", p.Key).Next("Change that one, or choose another name.")
		case newest != p.Version:
			return parts.Problemf(parts.Stale, "product-stale", "Somebody else has changed this product meanwhile.").Next("Look at it again, and then change it.")
		}
		if err := t.exec(insertProduct, p.Key, newest+1, string(p.Body)); err != nil {
			return fmt.Errorf("keep product %s: %w", p.Key, err)
		}
		return nil
	})
	if err != nil {
		return p, err
	}
	p.Version++
	_, err = s.AirVersion(ctx)
	return p, err
}
