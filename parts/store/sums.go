package store

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"benchtally/parts/store/pagesum"
)

// wrongPages says in words which pages of a file do not agree with their sums;
// nothing when all do, or it has none.
func wrongPages(file string) ([]string, error) {
	found, err := pagesum.Look(file)
	if err != nil || len(found.Wrong) == 0 {
		return nil, err
	}
	const some = 5
	var list []string
	for _, p := range found.Wrong[:min(some, len(found.Wrong))] {
		list = append(list, fmt.Sprint(p))
	}
	if len(found.Wrong) > some {
		list = append(list, "...")
	}
	if len(list) == 1 {
		return []string{fmt.Sprintf("its page %s of %d does not agree with its sum", list[0], found.Number)}, nil
	}
	return []string{fmt.Sprintf("%d of its %d pages do not agree with their sums: %s", len(found.Wrong), found.Number, strings.Join(list, ", "))}, nil
}

// lookOverLog refuses a file whose write-ahead log lost what was recorded. It
// comes before SQLite opens the file, which would take such a log to end there.
func (s *Store) lookOverLog() error {
	if s.postgres {
		return nil
	}
	broken, err := pagesum.BrokenLog(s.file)
	if broken {
		return s.damaged(errors.New("its write-ahead log is damaged, and what was recorded last would be gone"))
	}
	return err
}

// hasWrongPages reports whether wrongPages finds any, for an error whose cause
// they would be.
func (s *Store) hasWrongPages() bool {
	if s.postgres {
		return false
	}
	wrong, err := wrongPages(s.file)
	return err == nil && len(wrong) > 0
}

// lacksSums reports whether the file's pages have no sums yet and may be given
// some: by the one that serves it, because a program that knows nothing of
// sums and writes it too would leave pages without; and with a write-ahead log,
// which some disks on a network do not allow.
func (s *Store) lacksSums(ctx context.Context) (bool, error) {
	alone := s.lock != nil || !s.copies
	if s.postgres || !alone {
		return false, nil
	}
	if summed, err := pagesum.Has(s.file); summed || err != nil {
		return false, err
	}
	var journal string
	if err := s.write.QueryRowContext(ctx, "PRAGMA journal_mode").Scan(&journal); err != nil {
		return false, fmt.Errorf("ask how the file is written: %w", err)
	}
	return journal == "wal", nil
}

// giveSums gives every page of an older program's file its sum, by writing it
// anew in one transaction.
func (s *Store) giveSums(ctx context.Context) error {
	for _, statement := range []string{"VACUUM", "PRAGMA wal_checkpoint(TRUNCATE)"} {
		if _, err := s.write.ExecContext(ctx, statement); err != nil {
			return fmt.Errorf("give the pages their sums: %w", err)
		}
	}
	return nil
}
