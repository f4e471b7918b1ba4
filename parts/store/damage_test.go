package store_test

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

const pageSize = 4096

// wholeFile is the content of a shop's file in which nothing is missing.
func wholeFile(t *testing.T) []byte {
	t.Helper()
	shoptest.NeedSQLite(t, "PostgreSQL looks after its own pages")
	s := &shop{t: t, dsn: shoptest.DSN(t), clock: shoptest.NewClock()}
	_, err := restore(s, filepath.Join(saved, thisVersion), false)
	require.NoError(t, err)
	whole, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(t.TempDir(), "whole.db"), whole, 0o644))
	return whole
}

// Copies of a shop's file that were damaged in many ways: each is refused by a
// server, and found by a check.
func TestDamagedCopiesAreFound(t *testing.T) {
	whole := wholeFile(t)
	pages := len(whole) / pageSize
	page := func(data []byte, i int) []byte { return data[i*pageSize : (i+1)*pageSize] }
	tests := []struct {
		name   string
		times  uint64
		damage func(r *rand.Rand, data []byte) []byte
	}{
		{"not at all", 1, func(r *rand.Rand, data []byte) []byte { return data }},
		{"a flipped bit", 200, func(r *rand.Rand, data []byte) []byte {
			bit := r.IntN(len(data) * 8)
			data[bit/8] ^= 1 << (bit % 8)
			return data
		}},
		{"cut short", 20, func(r *rand.Rand, data []byte) []byte { return data[:1+r.IntN(len(data)-1)] }},
		{"cut between pages", 30, func(r *rand.Rand, data []byte) []byte { return data[:(1+r.IntN(pages-1))*pageSize] }},
		{"a page of noise", 20, func(r *rand.Rand, data []byte) []byte {
			for i, at := 0, page(data, r.IntN(pages)); i < len(at); i++ {
				at[i] = byte(r.Uint32())
			}
			return data
		}},
		{"a page of zeros", 20, func(r *rand.Rand, data []byte) []byte {
			clear(page(data, r.IntN(pages)))
			return data
		}},
		{"two pages exchanged", 20, func(r *rand.Rand, data []byte) []byte {
			which := r.Perm(pages)
			one := slices.Clone(page(data, which[0]))
			copy(page(data, which[0]), page(data, which[1]))
			copy(page(data, which[1]), one)
			return data
		}},
		{"the word that says there are sums", 8, func(r *rand.Rand, data []byte) []byte {
			data[20] ^= 1 << r.IntN(8)
			return data
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			for seed := range tt.times {
				file := filepath.Join(t.TempDir(), "copy.db")
				data := tt.damage(rand.New(rand.NewPCG(seed, 1)), slices.Clone(whole))
				require.NoError(t, os.WriteFile(file, data, 0o644))
				refused, found := refusedToServe(file), foundByCheck(file)
				assert.Equal(t, tt.name != "not at all", refused, "seed %d: a server", seed)
				assert.Equal(t, tt.name != "not at all", found, "seed %d: a check", seed)
			}
		})
	}
}

// Whatever bit it is, in any page.
func TestEveryFlippedBitIsFound(t *testing.T) {
	whole := wholeFile(t)
	file := filepath.Join(t.TempDir(), "copy.db")
	rapid.Check(t, func(t *rapid.T) {
		data := slices.Clone(whole)
		bit := rapid.IntRange(0, 8*len(data)-1).Draw(t, "bit")
		data[bit/8] ^= 1 << (bit % 8)
		require.NoError(t, os.WriteFile(file, data, 0o644))
		defer os.Remove(file + "-wal")
		require.True(t, foundByCheck(file))
	})
}

// refusedToServe reports whether a server does not start on a file because it
// is damaged.
func refusedToServe(file string) bool {
	s, err := store.Open(ctx, file, store.Options{Alone: true, Furniture: furniture})
	if err != nil {
		return parts.CodeOf(err) == "file-damaged"
	}
	s.Close()
	return false
}

// foundByCheck reports whether a check says that a file is damaged.
func foundByCheck(file string) bool {
	s, err := store.Open(ctx, file, store.Options{Furniture: furniture})
	if err != nil {
		return parts.CodeOf(err) == "file-damaged"
	}
	defer s.Close()
	books, err := s.Check(ctx)
	return parts.CodeOf(s.Explain(err)) == "file-damaged" || parts.CodeOf(books.Sound(file)) == "file-damaged"
}

