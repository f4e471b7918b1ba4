package store_test

import (
	"encoding/json"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

func openStore(t *testing.T, dsn string) *store.Store {
	t.Helper()
	s, err := store.Open(ctx, dsn, store.Options{Clock: func() time.Time { return shoptest.Noon },
		Furniture: store.Furniture{Products: []store.Product{{Key: "shellac", Body: json.RawMessage(`{"key":"shellac"}`)}}}})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestReadingsAreKeptInTheOrderTheyCame(t *testing.T) {
	s := openStore(t, shoptest.DSN(t))
	early, late := shoptest.Noon.Add(-2*time.Hour), shoptest.Noon.Add(-time.Hour)
	require.NoError(t, s.AddReadings(ctx, "Ann", []store.Reading{{At: late, Celsius: 19.5, Humidity: 55.25, Source: "person"}}))
	require.NoError(t, s.AddReadings(ctx, "", []store.Reading{{Place: "topcoat", At: early, Celsius: -4.5, Humidity: 80, Source: "sensor"}}))
	all, err := s.ReadingsAfter(ctx, 0, time.Time{}.AddDate(2000, 0, 0))
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, []any{late, 19.5, 55.25, "person", ""}, []any{all[0].At, all[0].Celsius, all[0].Humidity, all[0].Source, all[0].Place})
	assert.NotZero(t, all[0].Who)
	assert.Equal(t, []any{early, "topcoat", int64(0)}, []any{all[1].At, all[1].Place, all[1].Who})
	since, err := s.ReadingsAfter(ctx, all[0].ID, early)
	require.NoError(t, err)
	assert.Equal(t, all[1:], since)
	since, err = s.ReadingsAfter(ctx, 0, late)
	require.NoError(t, err)
	assert.Equal(t, all[:1], since, "what is from before is not read")
	newest, err := s.LastReadings(ctx, 1)
	require.NoError(t, err)
	assert.Equal(t, all[:1], newest, "the newest by its own time")
}

// The version of the air is what a server asks before it judges: another one
// of the same database may have put something in.
func TestTheAirHasAVersion(t *testing.T) {
	dsn := shoptest.DSN(t)
	s, other := openStore(t, dsn), openStore(t, dsn)
	before := s.KnownAir()
	require.NoError(t, other.AddReadings(ctx, "", []store.Reading{{At: shoptest.Noon, Celsius: 20, Humidity: 50, Source: "sensor"}}))
	after, err := s.AirVersion(ctx)
	require.NoError(t, err)
	assert.Greater(t, after.Readings, before.Readings)
	assert.Equal(t, after, s.KnownAir())
	require.NoError(t, s.SaveUsualAir(ctx, `{"celsius":18}`))
	assert.NotEqual(t, after, s.KnownAir())
	kept, err := s.UsualAir(ctx)
	require.NoError(t, err)
	assert.JSONEq(t, `{"celsius":18}`, kept)
}

func TestVersionsOfAProductAreNeverChanged(t *testing.T) {
	s := openStore(t, shoptest.DSN(t))
	second, err := s.SaveProduct(ctx, store.Product{Key: "shellac", Version: 1, Body: json.RawMessage(`{"key":"shellac","cure":60}`)})
	require.NoError(t, err)
	assert.Equal(t, 2, second.Version)
	_, err = s.SaveProduct(ctx, store.Product{Key: "shellac", Version: 1, Body: json.RawMessage(`{}`)})
	assert.Equal(t, "product-stale", parts.CodeOf(err), "somebody else was faster")
	_, err = s.SaveProduct(ctx, store.Product{Key: "shellac", Body: json.RawMessage(`{}`)})
	assert.Equal(t, "product-there", parts.CodeOf(err))
	all, err := s.Products(ctx)
	require.NoError(t, err)
	var bodies []string
	for _, p := range all {
		bodies = append(bodies, fmt.Sprint(p.Key, p.Version, string(p.Body)))
	}
	assert.Equal(t, []string{`shellac1{"key":"shellac"}`, `shellac2{"key":"shellac","cure":60}`}, bodies)
}
