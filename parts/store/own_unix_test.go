//go:build unix

package store_test

import (
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// Who may read a backup and what is restored from it is who may read the shop.
func TestABackupIsAsPrivateAsTheShop(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL keeps its own files")
	s := openShop(t)
	require.NoError(t, os.Chmod(s.dsn, 0o640))
	backup := filepath.Join(t.TempDir(), "backup.db")
	_, err := s.Backup(ctx, backup)
	require.NoError(t, err)
	rights := func(file string) os.FileMode {
		info, err := os.Stat(file)
		require.NoError(t, err)
		return info.Mode().Perm()
	}
	assert.Equal(t, os.FileMode(0o640), rights(backup))
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(s.dsn, 0o600))
	if os.Geteuid() == 0 {
		require.NoError(t, os.Chown(s.dsn, 4711, 4712))
	}
	_, err = restore(s, backup, true)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), rights(s.dsn))
	if os.Geteuid() == 0 {
		info, err := os.Stat(s.dsn)
		require.NoError(t, err)
		assert.Equal(t, "4711 4712", fmt.Sprint(info.Sys().(*syscall.Stat_t).Uid, " ", info.Sys().(*syscall.Stat_t).Gid))
	}
	_, err = s.open().Backup(ctx, filepath.Dir(backup))
	assert.Equal(t, "file-folder", parts.CodeOf(err))
}
