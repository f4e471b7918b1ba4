package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"
	"syscall"
	"time"

	"github.com/mattn/go-sqlite3"

	"benchtally/parts"
)

// probeEvery is how often a shop that could not be saved tries again by
// itself, so that its pages say so without anybody scanning.
const probeEvery = 5 * time.Second

// probeSize is the room that must be there again: a scan that finds less would
// only fill the disk once more.
const probeSize = 1 << 20

// Condition is what is wrong with the shop's file or its backups, until it is
// put right.
type Condition struct {
	*parts.Problem
	Since time.Time
}

// Stops reports whether nothing is saved while it lasts.
func (c Condition) Stops() bool { return !strings.HasPrefix(c.Code, "backup-") }

// health remembers what was wrong last: with the disk or the file, and with
// the backups.
type health struct {
	mu           sync.Mutex
	disk, backup *Condition
}

// Conditions gives what is wrong now, the worst first.
func (s *Store) Conditions() []Condition {
	s.health.mu.Lock()
	defer s.health.mu.Unlock()
	var all []Condition
	for _, t := range []*Condition{s.health.disk, s.health.backup} {
		if t == nil {
			continue
		}
		if all = append(all, *t); t.Code == "file-damaged" {
			break // no backup is made of it, and that is all there is to say
		}
	}
	return all
}

// Explain gives the sentence for an error that is a fault of the disk or of
// the shop's file, and remembers it; any other error stays what it is.
func (s *Store) Explain(err error) error {
	p := diskProblem(err)
	if p == nil {
		return err
	}
	s.note(p)
	return p
}

// note remembers what is wrong with the disk. A damaged file stays damaged:
// that a page elsewhere in it can be written heals nothing.
func (s *Store) note(p *parts.Problem) {
	c := &s.health
	c.mu.Lock()
	same := c.disk != nil && (c.disk.Code == p.Code || c.disk.Code == "file-damaged")
	if !same {
		c.disk = &Condition{p, s.Now()}
	}
	c.mu.Unlock()
	if !same {
		s.watchers.changed()
	}
}

// wrote forgets what was wrong with the disk: something was saved.
func (s *Store) wrote() {
	c := &s.health
	c.mu.Lock()
	over := c.disk != nil && c.disk.Code != "file-damaged"
	if over {
		c.disk = nil
	}
	c.mu.Unlock()
	if over {
		s.watchers.changed()
	}
}

// stopped gives what is wrong with the disk, nil for nothing.
func (s *Store) stoppedBy() *parts.Problem {
	s.health.mu.Lock()
	defer s.health.mu.Unlock()
	if s.health.disk == nil {
		return nil
	}
	return s.health.disk.Problem
}

// NoteBackup remembers how the last backup ended: nil for well.
func (s *Store) NoteBackup(err error) {
	var t *Condition
	if err != nil {
		t = &Condition{backupProblem(err), s.Now()}
	}
	s.health.mu.Lock()
	s.health.backup = t
	s.health.mu.Unlock()
	s.watchers.changed()
}

// backupProblem is the sentence for a backup that failed.
func backupProblem(err error) *parts.Problem {
	failed := parts.Problemf(parts.Busy, "backup-failed", "The last backup failed.").Because(err)
	if why := parts.AsProblem(err); why != nil {
		failed = failed.Also(why.Say, why.Args...)
		failed.Do, failed.DoArgs = why.Do, why.DoArgs
		return failed
	}
	switch diskFault(err) {
	case "disk-full":
		return failed.Also("There is no room left for it.").Next("Make room on the disk of the backups, or keep fewer of them with -keep.")
	case "disk-read-only":
		return failed.Also("Its folder cannot be written.").Next("Look at the disk of the backups, and who may write there.")
	case "disk-failing":
		return failed.Also("The disk of the backups gives errors.").Next("Use another disk.")
	}
	return failed.Next("Look at the folder for backups: is its disk there, and is there room? The server's log says why.")
}

