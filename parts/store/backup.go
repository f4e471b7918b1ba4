package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"benchtally/parts"
	"benchtally/parts/store/pagesum"
)

// Backup copies the whole shop, with its pictures, into the new file to, while
// work goes on. The copy is what the shop was at one moment. It is on the disk
// under its name only after it was opened, looked over and replayed.
func (s *Store) Backup(ctx context.Context, to string) (Books, error) {
	if s.postgres {
		return Books{}, parts.Problemf(parts.Refused, "backup-postgres", "This shop is in a PostgreSQL database, which is backed up with its own tools.").
			Next("Use pg_dump, and pg_restore to put it back.")
	}
	there, err := os.Stat(to)
	if err == nil && there.IsDir() {
		return Books{}, parts.Problemf(parts.Refused, "file-folder", "%s is a folder.", to).Next("Name a file in it: %s.", filepath.Join(to, "shop.db"))
	}
	if err == nil {
		return Books{}, parts.Problemf(parts.Refused, "file-exists", "There is a file %s already.", to).Next("Give the backup a new name.")
	}
	// A folder is not made: on a stick that is not in, it would be made on the
	// disk that the backup is to outlive.
	if _, err := os.Stat(filepath.Dir(to)); err != nil {
		return Books{}, parts.Problemf(parts.Missing, "backup-folder", "The folder %s is not there.", filepath.Dir(to)).
			Next("Is its disk in? If it is new, make the folder first.").Because(err)
	}
	part := to + partly
	defer os.Remove(part)
	var books Books
	err = gently(func() (err error) {
		if err := s.copyTo(ctx, part); err != nil {
			if diskFault(err) == "file-damaged" && s.hasWrongPages() {
				return s.Explain(err) // it is the shop's file, and nobody has read that page yet
			}
			return err
		}
		books, err = replayCopy(ctx, s.file, part)
		return err
	})
	if err != nil {
		return books, err
	}
	return books, putInPlace(part, to)
}

// partly ends the name of a copy that is not whole yet.
const partly = ".part"

// openFile opens a SQLite file by itself, in the manner that the address says.
func openFile(file, how string) (*sql.DB, error) {
	db, err := sql.Open("sqlite3", "file:"+(&url.URL{Path: file}).EscapedPath()+"?vfs="+pagesum.VFS+"&_busy_timeout=5000&"+how)
	if err != nil {
		return nil, fmt.Errorf("open %s: %w", file, err)
	}
	db.SetMaxOpenConns(1)
	return db, nil
}

// replayCopy opens a copy of shop as nobody else writes it, looks it over and
// replays its log.
func replayCopy(ctx context.Context, shop, file string) (Books, error) {
	db, err := openFile(file, "mode=ro&immutable=1")
	if err != nil {
		return Books{}, err
	}
	defer db.Close()
	books, err := (&Store{file: file, read: &pool{db}}).Check(ctx)
	if err != nil {
		return books, fmt.Errorf("check the copy: %w", err)
	}
	if len(books.Damage) > 0 {
		return books, parts.Problemf(parts.Busy, "backup-damaged", "The copy came out damaged: %s.", firstLine(books.Damage[0])).
			Next("Run benchtally check -db %s. If that finds nothing, the disk of the copy is bad: use another.", typed(shop))
	}
	return books, books.Sound(shop)
}

// Sound gives the problem that what Check found is; nil for none.
func (b Books) Sound(file string) error {
	switch {
	case len(b.Damage) > 0:
		return parts.Problemf(parts.Refused, "file-damaged", "The file %s is damaged: %s.", file, firstLine(b.Damage[0])).
			Next("Use another copy, such as the newest backup.")
	case len(b.Differences) > 0:
		return parts.Problemf(parts.Stale, "books-differ", "The log and the present state do not agree.").
			Next("Keep a copy of the file, stop the server and run benchtally rebuild -db %s.", file)
	}
	return nil
}

// firstLine is enough of what the database says of a damage to tell it from
// another; the advice after it must not be lost.
func firstLine(text string) string {
	line, _, _ := strings.Cut(strings.TrimSpace(text), "\n")
	return line
}

// putInPlace gives a finished file its name, for good.
func putInPlace(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("name the finished copy: %w", err)
	}
	return syncFolder(filepath.Dir(to))
}

// syncFile waits until a file's content is on the disk.
func syncFile(file string) error {
	f, err := os.OpenFile(file, os.O_RDWR, 0)
	if err != nil {
		return fmt.Errorf("open %s: %w", file, err)
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("put %s on the disk: %w", file, err)
	}
	return nil
}

// syncFolder waits until the names in a folder are on the disk. Windows does
// that by itself and has no call for it.
func syncFolder(dir string) error {
	if runtime.GOOS == "windows" {
		return nil
	}
	f, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("open the folder %s: %w", dir, err)
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("put the names in %s on the disk: %w", dir, err)
	}
	return nil
}
