package store_test

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"sync"
	"syscall"
	"testing"

	"github.com/mattn/go-sqlite3"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// The codes: https://www.sqlite.org/rescode.html.
func TestFaultsOfTheDiskHaveSentences(t *testing.T) {
	ioErr := func(extended int, errno syscall.Errno) error {
		return sqlite3.Error{Code: sqlite3.ErrIoErr, ExtendedCode: sqlite3.ErrNoExtended(extended), SystemErrno: errno}
	}
	tests := []struct {
		name string
		err  error
		code string
	}{
		{"SQLITE_FULL", sqlite3.Error{Code: sqlite3.ErrFull}, "disk-full"},
		{"SQLITE_IOERR_WRITE for want of room", ioErr(778, syscall.ENOSPC), "disk-full"},
		{"SQLITE_IOERR_WRITE over a quota", ioErr(778, syscall.EDQUOT), "disk-full"},
		{"SQLITE_IOERR_WRITE beyond the largest file", ioErr(778, syscall.EFBIG), "disk-full"},
		{"SQLITE_IOERR_WRITE on a disk that became read-only", ioErr(778, syscall.EROFS), "disk-read-only"},
		{"SQLITE_READONLY", sqlite3.Error{Code: sqlite3.ErrReadonly}, "disk-read-only"},
		{"SQLITE_CANTOPEN on a read-only disk", sqlite3.Error{Code: sqlite3.ErrCantOpen, SystemErrno: syscall.EROFS}, "disk-read-only"},
		{"SQLITE_BUSY", sqlite3.Error{Code: sqlite3.ErrBusy}, "file-locked"},
		{"SQLITE_LOCKED", sqlite3.Error{Code: sqlite3.ErrLocked}, "file-locked"},
		{"SQLITE_IOERR_FSYNC", ioErr(1034, syscall.EIO), "disk-failing"},
		{"SQLITE_IOERR_READ", ioErr(266, syscall.EIO), "disk-failing"},
		{"SQLITE_IOERR_SHORT_READ", ioErr(522, 0), "file-damaged"},
		{"SQLITE_IOERR_DATA", ioErr(8202, 0), "file-damaged"},
		{"SQLITE_IOERR_CORRUPTFS", ioErr(8458, 0), "file-damaged"},
		{"SQLITE_CORRUPT", sqlite3.Error{Code: sqlite3.ErrCorrupt}, "file-damaged"},
		{"SQLITE_NOTADB", sqlite3.Error{Code: sqlite3.ErrNotADB}, "file-damaged"},
		{"a file of our own on a full disk", &fs.PathError{Op: "write", Path: "x.part", Err: syscall.ENOSPC}, "disk-full"},
		{"SQLITE_CONSTRAINT is the program's", sqlite3.Error{Code: sqlite3.ErrConstraint}, ""},
		{"SQLITE_ERROR is the program's", sqlite3.Error{Code: sqlite3.ErrError}, ""},
		{"no file", os.ErrNotExist, ""},
		{"another", errors.New("the wire is loose"), ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			err := s.Explain(fmt.Errorf("keep command 7: %w", tt.err))
			assert.Equal(t, tt.code, parts.CodeOf(err))
			assert.ErrorIs(t, err, tt.err, "the log still gets the cause")
			if tt.code == "" {
				assert.Empty(t, s.Conditions())
				return
			}
			p := parts.AsProblem(err)
			assert.Equal(t, parts.Busy, p.Sort)
			assert.NotEmpty(t, p.Do)
			require.Len(t, s.Conditions(), 1)
			assert.True(t, s.Conditions()[0].Stops())
		})
	}
}

// A disk that takes nothing more, in three ways, and then takes something
// again: every scan is there whole or not at all, and the condition clears by
// itself.
func TestADiskThatTakesNothing(t *testing.T) {
	shoptest.NeedSQLite(t, "a file has a disk of its own")
	tests := []struct{ name, fails, works, code string }{
		{"full", "max_page_count = 1", "max_page_count = 1073741823", "disk-full"},
		{"read-only", "query_only = 1", "query_only = 0", "disk-read-only"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			signal, stop := s.Watch()
			defer stop()
			require.NoError(t, s.Pragma(tt.fails))
			refused := s.boreUntilItFails()
			require.Equal(t, tt.code, parts.CodeOf(refused), "%v", refused)
			<-signal
			events := s.events()
			var all sync.WaitGroup
			for i := range 16 {
				all.Go(func() {
					if _, err := s.bore(s.marks[i%8]); err != nil {
						assert.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
					}
				})
			}
			all.Wait()
			require.Equal(t, tt.code, s.Conditions()[0].Code)
			s.balanced()
			require.GreaterOrEqual(t, len(s.events()), len(events))

			require.NoError(t, s.Pragma(tt.works))
			s.Probe()
			require.Empty(t, s.Conditions(), "nobody had to scan for it")
			_, err := s.bore(s.marks[1])
			require.NoError(t, err)
			s.balanced()
		})
	}
}

// boreUntilItFails bores until a scan is refused.
func (s *shop) boreUntilItFails() error {
	for i := range 5000 {
		if _, err := s.bore(s.marks[i%8]); err != nil {
			return err
		}
	}
	s.t.Fatal("it takes everything")
	return nil
}

