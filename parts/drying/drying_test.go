package drying

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts/air"
)

var noon = time.Date(2024, 3, 4, 12, 0, 0, 0, time.UTC)

// deficit is the real one.
func deficit(celsius, humidity float64) float64 {
	return air.Air{Celsius: celsius, Humidity: humidity}.Deficit()
}

// fair is air in which products of the tests go as their data sheet says.
var fair = Reading{Celsius: 20, Humidity: 50}

func newGauge(t require.TestingT, readings ...Reading) *Gauge {
	g, err := NewGauge(deficit, fair)
	require.NoError(t, err)
	require.NoError(t, g.Add(readings...))
	return g
}

// airAt is a reading hours after a moment.
func airAt(from time.Time, hours, celsius, humidity float64) Reading {
	return Reading{At: from.Add(time.Duration(hours * float64(time.Hour))), Celsius: celsius, Humidity: humidity}
}

var (
	varnish = Product{Key: "varnish", Name: "Varnish", Kind: Clear, Celsius: 20, Humidity: 50, Lowest: 8, Recoat: 720, Cure: 2880}
	water   = Product{Key: "water", Name: "Water-borne clear", Kind: Clear, Celsius: 23, Humidity: 50, Lowest: 5, Evaporates: true, Recoat: 240, Cure: 2880}
)

// readTable reads a CSV file of numbers of testdata/drying.
func readTable(t *testing.T, name string) [][]float64 {
	t.Helper()
	f, err := os.Open("../../testdata/drying/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, rows)
	out := make([][]float64, len(rows))
	for i, row := range rows {
		for _, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			require.NoError(t, err)
			out[i] = append(out[i], v)
		}
	}
	return out
}
