package store_test

import (
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// Copies of a shop's file that were damaged in many ways. Cut short, or with a
// page of noise, each is refused or found by a check, unless the noise fell on
// what says nothing. SQLite keeps no sums of its pages, so one flipped bit of a
// text may go unnoticed; but whatever cannot be read any more is found.
func TestDamagedCopiesAreFound(t *testing.T) {
	shoptest.NeedSQLite(t, "PostgreSQL looks after its own pages")
	s := &shop{t: t, dsn: shoptest.DSN(t), clock: shoptest.NewClock()}
	_, err := restore(s, filepath.Join(saved, thisVersion), false)
	require.NoError(t, err)
	whole, err := os.ReadFile(s.dsn)
	require.NoError(t, err)
	content, err := allIn(s.dsn)
	require.NoError(t, err)
	const page = 4096
	tests := []struct {
		name   string
		damage func(r *rand.Rand, data []byte) []byte
	}{
		{"cut short", func(r *rand.Rand, data []byte) []byte { return data[:1+r.IntN(len(data)-1)] }},
		{"a page of noise", func(r *rand.Rand, data []byte) []byte {
			at := r.IntN(len(data)/page) * page
			for i := range page {
				data[at+i] = byte(r.Uint32())
			}
			return data
		}},
		{"a flipped bit", func(r *rand.Rand, data []byte) []byte {
			bit := r.IntN(len(data) * 8)
			data[bit/8] ^= 1 << (bit % 8)
			return data
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			found, harmless, other := 0, 0, 0
			for seed := range uint64(60) {
				file := filepath.Join(t.TempDir(), "copy.db")
				data := tt.damage(rand.New(rand.NewPCG(seed, 1)), slices.Clone(whole))
				require.NoError(t, os.WriteFile(file, data, 0o644))
				got, err := allIn(file)
				switch {
				case told(file):
					found++
				case err != nil:
					assert.NoError(t, err, "seed %d: it cannot be read, and nobody says so", seed)
				case got == content:
					harmless++
				default:
					other++
					assert.Equal(t, "a flipped bit", tt.name, "seed %d: it says something else, and nobody says so", seed)
				}
			}
			t.Logf("%d found, %d harmless, %d say something else", found, harmless, other)
			assert.Positive(t, found)
		})
	}
}

// told reports whether a server refuses a file, or a check finds something in
// it.
func told(file string) bool {
	s, err := store.Open(ctx, file, store.Options{Alone: true, Furniture: furniture})
	if err != nil {
		return true
	}
	defer s.Close()
	books, err := s.Check(ctx)
	return err != nil || books.Sound(file) != nil
}

// allIn is every row of a file.
func allIn(file string) (string, error) {
	db, err := sql.Open("sqlite3", "file:"+file+"?mode=ro&immutable=1")
	if err != nil {
		return "", err
	}
	defer db.Close()
	names, err := rowsOf(db, "SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name")
	if err != nil {
		return "", err
	}
	var out strings.Builder
	for _, name := range names {
		rows, err := rowsOf(db, "SELECT * FROM "+strings.Trim(name, "[]"))
		if err != nil {
			return "", err
		}
		fmt.Fprintln(&out, name, rows)
	}
	return out.String(), nil
}

// rowsOf gives the rows of a query as text.
func rowsOf(db *sql.DB, query string) (out []string, err error) {
	rows, err := db.Query(query)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	columns, err := rows.Columns()
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		row, to := make([]any, len(columns)), make([]any, len(columns))
		for i := range row {
			to[i] = &row[i]
		}
		if err := rows.Scan(to...); err != nil {
			return nil, err
		}
		out = append(out, fmt.Sprint(row))
	}
	return out, rows.Err()
}
