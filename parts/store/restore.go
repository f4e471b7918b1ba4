package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"benchtally/parts"
)

// Restored says what Restore did.
type Restored struct {
	Books Books
	Aside string // where the file is that was there before; "" for none
}

// Restore puts the backup from in the place of the shop's file. The backup is
// copied, brought up to date, looked over and replayed first, and stays as it
// is; a file that is there is moved aside, if replace says so, never deleted.
// No server may be running on the file.
func Restore(ctx context.Context, file, from string, replace bool, now time.Time, o Options) (Restored, error) {
	target := &Store{file: file}
	if IsPostgres(file) {
		return Restored{}, parts.Problemf(parts.Refused, "backup-postgres", "A PostgreSQL database is put back with its own tools.").Next("Use pg_restore.")
	}
	if err := target.takeLock(file); err != nil {
		return Restored{}, err
	}
	defer target.closeAll()
	_, err := os.Stat(file)
	if err == nil && !replace {
		return Restored{}, parts.Problemf(parts.Refused, "file-exists", "There is a shop in %s already.", file).
			Next("Say -replace to put the backup in its place. The file that is there is kept beside it.")
	}
	there := err == nil
	fresh := file + ".restoring"
	defer clearAway(fresh)
	var done Restored
	if done.Books, err = readyCopy(ctx, from, fresh, o); err != nil {
		return done, err
	}
	if err := likeItsPlace(fresh, file); err != nil {
		return done, err
	}
	if there {
		if err := sameShop(ctx, file, from); err != nil {
			return done, err
		}
		if done.Aside, err = moveAside(file, now); err != nil {
			return done, err
		}
	}
	if err := removeAll(file+"-wal", file+"-shm"); err != nil { // of the old file: they would be read into the new one
		return done, err
	}
	return done, putInPlace(fresh, file)
}

// sameShop refuses to put a backup in the place of another shop. A damaged file
// may not say whose it is.
func sameShop(ctx context.Context, file, from string) error {
	here, err := originOf(ctx, file, "mode=ro")
	if err != nil || here == "" {
		return nil
	}
	if there, err := originOf(ctx, from, "mode=ro&immutable=1"); err != nil || there == here {
		return err
	}
	return parts.Problemf(parts.Refused, "backup-other", "%s is a backup of another shop than the one in %s.", from, file).
		Next("Name a backup of this one. If the other is meant, move %s away first and restore without -replace.", file)
}

// readyCopy copies a backup to fresh, brings the copy up to date and checks
// it.
func readyCopy(ctx context.Context, from, fresh string, o Options) (Books, error) {
	clearAway(fresh)
	if err := lookOverBackup(ctx, from); err != nil {
		return Books{}, err
	}
	if err := copyFile(from, fresh); err != nil {
		return Books{}, err
	}
	o.Alone, o.keepsNoCopy = false, true
	s, err := Open(ctx, fresh, o)
	if err != nil {
		return Books{}, fmt.Errorf("open the backup: %w", err)
	}
	books, err := s.Check(ctx)
	if err = errors.Join(err, s.Close()); err != nil {
		return books, fmt.Errorf("check the backup: %w", err)
	}
	if err := books.Sound(from); err != nil {
		return books, err
	}
	return books, syncFile(fresh)
}

// lookOverBackup refuses what is no shop's file, and one that is damaged.
func lookOverBackup(ctx context.Context, from string) error {
	there, err := os.Stat(from)
	if err == nil && there.IsDir() {
		return parts.Problemf(parts.Refused, "file-folder", "%s is a folder.", from).Next("Name the newest backup in it.")
	}
	if errors.Is(err, fs.ErrNotExist) {
		return parts.Problemf(parts.Missing, "backup-missing", "There is no file %s.", from).Next("Look for the newest backup in the folder of the backups.")
	}
	if wal, err := os.Stat(from + "-wal"); err == nil && wal.Size() > 0 {
		return parts.Problemf(parts.Refused, "backup-open", "%s is the file of a shop that is open, or was not closed.", from).
			Next("Make a backup of it first: benchtally backup -db %s -out FILE.", from)
	}
	db, err := openFile(from, "mode=ro&immutable=1")
	if err != nil {
		return err
	}
	defer db.Close()
	found, err := damage(ctx, db, from, "PRAGMA integrity_check(20)")
	if err != nil {
		return err
	}
	if err := (Books{Damage: found}).Sound(from); err != nil {
		return err
	}
	var shop bool
	err = db.QueryRowContext(ctx, "SELECT count(*) = 2 FROM sqlite_schema WHERE name IN ('events', 'part_states')").Scan(&shop)
	if err == nil && !shop {
		return parts.Problemf(parts.Refused, "no-shop", "%s is no backup of a shop.", from).Next("Name a file that benchtally backup made.")
	}
	return err
}

// moveAside renames the shop's file with what belongs to it, so that nothing
// is lost by a restore.
func moveAside(file string, now time.Time) (string, error) {
	aside := file + ".before-restore-" + Stamp(now)
	if _, err := os.Stat(aside); err == nil {
		return "", parts.Problemf(parts.Busy, "file-exists", "There is a file %s already.", aside).Next("Try again in a second.")
	}
	for _, end := range []string{"", "-wal"} { // what the last scans wrote may still be in the second
		if err := os.Rename(file+end, aside+end); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", fmt.Errorf("move the old file aside: %w", err)
		}
	}
	return aside, nil
}

// likeItsPlace gives a file the rights and the owner of the one that it will
// replace, or the owner of the folder when there is none: who restores is often
// the administrator, and the server someone else.
func likeItsPlace(file, place string) error {
	as, err := os.Stat(place)
	if errors.Is(err, fs.ErrNotExist) {
		as, err = os.Stat(filepath.Dir(place))
	} else if err == nil {
		err = os.Chmod(file, as.Mode().Perm()|0o600) // the server writes it, even if that one was locked
	}
	if err == nil {
		err = own(file, as)
	}
	if err != nil {
		return fmt.Errorf("give the restored file its owner: %w", err)
	}
	return nil
}

func copyFile(from, to string) error {
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("open the backup: %w", err)
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return fmt.Errorf("copy the backup: %w", err)
	}
	_, err = io.Copy(out, in)
	if err := errors.Join(err, out.Close()); err != nil {
		return fmt.Errorf("copy the backup: %w", err)
	}
	return nil
}

// clearAway removes an unfinished copy and what was kept beside it.
func clearAway(file string) { removeAll(file, file+"-wal", file+"-shm") }

func removeAll(files ...string) error {
	var errs []error
	for _, f := range files {
		if err := os.Remove(f); err != nil && !errors.Is(err, fs.ErrNotExist) {
			errs = append(errs, err)
		}
	}
	return errors.Join(errs...)
}
