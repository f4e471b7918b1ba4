package air

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// readTable reads a CSV file of testdata/air without its comments.
func readTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/air/" + name)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.NotEmpty(t, rows)
	return rows
}

func float(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

// The source of each value is in the file, beside it.
func TestPublishedValues(t *testing.T) {
	for _, row := range readTable(t, "values.csv") {
		a := Air{Celsius: float(t, row[1])}
		if row[2] != "" {
			a.Humidity = float(t, row[2])
		}
		got := math.NaN()
		switch row[0] {
		case "saturation_pa":
			got = a.Saturation()
		case "deficit_pa":
			got = a.Deficit()
		case "dew_point_c":
			dew, ok := a.DewPoint()
			require.True(t, ok)
			got = dew
		case "moisture_pct":
			got = a.Moisture()
		}
		assert.InDelta(t, float(t, row[3]), got, float(t, row[4]), "%v", row)
	}
}

func TestTheWholeMoistureTable(t *testing.T) {
	rows := readTable(t, "emc_table_4-2.csv")
	cells := 0
	for _, row := range rows[1:] {
		celsius := (float(t, row[0]) - 32) / 1.8
		for i, cell := range row[1:] {
			a := Air{Celsius: celsius, Humidity: float(t, rows[0][i+1][len("RH"):])}
			assert.InDelta(t, float(t, cell), a.Moisture(), 0.06, "%s °F, %s", row[0], rows[0][i+1])
			cells++
		}
	}
	assert.Equal(t, 247, cells)
}

func TestAgreesWithAReferenceLibrary(t *testing.T) {
	rows := readTable(t, "psychrolib_grid.csv")
	require.Len(t, rows[1:], 37*22)
	for _, row := range rows[1:] {
		a := Air{Celsius: float(t, row[0]), Humidity: float(t, row[1])}
		saturation := float(t, row[2])
		assert.InEpsilon(t, saturation, a.Saturation(), 1e-8, "%v", row)
		assert.InEpsilon(t, float(t, row[3]), a.Vapour(), 1e-8, "%v", row)
		assert.InDelta(t, float(t, row[4]), a.Deficit(), 1e-8*saturation, "%v", row)
		dew, ok := a.DewPoint()
		require.True(t, ok, "%v", row)
		assert.InDelta(t, float(t, row[5]), dew, 0.002, "%v", row)
	}
}

// Ice and water have the same pressure at the triple point, 611.657 Pa
// (IAPWS; from memory), and below it water the higher one.
func TestIceAndWaterMeet(t *testing.T) {
	assert.InEpsilon(t, 611.657, OverIce(triple), 3e-4)
	assert.InEpsilon(t, 611.657, OverWater(triple), 3e-4)
	assert.Greater(t, OverWater(-10), OverIce(-10))
	assert.InDelta(t, OverIce(0), Saturation(0), 0)
	assert.InDelta(t, OverWater(0.02), Saturation(0.02), 0)
}

func TestDryAirHasNoDewPoint(t *testing.T) {
	_, ok := Air{Celsius: 20}.DewPoint()
	assert.False(t, ok)
	dew, ok := Air{Celsius: 20, Humidity: 100}.DewPoint()
	require.True(t, ok)
	assert.InDelta(t, 20, dew, 1e-6)
}

func TestBadAirIsRefusedWithASentence(t *testing.T) {
	for _, tt := range []struct {
		air  Air
		code string
	}{
		{Air{20, 140}, "air-humidity"}, {Air{20, -1}, "air-humidity"}, {Air{20, math.NaN()}, "air-humidity"},
		{Air{61, 50}, "air-temperature"}, {Air{-31, 50}, "air-temperature"}, {Air{math.NaN(), 50}, "air-temperature"},
		{Air{math.Inf(1), 50}, "air-temperature"},
	} {
		p := parts.AsProblem(tt.air.Check())
		require.NotNil(t, p, "%v", tt.air)
		assert.Equal(t, tt.code, p.Code)
		assert.Equal(t, parts.Invalid, p.Sort)
		assert.NotEmpty(t, p.Do)
		assert.NotContains(t, p.Error(), "%!")
	}
	assert.EqualError(t, Air{20, 140}.Check(), "Humidity is from 0 to 100 %, not 140 %. Read the gauge again.")
	for _, good := range []Air{{20, 0}, {20, 100}, {Coldest, 50}, {Hottest, 50}} {
		assert.NoError(t, good.Check())
	}
}

func drawAir(t *rapid.T) Air {
	return Air{Celsius: rapid.Float64Range(Coldest, Hottest).Draw(t, "celsius"), Humidity: rapid.Float64Range(0.01, 100).Draw(t, "humidity")}
}

func TestAirIsConsistent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawAir(t)
		require.NoError(t, a.Check())
		require.InEpsilon(t, a.Saturation(), a.Vapour()+a.Deficit(), 1e-9)
		dew, ok := a.DewPoint()
		require.True(t, ok)
		require.LessOrEqual(t, dew, a.Celsius)
		// At the dew point the air is full: save for the step from ice to water.
		require.InEpsilon(t, a.Vapour(), Saturation(dew), 2e-4)
		require.GreaterOrEqual(t, a.Moisture(), 0.0)

		more := Air{a.Celsius, min(100, a.Humidity+1)}
		dewMore, _ := more.DewPoint()
		require.GreaterOrEqual(t, dewMore, dew)
		require.GreaterOrEqual(t, more.Moisture(), a.Moisture())
		require.LessOrEqual(t, more.Deficit(), a.Deficit())
	})
}

// Wood Handbook, ch. 13: a conductance meter reads about half a point low for
// each 10 °F below its own temperature; 8 % at 10 °C under 70 °F is 9 %.
func TestMeterReadingsOfColdWood(t *testing.T) {
	got, err := Corrected(8, 10)
	require.NoError(t, err)
	assert.InDelta(t, 9, got, 0.1)
	got, err = Corrected(8, 21.1)
	require.NoError(t, err)
	assert.InDelta(t, 8, got, 1e-9)

	_, err = Corrected(3, 20)
	assert.Equal(t, "meter-range", parts.CodeOf(err))
	_, err = Corrected(31, 20)
	assert.Equal(t, "meter-range", parts.CodeOf(err))
	_, err = Corrected(8, 200)
	assert.Equal(t, "air-temperature", parts.CodeOf(err))

	shop := Air{20, 50} // wood comes to 9.3 % there
	assert.True(t, shop.Settled(8))
	assert.False(t, shop.Settled(12))
}
