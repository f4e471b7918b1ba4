package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"benchtally/parts"
)

const saveFold = `INSERT INTO counters (name, value) VALUES ('fold', ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value`

// refold makes the states again when another version of the program has made
// them. The version is kept once for all of them: to ask every state would
// take the longer the larger the shop is.
func (s *Store) refold(ctx context.Context) error {
	stale, known, err := s.staleFold(ctx)
	if err != nil {
		return fmt.Errorf("read the fold of the states: %w", err)
	}
	if stale {
		if err := s.keepCopy(ctx, fmt.Sprintf("before-fold-%d", parts.FoldVersion)); err != nil {
			return err
		}
		return s.rebuild(ctx)
	}
	if !known {
		if _, err := s.write.ExecContext(ctx, s.bind(saveFold), parts.FoldVersion); err != nil {
			return fmt.Errorf("keep the fold of the states: %w", err)
		}
	}
	return nil
}

// staleFold reports whether the states are of another fold. Of a shop from
// before the version was kept, each state is asked, once.
func (s *Store) staleFold(ctx context.Context) (stale, known bool, err error) {
	var fold int
	switch err := s.write.QueryRowContext(ctx, "SELECT value FROM counters WHERE name = 'fold'").Scan(&fold); {
	case err == nil:
		return fold != parts.FoldVersion, true, nil
	case !errors.Is(err, sql.ErrNoRows):
		return false, false, err
	}
	err = s.write.QueryRowContext(ctx, s.bind("SELECT EXISTS (SELECT 1 FROM part_states WHERE fold <> ?)"), parts.FoldVersion).Scan(&stale)
	return stale, false, err
}
