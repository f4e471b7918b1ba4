package store

import (
	"context"
	"fmt"

	"benchtally/parts"
)

// Inside gives what is in which assembly, of every job that is not done.
func (s *Store) Inside(ctx context.Context) (map[parts.ID]parts.ID, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT part, in_assembly FROM part_states WHERE in_assembly <> ''
AND job IN (SELECT job FROM part_states WHERE open = 1)`)
	if err != nil {
		return nil, fmt.Errorf("read what is in assemblies: %w", err)
	}
	defer rows.Close()
	out := map[parts.ID]parts.ID{}
	for rows.Next() {
		var part, in parts.ID
		if err := rows.Scan(&part, &in); err != nil {
			return nil, fmt.Errorf("read what is in assemblies: %w", err)
		}
		out[part] = in
	}
	return out, rows.Err()
}
