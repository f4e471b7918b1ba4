package shoptest

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// The bytes of a frame in SQLite's write-ahead log: a header and a page
// (https://www.sqlite.org/fileformat2.html#the_write_ahead_log), and after how
// many of them the log is written from its start again.
const (
	frameSize = 24 + 4096
	logFrames = 4000
)

// Frames gives a function that does what the smallest commit must: one thread
// writes two frames of a write-ahead log and waits with fdatasync until they
// are on the disk. Nothing is computed and no database is asked, so its rate,
// F, is what the disk can do. The file lies where the databases of tests do.
func Frames(t testing.TB) func() {
	t.Helper()
	f, err := os.Create(filepath.Join(t.TempDir(), "frames"))
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, f.Close()) })
	one := make([]byte, frameSize)
	at := int64(0)
	write := func() {
		for i := range one {
			one[i] ^= byte(at)
		}
		_, err := f.WriteAt(one, at%logFrames*frameSize)
		require.NoError(t, err)
		at++
	}
	for range logFrames { // a log that has been through once is as long as it gets
		write()
	}
	require.NoError(t, f.Sync())
	return func() {
		write()
		write()
		require.NoError(t, datasync(f))
	}
}
