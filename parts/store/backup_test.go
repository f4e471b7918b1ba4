package store_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

func restore(s *shop, from string, replace bool) (store.Restored, error) {
	return store.Restore(ctx, s.dsn, from, replace, noon, store.Options{Furniture: furniture, Clock: s.clock.Now})
}

// A backup that is made while eight people work is the shop of one moment,
// with its pictures.
func TestABackupWhileWorkGoesOn(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	photo := store.Photo{Type: "image/jpeg", Data: []byte("a picture of a knot")}
	sum := sha256.Sum256(photo.Data)
	photo.Name = hex.EncodeToString(sum[:])
	require.NoError(t, s.AddPhoto(ctx, photo))
	_, err := s.Backup(ctx, filepath.Join(t.TempDir(), "a stick that is not in", "copy.db"))
	require.Equal(t, "backup-folder", parts.CodeOf(err), "no folder is made on the disk that the backup is to outlive: %v", err)
	to := filepath.Join(t.TempDir(), "copy.db")
	var all sync.WaitGroup
	for i := range 8 {
		all.Go(func() {
			for range 50 {
				_, err := s.bore(s.marks[i])
				assert.NoError(t, err)
			}
		})
	}
	books, err := s.Backup(ctx, to)
	require.NoError(t, err)
	all.Wait()
	assert.Equal(t, 11, books.Parts)
	assert.Empty(t, books.Differences)
	left, err := os.ReadDir(filepath.Dir(to))
	require.NoError(t, err)
	assert.Len(t, left, 1, "the copy is one file")

	copied := &shop{t: t, dsn: to, clock: s.clock}
	copied.Store = copied.open()
	defer copied.Close()
	got, err := copied.Photo(ctx, photo.Name)
	require.NoError(t, err)
	assert.Equal(t, photo, got)
	again, err := copied.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, books, again)

	_, err = s.Backup(ctx, to)
	assert.Equal(t, "file-exists", parts.CodeOf(err), "a backup never writes over a file")
}

func TestRestore(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	then := s.events()
	backup := filepath.Join(t.TempDir(), "copy.db")
	books, err := s.Backup(ctx, backup)
	require.NoError(t, err)
	_, err = s.bore(s.marks[1])
	require.NoError(t, err)
	since := s.events()
	require.NoError(t, s.Close())

	_, err = restore(s, backup, false)
	require.Equal(t, "file-exists", parts.CodeOf(err), "it is not told to replace anything")
	done, err := restore(s, backup, true)
	require.NoError(t, err)
	assert.Equal(t, books, done.Books)
	assert.Equal(t, s.dsn+".before-restore-20260302T120000Z", done.Aside)
	s.Store = s.open()
	assert.Equal(t, then, s.events())
	s.balanced()
	require.NoError(t, s.Close())

	_, err = restore(s, done.Aside, true)
	require.Equal(t, "file-exists", parts.CodeOf(err), "one file is moved aside in a second")
	require.NoError(t, os.Remove(s.dsn))
	_, err = restore(s, done.Aside, false)
	require.NoError(t, err, "into an empty place, and what was moved aside can be put back")
	s.Store = s.open()
	assert.Equal(t, since, s.events())
}

// A shop whose computer stopped without warning has its last scans in a second
// file: moved aside they stay together, and never reach the restored one.
func TestRestoreAfterAPowerCut(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	backup := filepath.Join(t.TempDir(), "copy.db")
	_, err := s.Backup(ctx, backup)
	require.NoError(t, err)
	then := s.events()
	_, err = s.bore(s.marks[0])
	require.NoError(t, err)
	since := s.events()
	cut := &shop{t: t, dsn: filepath.Join(t.TempDir(), "shop.db"), clock: s.clock, marks: s.marks}
	for _, end := range []string{"", "-wal", "-shm"} {
		data, err := os.ReadFile(s.dsn + end)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(cut.dsn+end, data, 0o644))
	}
	done, err := restore(cut, backup, true)
	require.NoError(t, err)
	cut.Store = cut.open()
	assert.Equal(t, then, cut.events())
	cut.balanced()
	require.NoError(t, cut.Close())
	cut.dsn = done.Aside
	cut.Store = cut.open()
	defer cut.Close()
	assert.Equal(t, since, cut.events(), "the scans of the second file are with the old one")
}

