package store_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// Who may no longer use the file is told what to type, and it works.
func TestADamagedFileNamesItsNewestBackup(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s := openShop(t)
	for i := range 1200 { // a start reads the last thousand
		_, err := s.bore(s.marks[i%8])
		require.NoError(t, err)
	}
	folder := filepath.Join(t.TempDir(), "a stick")
	require.NoError(t, os.Mkdir(folder, 0o755))
	plan := store.PlanBackups(s.dsn, folder, 24*time.Hour, 3)
	require.NoError(t, s.RememberFolder(ctx, folder))
	older, newest := plan.Name(noon.Add(-30*time.Hour)), plan.Name(noon.Add(-6*time.Hour))
	for _, file := range []string{older, newest} {
		_, err := s.Backup(ctx, file)
		require.NoError(t, err)
	}
	then := s.events()
	_, err := s.bore(s.marks[0])
	require.NoError(t, err)
	require.NoError(t, s.Close())
	data, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	spoil(t, s, data)
	require.NoError(t, os.WriteFile(s.dsn, data, 0o644))

	line := "benchtally restore -db " + s.dsn + ` -from "` + newest + `" -replace`
	refused := func(o store.Options) string {
		o.Alone, o.Furniture, o.Clock = true, furniture, s.clock.Now
		_, err := store.Open(ctx, s.dsn, o)
		require.Equal(t, "file-damaged", parts.CodeOf(err), "%v", err)
		return err.Error()
	}
	assert.Contains(t, refused(store.Options{}), line, "the file remembers where they are")
	s.Store = s.open()
	found, err := s.Check(ctx)
	require.NoError(t, err)
	assert.Contains(t, s.Sound(found).Error(), line)
	require.NoError(t, s.Close())

	require.NoError(t, os.WriteFile(s.dsn, []byte(strings.Repeat("oak ", 4096)), 0o644))
	assert.Contains(t, refused(store.Options{}), "-from FILE -replace", "nothing of the file can be read")
	assert.Contains(t, refused(store.Options{Backups: folder}), line, "a server was told the folder")
	assert.Contains(t, refused(store.Options{Backups: t.TempDir()}), "-from FILE -replace", "there is none")

	_, err = restore(s, newest, true)
	require.NoError(t, err)
	s.Store = s.open()
	assert.Equal(t, then, s.events())
}

// Who copies the shop onto the stick by hand gives the copy a name.
func TestABackupUnderAnyNameIsFoundWhenItHasMore(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	s, other := openShop(t), openShop(t)
	folder := t.TempDir()
	require.NoError(t, s.RememberFolder(ctx, folder))
	in := func(name string) string { return filepath.Join(folder, name) }
	backUp := func(s *shop, file string) {
		for range 300 {
			_, err := s.bore(s.marks[0])
			require.NoError(t, err)
		}
		_, err := s.Backup(ctx, file)
		require.NoError(t, err)
	}
	planned := store.PlanBackups(s.dsn, folder, 24*time.Hour, 3).Name(noon.Add(-time.Hour))
	backUp(s, in("sunday.db"))
	backUp(s, planned)
	backUp(s, in("monday.db"))
	backUp(s, in("tuesday.db"))
	backUp(s, in("notes.txt"))
	backUp(other, in("another shop.db"))
	backUp(other, in("another shop 2.db"))
	for range 900 {
		_, err := s.bore(s.marks[1])
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	for _, file := range []string{s.dsn, in("tuesday.db")} {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		spoil(t, s, data)
		require.NoError(t, os.WriteFile(file, data, 0o644))
	}
	named := func() string {
		_, err := store.Open(ctx, s.dsn, store.Options{Alone: true, Furniture: furniture, Clock: s.clock.Now})
		require.Equal(t, "file-damaged", parts.CodeOf(err), "%v", err)
		return err.Error()
	}
	assert.Contains(t, named(), " -from "+in("monday.db")+" ", "tuesday's is damaged")
	require.NoError(t, os.Remove(in("monday.db")))
	assert.Contains(t, named(), " -from "+planned+" ", "sunday's has less")
}

// Two shops whose files have one name may use one stick.
func TestABackupOfAnotherShopIsLeftAlone(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has tools of its own")
	folder := t.TempDir()
	one, other := openShop(t), openShop(t)
	origin := func(s *shop) string {
		origin, err := s.Origin(ctx)
		require.NoError(t, err)
		return origin
	}
	plan := store.PlanBackups(one.dsn, folder, 24*time.Hour, 1)
	require.Equal(t, plan, store.PlanBackups(other.dsn, folder, 24*time.Hour, 1))
	hours := func(n int) string { return plan.Name(noon.Add(time.Duration(n) * time.Hour)) }
	backUp := func(s *shop, file string) {
		_, err := s.Backup(ctx, file)
		require.NoError(t, err)
	}
	backUp(one, hours(-8))
	backUp(one, hours(-7))
	backUp(other, hours(-2))
	broken, making := hours(-30)+".part", hours(-1)+".part"
	require.NoError(t, errors.Join(os.WriteFile(broken, nil, 0o644), os.WriteFile(making, nil, 0o644)))

	names, newest, err := plan.Look(ctx, origin(one), noon)
	require.NoError(t, err)
	assert.Equal(t, hours(-7), newest.File)
	assert.ElementsMatch(t, []string{filepath.Base(broken), filepath.Base(hours(-8))}, plan.Expired(names))

	data, err := os.ReadFile(hours(-7))
	require.NoError(t, err)
	data[len(data)/2] ^= 4
	require.NoError(t, os.WriteFile(hours(-7), data, 0o644))
	_, newest, err = plan.Look(ctx, origin(one), noon)
	require.NoError(t, err)
	assert.Equal(t, hours(-8), newest.File, "the newest that is whole")

	require.NoError(t, one.Close())
	_, err = restore(one, hours(-2), true)
	assert.Equal(t, "backup-other", parts.CodeOf(err))
	one.Store = one.open()
	one.balanced()
}