// A backup reads every page: it may be the first to meet one that the disk has
// changed, and then the shop's file is what is wrong, not the backup's disk.
func TestABackupFindsADamagedPage(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL looks after its own pages")
	s := openShop(t)
	require.NoError(t, s.Close())
	s.Store = s.open()
	info, err := os.Stat(s.dsn)
	require.NoError(t, err)
	f, err := os.OpenFile(s.dsn, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.WriteAt([]byte("worm"), info.Size()-2048)
	require.NoError(t, err)
	_, err = s.Backup(ctx, filepath.Join(t.TempDir(), "copy.db"))
	require.Equal(t, "file-damaged", parts.CodeOf(err), "%v", err)
	s.NoteBackup(err)
	require.Len(t, s.Conditions(), 1)
	assert.Equal(t, "file-damaged", s.Conditions()[0].Code)
	_, err = s.bore(s.marks[0])
	assert.Equal(t, "file-damaged", parts.CodeOf(err), "nothing is written into it any more")
}

// A disk that changes a page under a running server: what it says of the page
// is that the file is damaged, never what is in it, and the floor says so too.
// A backup is not made of it.
func TestARunningServerDoesNotServeADamagedPage(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL looks after its own pages")
	s := openShop(t)
	photo := store.Photo{Type: "image/jpeg", Data: bytes.Repeat([]byte("a knot beside the tenon "), 1000)}
	sum := sha256.Sum256(photo.Data)
	photo.Name = hex.EncodeToString(sum[:])
	require.NoError(t, s.AddPhoto(ctx, photo))
	require.NoError(t, s.Close())
	s.Store = s.open()
	data, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	at := bytes.LastIndex(data, []byte("beside the tenon"))
	require.Positive(t, at, "it is in the file")
	f, err := os.OpenFile(s.dsn, os.O_WRONLY, 0)
	require.NoError(t, err)
	defer f.Close()
	_, err = f.WriteAt([]byte{data[at] ^ 1}, int64(at))
	require.NoError(t, err)

	_, err = s.Photo(ctx, photo.Name)
	require.Equal(t, "file-damaged", parts.CodeOf(s.Explain(err)), "%v", err)
	require.Equal(t, "file-damaged", s.Conditions()[0].Code)
	books, err := s.Check(ctx)
	require.NoError(t, err)
	require.Len(t, books.Damage, 1)
	assert.Contains(t, books.Damage[0], "does not agree with its sum")
	backup := filepath.Join(t.TempDir(), "copy.db")
	_, err = s.Backup(ctx, backup)
	require.Equal(t, "file-damaged", parts.CodeOf(s.Explain(err)), "%v", err)
	assert.NoFileExists(t, backup)
}

// A copy of a file with its write-ahead log, as a computer that stopped without
// warning leaves it. A flipped bit of what is in the log is told, but for the
// last two transactions: it may be what a power cut left of one that nobody was
// told of.
func TestADamagedLogIsNotTakenToEndThere(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL has a log of its own")
	s := openShop(t)
	before := 0
	for i := range 60 {
		_, err := s.bore(s.marks[i%8])
		require.NoError(t, err)
		if i == 57 {
			info, err := os.Stat(s.dsn + "-wal")
			require.NoError(t, err)
			before = int(info.Size())
		}
	}
	whole, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	log, err := os.ReadFile(s.dsn + "-wal")
	require.NoError(t, err)
	require.Greater(t, len(log), before)
	file := filepath.Join(t.TempDir(), "copy.db")
	put := func(log []byte) {
		require.NoError(t, os.WriteFile(file, whole, 0o644))
		require.NoError(t, os.WriteFile(file+"-wal", log, 0o644))
		os.Remove(file + "-shm")
	}
	put(log)
	require.False(t, refusedToServe(file))
	put(log[:len(log)-100])
	require.False(t, refusedToServe(file), "a power cut is no damage")
	rapid.Check(t, func(t *rapid.T) {
		changed := slices.Clone(log)
		bit := rapid.IntRange(0, 8*before-1).Draw(t, "bit")
		changed[bit/8] ^= 1 << (bit % 8)
		put(changed)
		require.True(t, refusedToServe(file))
		require.True(t, foundByCheck(file), "and it is told again")
		left, err := os.ReadFile(file + "-wal")
		require.NoError(t, err)
		require.Equal(t, changed, left, "what can still be read is kept")
	})
}