func TestWhatIsNotRestored(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	backup := filepath.Join(t.TempDir(), "copy.db")
	_, err = s.Backup(ctx, backup)
	require.NoError(t, err)
	before := s.events()
	require.NoError(t, s.Close())
	whole, err := os.ReadFile(backup)
	require.NoError(t, err)
	changed := func(statements ...string) string {
		file := filepath.Join(t.TempDir(), "changed.db")
		require.NoError(t, os.WriteFile(file, whole, 0o644))
		db := (&shop{t: t, dsn: file}).raw()
		for _, st := range statements {
			_, err := db.Exec(st)
			require.NoError(t, err)
		}
		return file
	}
	written := func(data []byte) string {
		file := filepath.Join(t.TempDir(), "written.db")
		require.NoError(t, os.WriteFile(file, data, 0o644))
		return file
	}
	tests := []struct{ name, from, code string }{
		{"no file", filepath.Join(t.TempDir(), "missing.db"), "backup-missing"},
		{"a folder", t.TempDir(), "file-folder"},
		{"half a file", written(whole[:len(whole)/2]), "file-damaged"},
		{"a letter", written([]byte("Dear client, the locker fronts are ready.")), "file-damaged"},
		{"an empty file", written(nil), "no-shop"},
		{"another program's database", changed("DROP TABLE part_states"), "no-shop"},
		{"a newer program's", changed("INSERT INTO goose_db_version (version_id, is_applied) VALUES (9999, TRUE)"), "database-newer"},
		{"a state that its history does not give", changed("UPDATE part_states SET seq = seq + 1 WHERE part = (SELECT part FROM events WHERE kind = 'done')"), "books-differ"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := restore(s, tt.from, true)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			s.Store = s.open()
			assert.Equal(t, before, s.events(), "the shop's file is untouched")
			require.NoError(t, s.Close())
			left, err := filepath.Glob(s.dsn + ".*")
			require.NoError(t, err)
			assert.Subset(t, []string{s.dsn + ".lock"}, left, "nothing half made is left")
		})
	}
	t.Run("while the server runs", func(t *testing.T) {
		running, err := store.Open(ctx, s.dsn, store.Options{Alone: true, Furniture: furniture})
		require.NoError(t, err)
		defer running.Close()
		_, err = restore(s, backup, true)
		require.Equal(t, "server-running", parts.CodeOf(err))
	})
}

// A backup of every released version is restored by this program.
func TestOldBackupsAreRestored(t *testing.T) {
	shoptest.NeedSQLite(t, "a saved database is a file")
	files, err := filepath.Glob(filepath.Join(saved, "*.db"))
	require.NoError(t, err)
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			s := &shop{t: t, dsn: shoptest.DSN(t), clock: shoptest.NewClock()}
			done, err := restore(s, file, false)
			require.NoError(t, err)
			assert.Greater(t, done.Books.Events, 40)
			s.Store = s.open()
			s.balanced()
			require.NoError(t, s.Close())
		})
	}
}

// A shop of many megabytes is copied in steps while people scan all the time:
// it is the shop of one moment all the same, and it ends.
func TestALargeBackupWhileWorkGoesOn(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	for i := range 8 {
		data := bytes.Repeat([]byte{byte(i), 1, 2, 3}, 1<<18) // a megabyte, of four steps
		sum := sha256.Sum256(data)
		require.NoError(t, s.AddPhoto(ctx, store.Photo{Type: "image/jpeg", Data: data, Name: hex.EncodeToString(sum[:])}))
	}
	working, stop := context.WithCancel(ctx)
	var all sync.WaitGroup
	var bored atomic.Int64
	for i := range 4 {
		all.Go(func() {
			for working.Err() == nil {
				_, err := s.bore(s.marks[i])
				assert.NoError(t, err)
				bored.Add(1)
			}
		})
	}
	to := filepath.Join(t.TempDir(), "copy.db")
	before := bored.Load()
	books, err := s.Backup(ctx, to)
	during := bored.Load() - before
	stop()
	all.Wait()
	require.NoError(t, err)
	assert.Empty(t, books.Differences)
	assert.Greater(t, during, int64(20), "they went on meanwhile")
	copied := &shop{t: t, dsn: to, clock: s.clock}
	copied.Store = copied.open()
	defer copied.Close()
	again, err := copied.Check(ctx)
	require.NoError(t, err)
	assert.Equal(t, books, again)
}

func TestABackupThatIsBrokenOff(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	stopped, stop := context.WithCancel(ctx)
	stop()
	to := filepath.Join(t.TempDir(), "copy.db")
	_, err := s.Backup(stopped, to)
	require.ErrorIs(t, err, context.Canceled)
	left, err := os.ReadDir(filepath.Dir(to))
	require.NoError(t, err)
	assert.Empty(t, left, "nothing half made is left")
}
