package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"benchtally/parts"
)

// Answered gives what a command led to; found is false when there was none.
func (s *Store) Answered(ctx context.Context, id parts.CommandID) (a Answer, subject parts.ID, found bool, err error) {
	var said string
	err = s.read.QueryRowContext(ctx, s.bind("SELECT subject, outcome, answer FROM commands WHERE id = ?"), id[:]).
		Scan(&subject, &a.Outcome, &said)
	if errors.Is(err, sql.ErrNoRows) {
		return a, "", false, nil
	}
	if err != nil {
		return a, "", false, fmt.Errorf("read the answer to %s: %w", id, err)
	}
	if a.Outcome == "recorded" {
		a.Said = said
		return a, subject, true, nil
	}
	a.Problem = new(parts.Problem)
	if err := json.Unmarshal([]byte(said), a.Problem); err != nil {
		return a, "", false, fmt.Errorf("read the answer to %s: %w", id, err)
	}
	return a, subject, true, nil
}
