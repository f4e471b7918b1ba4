package finish

import (
	"encoding/csv"
	"math/big"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// rows reads a table of published values; the file says where they are from.
func rows(t *testing.T, name string) [][]string {
	t.Helper()
	file, err := os.Open("../../testdata/finish/" + name)
	require.NoError(t, err)
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1)
	return all[1:]
}

func float(d Decimal) float64 {
	f, _ := d.rat().Float64()
	return f
}

func TestSpreadingRatesArePublishedOnes(t *testing.T) {
	for _, row := range rows(t, "spreading.csv") {
		t.Run(strings.Join(row[:3], " "), func(t *testing.T) {
			rate := OnWood(Rate(number(t, row[0]), length(t, row[1])), number(t, row[2]))
			if row[4] == "ft2/gal" {
				rate = ToFeet(rate)
			}
			assert.InDelta(t, float(number(t, row[3])), float(rate), float(number(t, row[5])), row[6])
		})
	}
}

// The mils of a painting guide are thousandths of an inch.
func TestWetAndDryFilmArePublishedOnes(t *testing.T) {
	mil := func(t *testing.T, text string) parts.Length {
		return parts.Length(nearest(new(big.Rat).Mul(number(t, text).rat(), big.NewRat(int64(parts.Inch/1000), 1))))
	}
	for _, row := range rows(t, "film.csv") {
		t.Run(strings.Join(row[:3], " "), func(t *testing.T) {
			solids, thinner, within := number(t, row[1]), number(t, row[2]), float64(mil(t, row[4]))
			assert.InDelta(t, float64(mil(t, row[3])), float64(DryFilm(mil(t, row[0]), solids, thinner)), within)
			assert.InDelta(t, float64(mil(t, row[0])), float64(WetFilm(mil(t, row[3]), solids, thinner)), 3*within, "and back, the error grown by 1/solids")
		})
	}
}

func TestLossIsThePublishedOne(t *testing.T) {
	for _, row := range rows(t, "coverage.csv") {
		assert.Equal(t, number(t, row[2]), OnWood(number(t, row[0]), number(t, row[1])))
	}
}

func TestUsualLossIsInThePublishedRange(t *testing.T) {
	// Of what is sprayed 5 to 95 % reach the work, by trade and consultants'
	// pages: nothing that a shop starts with is outside.
	for _, by := range Methods {
		m := stain()
		m.Method, m.Loss = by, UsualLoss(by)
		assert.Nil(t, Check(m))
		assert.LessOrEqual(t, m.Loss, 95*One)
		assert.GreaterOrEqual(t, m.Loss, 5*One)
	}
}

func TestCommonPractice(t *testing.T) {
	practice := map[string][]string{}
	for _, row := range rows(t, "practice.csv") {
		practice[row[0]] = strings.Fields(row[1])
	}
	require.Len(t, practice, 4)

	var ratios []string
	for _, r := range UsualRatios() {
		ratios = append(ratios, r[0].String()+":"+r[1].String())
	}
	assert.Equal(t, practice["sample ratios of base to colour"], ratios)

	m := stain()
	m.Additives[0].Percent = number(t, practice["percent of a flow additive where its sheet allows it"][0])
	m.Additives[0].Most = m.Additives[0].Percent
	assert.Nil(t, Check(m), "what its sheet allows")
	m.Additives[0].Most -= 1
	assert.Equal(t, CodeAdditiveMost, codeOf(Check(m)), "a millionth above")

	one, p := Need(plainStain(stain()), 3*SquareMetre, 1)
	require.Nil(t, p)
	for _, word := range append(practice["coats of stain for an even colour"], practice["coats of clear"]...) {
		coats := int(number(t, word) / One)
		several, p := Need(plainStain(stain()), 3*SquareMetre, coats)
		require.Nil(t, p)
		assert.InDelta(t, float64(one)*float64(coats), float64(several), float64(coats), "%d coats take %d times as much", coats, coats)
	}
}

// plainStain takes out the additive, whose data sheet's limit has been moved above.
func plainStain(m Mix) Mix { m.Additives = nil; return m }

func TestUnitsAreTheDefinedOnes(t *testing.T) {
	// A US gallon is 231 cubic inches of 25.4 mm: 3.785411784 l (NIST
	// Handbook 44, appendix C; from memory).
	assert.Equal(t, "3.785412", decimalOf(big.NewRat(int64(Gallon), int64(Litre))).String())
	assert.InDelta(t, 3785.411784, float64(Gallon)/float64(Millilitre), 1e-6)
	assert.Equal(t, 128*FluidOunce, Gallon)
	assert.Equal(t, 144*SquareInch, SquareFoot)
	assert.InDelta(t, 0.09290304, float64(SquareFoot)/float64(SquareMetre), 1e-15)
}