func TestAFileThatAnotherProgramHolds(t *testing.T) {
	shoptest.NeedSQLite(t, "a file may be held by others")
	s := openShop(t)
	require.NoError(t, s.Pragma("busy_timeout = 20"))
	other := s.raw()
	other.SetMaxOpenConns(1)
	_, err := other.Exec("BEGIN IMMEDIATE")
	require.NoError(t, err)
	var all sync.WaitGroup
	for i := range 4 {
		all.Go(func() {
			_, err := s.bore(s.marks[i])
			assert.Equal(t, "file-locked", parts.CodeOf(err), "%v", err)
		})
	}
	all.Wait()
	require.Equal(t, "file-locked", s.Conditions()[0].Code)
	_, err = other.Exec("ROLLBACK")
	require.NoError(t, err)
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	assert.Empty(t, s.Conditions())
	s.balanced()
}

func TestWhyABackupFailed(t *testing.T) {
	tests := []struct {
		name      string
		err       error
		says, and string
	}{
		{"its folder is gone", parts.Problemf(parts.Missing, "backup-folder", "The folder %s is not there.", "/mnt/stick").Next("Is its disk in?"), "The folder /mnt/stick is not there.", "Is its disk in?"},
		{"a full disk", fmt.Errorf("copy: %w", &fs.PathError{Op: "write", Path: "x.part", Err: syscall.ENOSPC}), "There is no room left for it.", "-keep"},
		{"SQLite's full disk", sqlite3.Error{Code: sqlite3.ErrFull}, "There is no room left for it.", "-keep"},
		{"a folder of others", &fs.PathError{Op: "open", Path: "x.part", Err: syscall.EACCES}, "Its folder cannot be written.", "who may write"},
		{"a failing disk", &fs.PathError{Op: "sync", Path: "x.part", Err: syscall.EIO}, "The disk of the backups gives errors.", "Use another disk."},
		{"anything else", errors.New("the wire is loose"), "The last backup failed.", "log says why"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openShop(t)
			s.NoteBackup(tt.err)
			all := s.Conditions()
			require.Len(t, all, 1)
			assert.Equal(t, "backup-failed", all[0].Code)
			assert.False(t, all[0].Stops())
			assert.Contains(t, all[0].Error(), "The last backup failed.")
			assert.Contains(t, all[0].Error(), tt.says)
			assert.Contains(t, all[0].Error(), tt.and)
			assert.ErrorIs(t, all[0].Problem, tt.err, "the log gets the cause")
		})
	}
}

func TestAFailedBackupIsRemembered(t *testing.T) {
	s := openShop(t)
	s.NoteBackup(errors.New("the stick is not there"))
	require.Len(t, s.Conditions(), 1)
	assert.Equal(t, "backup-failed", s.Conditions()[0].Code)
	assert.False(t, s.Conditions()[0].Stops())
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	assert.Len(t, s.Conditions(), 1, "a scan that is saved does not mend the backups")
	s.NoteBackup(nil)
	assert.Empty(t, s.Conditions())
}

// A page of the log is overwritten while the shop is closed.
func TestADamagedFileIsNotServed(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL looks after its own pages")
	s := openShop(t)
	for i := range 1200 { // a start reads the last thousand
		_, err := s.bore(s.marks[i%8])
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	data, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	spoil(t, s, data)
	require.NoError(t, os.WriteFile(s.dsn, data, 0o644))

	_, err = store.Open(ctx, s.dsn, store.Options{Alone: true, Furniture: furniture})
	require.Equal(t, "file-damaged", parts.CodeOf(err), "a server does not start on it: %v", err)
	assert.Contains(t, err.Error(), "benchtally restore -db "+s.dsn)

	s.Store = s.open()
	_, err = s.Events(ctx, s.marks[0])
	require.Equal(t, "file-damaged", parts.CodeOf(s.Explain(err)), "%v", err)
	_, err = s.bore(s.marks[1])
	require.Equal(t, "file-damaged", parts.CodeOf(err), "nothing more is written into it")
	books, err := s.Check(ctx)
	require.NoError(t, err)
	require.NotEmpty(t, books.Damage)
	require.Equal(t, "file-damaged", parts.CodeOf(books.Sound(s.dsn)))
	s.Probe()
	require.Equal(t, "file-damaged", s.Conditions()[0].Code, "it stays damaged")
}

// spoil overwrites the page with the oldest events. The form of a page:
// https://www.sqlite.org/fileformat2.html#b_tree_pages.
func spoil(t *testing.T, s *shop, data []byte) {
	t.Helper()
	db := s.raw()
	var size, root int
	require.NoError(t, db.QueryRow("PRAGMA page_size").Scan(&size))
	require.NoError(t, db.QueryRow("SELECT rootpage FROM sqlite_schema WHERE name = 'events'").Scan(&root))
	page := func(n int) []byte { return data[(n-1)*size : n*size] }
	inner := page(root)
	require.Equal(t, byte(5), inner[0], "an inner page of a table, so the log is long enough")
	cell := binary.BigEndian.Uint16(inner[12:])
	oldest := page(int(binary.BigEndian.Uint32(inner[cell:])))
	require.Equal(t, byte(13), oldest[0], "a leaf of a table")
	for i := range oldest[:100] {
		oldest[i] ^= 0x5a
	}
}
