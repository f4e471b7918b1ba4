package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"time"

	"github.com/mattn/go-sqlite3"

	"benchtally/parts/store/pagesum"
)

// pagesAtOnce are copied and put on the disk in one step: 256 KB, which a scan
// that comes just then hardly waits for. A whole shop put there at once holds
// the writer up for a tenth of a second and more.
const pagesAtOnce = 64

// copyTo writes what the shop is now into the file to and onto the disk. It
// reads through a connection of its own: the writer and the pages go on.
func (s *Store) copyTo(ctx context.Context, to string) (err error) {
	if err := os.Remove(to); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("clear away an unfinished copy: %w", err)
	}
	from, err := openFile(s.file, "mode=ro")
	if err != nil {
		return err
	}
	defer from.Close()
	if summed, err := pagesum.Has(s.file); err != nil {
		return err
	} else if !summed { // of an older program: page by page, its copy would have none either
		return copyAtOnce(ctx, from, to)
	}
	as, err := os.Stat(s.file)
	if err != nil {
		return fmt.Errorf("look at the file of the shop: %w", err)
	}
	file, err := os.OpenFile(to, os.O_RDWR|os.O_CREATE|os.O_EXCL, as.Mode().Perm()|0o600) // no more may read it than the shop
	if err != nil {
		return fmt.Errorf("begin the copy: %w", err)
	}
	defer func() { err = errors.Join(err, file.Close()) }()
	into, err := openFile(to, "_journal_mode=OFF&_synchronous=OFF") // each step is synced
	if err != nil {
		return err
	}
	if err := errors.Join(copyMoment(ctx, from, into, file), into.Close()); err != nil {
		return fmt.Errorf("copy the shop to %s: %w", to, err)
	}
	return file.Sync()
}

// copyAtOnce writes a copy whose pages have sums, of a file whose pages have none.
func copyAtOnce(ctx context.Context, from *sql.DB, to string) error {
	if _, err := from.ExecContext(ctx, "VACUUM INTO ?", to); err != nil {
		return fmt.Errorf("copy the shop to %s: %w", to, err)
	}
	return syncFile(to)
}

// copyMoment copies one moment of the database from into the empty one, which
// is in file. A transaction that stays open holds the moment: SQLite would begin
// the copy again after each commit of the writer.
func copyMoment(ctx context.Context, from, into *sql.DB, file *os.File) error {
	source, err := from.Conn(ctx)
	if err != nil {
		return err
	}
	defer source.Close() // ends the transaction with the connection
	var tables int
	if _, err := source.ExecContext(ctx, "BEGIN"); err != nil {
		return err
	}
	if err := source.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil { // the moment is that of the first look
		return err
	}
	copied, err := into.Conn(ctx)
	if err != nil {
		return err
	}
	defer copied.Close()
	err = copied.Raw(func(to any) error {
		return source.Raw(func(of any) error {
			b, err := to.(*sqlite3.SQLiteConn).Backup("main", of.(*sqlite3.SQLiteConn), "main")
			if err != nil {
				return err
			}
			return errors.Join(copySteps(ctx, b, file), b.Finish())
		})
	})
	if err != nil {
		return err
	}
	_, err = copied.ExecContext(ctx, "PRAGMA journal_mode = DELETE") // a backup is one file, whoever opens it
	return err
}

// copySteps copies step by step. Between two of them the disk is the writer's
// for as long as the step took.
func copySteps(ctx context.Context, b *sqlite3.SQLiteBackup, file *os.File) error {
	for {
		began := time.Now()
		whole, err := b.Step(pagesAtOnce)
		if err != nil || whole {
			return err
		}
		if err := file.Sync(); err != nil {
			return err
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(time.Since(began)):
		}
	}
}
