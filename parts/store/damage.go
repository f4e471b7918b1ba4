package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"benchtally/parts"
)

// quickUpTo is the size in bytes up to which a file is looked over at every
// start; a larger one only after a stop that was not a clean one.
const quickUpTo = 1 << 30

// lookOver refuses to serve a damaged file. It reads all of it, which is why
// only the one that will serve it does so.
func (s *Store) lookOver(ctx context.Context) error {
	info, err := os.Stat(s.file)
	if err != nil || info.Size() == 0 {
		return nil // it is about to be made
	}
	wal, err := os.Stat(s.file + "-wal")
	unclean := err == nil && wal.Size() > 0
	if info.Size() > quickUpTo && !unclean {
		return nil
	}
	found, err := damage(ctx, s.write, s.file, "PRAGMA quick_check(1)")
	if err != nil {
		return err
	}
	if len(found) > 0 {
		return s.damaged(fmt.Errorf("look over the file: %s", found[0]))
	}
	return nil
}

// damaged says what to do about a file that cannot be served.
func (s *Store) damaged(err error) *parts.Problem {
	p := parts.Problemf(parts.Busy, "file-damaged", "The shop's file %s is damaged, or it is no shop's file.", s.file).Because(err)
	if backup := s.newestBackup(); backup != "" {
		return p.Next("Put the newest whole backup back: %s restore -db %s -from %s -replace (what was recorded since is then only in the damaged file, which is kept beside it).", program(), typed(s.file), backup)
	}
	return p.Next("No backup of it was found. Put in the disk that has one and type: %s restore -db %s -from FILE -replace (the damaged file is kept beside it).", program(), typed(s.file))
}

// program is how this one is called in a line to type: as it was started, when
// that says where it is.
func program() string {
	const name = "benchtally"
	if base := strings.TrimSuffix(filepath.Base(os.Args[0]), ".exe"); base != name || !strings.ContainsRune(os.Args[0], filepath.Separator) {
		return name
	}
	return typed(os.Args[0])
}

// Sound is Books.Sound for the shop's own file: it names the backup to use.
func (s *Store) Sound(b Books) error {
	if len(b.Damage) > 0 {
		return s.damaged(errors.New(firstLine(b.Damage[0]))).Also("If it is a backup, use another one.")
	}
	return b.Sound(s.file)
}

// explainOpen is Explain for a file that is not open yet.
func (s *Store) explainOpen(err error) error {
	if err == nil || parts.AsProblem(err) != nil {
		return err
	}
	p := diskProblem(err)
	if p == nil && s.hasWrongPages() {
		return s.damaged(err) // what is read past a wrong page may look like anything
	}
	switch {
	case p == nil:
		return err
	case p.Code == "file-damaged":
		return s.damaged(err)
	case p.Code == "disk-failing": // SQLite says no more than that it cannot open
		if better := diskProblem(s.room()); better != nil {
			return better.Because(err)
		}
	}
	return p
}

// damage compares the pages of a file with their sums, then runs one of
// SQLite's checks of its structure, and gives what was found; nothing for a
// sound one.
func damage(ctx context.Context, db *sql.DB, file, pragma string) (found []string, err error) {
	if found, err = wrongPages(file); err != nil || len(found) > 0 {
		return found, err
	}
	note := func(err error) ([]string, error) {
		if diskFault(err) == "file-damaged" {
			return append(found, err.Error()), nil
		}
		return nil, fmt.Errorf("look over the file: %w", err)
	}
	rows, err := db.QueryContext(ctx, pragma)
	if err != nil {
		return note(err)
	}
	defer rows.Close()
	for rows.Next() {
		var said string
		if err := rows.Scan(&said); err != nil {
			return note(err)
		}
		if said != "ok" {
			found = append(found, said)
		}
	}
	if err := rows.Err(); err != nil {
		return note(err)
	}
	return found, nil
}

// Stamp is how the time is written into the name of a file.
func Stamp(t time.Time) string { return t.UTC().Format("20060102T150405Z") }