// probe writes a little when nothing could be saved before; success clears
// the condition.
func (s *Store) probe(ctx context.Context) {
	p := s.stoppedBy()
	if p == nil || p.Code == "file-damaged" || s.room() != nil {
		return
	}
	s.commitGroup(ctx, []*work{{alone: true, done: make(chan error, 1), do: func(t *tx) error {
		return t.exec("UPDATE counters SET value = value")
	}}})
}

// room finds out whether there is room beside the shop's file for a while.
func (s *Store) room() error {
	f, err := os.Create(s.file + ".probe")
	if err != nil {
		return fmt.Errorf("probe the disk: %w", err)
	}
	defer os.Remove(f.Name())
	_, err = f.Write(make([]byte, probeSize))
	return errors.Join(err, f.Sync(), f.Close())
}

// diskProblem is the sentence for a fault of the disk or the file; nil when
// err is none.
func diskProblem(err error) *parts.Problem {
	switch diskFault(err) {
	case "disk-full":
		return parts.Problemf(parts.Busy, "disk-full", "The disk is full: nothing can be saved.").
			Next("Make room on the computer that has the shop's file. Phones keep their scans and send them again by themselves.").Because(err)
	case "disk-read-only":
		return parts.Problemf(parts.Busy, "disk-read-only", "The shop's file cannot be written: it or its disk is read-only.").
			Next("Look at the disk of the computer that has the shop's file. Phones keep their scans and send them again by themselves.").Because(err)
	case "file-locked":
		return parts.Problemf(parts.Busy, "file-locked", "Another program holds the shop's file.").
			Next("Close what has it open, such as a program that copies or syncs files. Phones keep their scans and send them again by themselves.").Because(err)
	case "disk-failing":
		return parts.Problemf(parts.Busy, "disk-failing", "The disk with the shop's file gives errors.").
			Next("Look at that disk and its cable, and copy the newest backup to another disk. Phones keep their scans and send them again by themselves.").Because(err)
	case "file-damaged":
		return parts.Problemf(parts.Busy, "file-damaged", "The shop's file is damaged.").
			Next("Stop the server and put the newest backup back with benchtally restore. Phones keep their scans and send them again by themselves.").Because(err)
	}
	return nil
}

// Extended codes of SQLite that say more than their first byte.
const (
	badData   = sqlite3.ErrNoExtended(10 | 32<<8) // SQLITE_IOERR_DATA
	badSystem = sqlite3.ErrNoExtended(10 | 33<<8) // SQLITE_IOERR_CORRUPTFS
	shortRead = sqlite3.ErrNoExtended(10 | 2<<8)  // SQLITE_IOERR_SHORT_READ
)

// diskFault names the fault of the disk or the file in err, "" for none. The
// result codes: https://www.sqlite.org/rescode.html.
func diskFault(err error) string {
	var e sqlite3.Error
	if !errors.As(err, &e) {
		return systemFault(err)
	}
	switch e.Code {
	case sqlite3.ErrFull:
		return "disk-full"
	case sqlite3.ErrReadonly:
		return "disk-read-only"
	case sqlite3.ErrBusy, sqlite3.ErrLocked, sqlite3.ErrProtocol:
		return "file-locked"
	case sqlite3.ErrCorrupt, sqlite3.ErrNotADB:
		return "file-damaged"
	case sqlite3.ErrIoErr, sqlite3.ErrCantOpen:
		switch e.ExtendedCode {
		case badData, badSystem, shortRead:
			return "file-damaged"
		}
		if fault := systemFault(e.SystemErrno); fault != "" {
			return fault
		}
		return "disk-failing"
	}
	return ""
}

// systemFault is diskFault for what the operating system says.
func systemFault(err error) string {
	switch {
	case errors.Is(err, syscall.ENOSPC), errors.Is(err, syscall.EDQUOT), errors.Is(err, syscall.EFBIG):
		return "disk-full"
	case errors.Is(err, syscall.EROFS), errors.Is(err, syscall.EACCES):
		return "disk-read-only"
	case errors.Is(err, syscall.EIO):
		return "disk-failing"
	}
	return ""
}
