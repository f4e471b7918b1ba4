package store_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// openFileShop opens a shop in a file, whatever the other tests run on.
func openFileShop(t *testing.T) *shop {
	s := openShopIn(t, filepath.Join(t.TempDir(), "shop.db"))
	for range 3 {
		for _, id := range s.marks {
			_, err := s.bore(id)
			require.NoError(t, err)
		}
	}
	require.NoError(t, s.SaveStation(ctx, parts.StationRow{Key: "lathe", Name: "at the lathe — 6 °C", Place: 2}))
	require.NoError(t, s.AddReadings(ctx, "Ann", []store.Reading{{At: noon, Celsius: 19.7, Humidity: 41.3, Source: "person"}}))
	return s
}

func TestAShopIsMovedToPostgresAndBack(t *testing.T) {
	needPostgres(t)
	s := openFileShop(t)
	require.NoError(t, s.Close())
	there, back := shoptest.DSN(t), filepath.Join(t.TempDir(), "back.db")
	one, err := store.Move(ctx, s.dsn, there)
	require.NoError(t, err)
	two, err := store.Move(ctx, there, back)
	require.NoError(t, err)
	assert.Equal(t, one, two)
	assert.Equal(t, 11, one.Books.Parts, "eight rails, two spares and their ticket")
	assert.Equal(t, 41, one.Books.Events)
	assert.Empty(t, one.Books.Differences)

	for _, dsn := range []string{there, back} {
		moved := &shop{t: t, dsn: dsn, clock: s.clock, job: s.job, marks: s.marks}
		moved.Store = moved.open()
		assert.Equal(t, 3, moved.state(s.marks[0]).Next)
		_, err := moved.bore(s.marks[0])
		require.NoError(t, err, "work goes on")
		_, err = moved.CreateJob(ctx, command("list"), store.NewJob{Name: "More", Code: "MORE", Lines: []parts.Line{
			{Kind: parts.Single, Name: "Stile", Quantity: 1, Steps: 1},
		}}, moved.list)
		require.NoError(t, err, "and what is new gets numbers of its own")
		moved.balanced()
		require.NoError(t, moved.Close())
	}
}

func TestAShopIsNotMovedWhereOneIs(t *testing.T) {
	needPostgres(t)
	s := openFileShop(t)
	require.NoError(t, s.Close())
	server, err := store.Open(ctx, s.dsn, store.Options{Alone: true})
	require.NoError(t, err)
	_, err = store.Move(ctx, s.dsn, shoptest.DSN(t))
	require.Equal(t, "server-running", parts.CodeOf(err), "the file is in use")
	require.NoError(t, server.Close())
	other := openShop(t)
	_, err = store.Move(ctx, s.dsn, other.dsn)
	require.Equal(t, "target-not-empty", parts.CodeOf(err))
	other.balanced()
}

func TestWhatPostgresCannotTakeIsNamed(t *testing.T) {
	needPostgres(t)
	tests := []struct{ name, spoil, said string }{
		{"a NUL", `UPDATE people SET name = 'A' || char(0) || 'nn' WHERE id = 1`, "the column name of the row with id 1 holds a NUL character"},
		{"no UTF-8", `UPDATE jobs SET name = CAST(x'4c6fff' AS TEXT)`, "the column name of the row with id 1 holds bytes that are no UTF-8 text"},
		{"text for a number", `UPDATE stations SET place = 'last' WHERE key = 'lathe'`, `the column place of the row with key "lathe" holds text in a column of bigint`},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := openFileShop(t)
			_, err := s.raw().Exec(tt.spoil)
			require.NoError(t, err)
			require.NoError(t, s.Close())
			there := shoptest.DSN(t)
			_, err = store.Move(ctx, s.dsn, there)
			require.Equal(t, "row-not-taken", parts.CodeOf(err), "%v", err)
			assert.Contains(t, err.Error(), tt.said)
			empty, err := store.Open(ctx, there, store.Options{})
			require.NoError(t, err)
			stations, err := empty.Stations(ctx)
			require.NoError(t, err)
			assert.Empty(t, stations, "nothing was written")
			require.NoError(t, empty.Close())
		})
	}
}

func TestAShopThatDoesNotBalanceIsNotMoved(t *testing.T) {
	needPostgres(t)
	s := openShop(t)
	_, err := s.raw().Exec("UPDATE part_states SET open = 0 WHERE part = $1", string(s.marks[3]))
	require.NoError(t, err)
	to := filepath.Join(t.TempDir(), "new.db")
	_, err = store.Move(ctx, s.dsn, to)
	require.ErrorContains(t, err, "check what is to be moved")
	_, err = os.Stat(to)
	assert.ErrorIs(t, err, os.ErrNotExist)
	require.NoError(t, s.Rebuild(ctx))
}
