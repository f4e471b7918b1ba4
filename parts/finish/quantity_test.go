package finish

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func TestNeed(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Mix)
		area   Surface
		coats  int
		want   string // in millilitres
		code   string
	}{
		{"twelve square metres are a litre", func(m *Mix) { m.Loss, m.Reserve = 0, 0 }, 12 * SquareMetre, 1, "1000", ""},
		{"and two coats are two", func(m *Mix) { m.Loss, m.Reserve = 0, 0 }, 12 * SquareMetre, 2, "2000", ""},
		{"half is lost", func(m *Mix) { m.Loss, m.Reserve = 50*One, 0 }, 12 * SquareMetre, 1, "2000", ""},
		{"ten percent in reserve", func(m *Mix) { m.Loss, m.Reserve = 0, 10*One }, 12 * SquareMetre, 1, "1100", ""},
		{"both, and the rounding is upwards", func(*Mix) {}, 12 * SquareMetre, 1, "1222.222222", ""},
		{"nothing to coat", func(*Mix) {}, 0, 2, "0", ""},
		{"no coats", func(*Mix) {}, SquareMetre, 0, "0", ""},
		{"coverage not known", func(m *Mix) { m.Coverage = 0 }, SquareMetre, 1, "0", CodeNoCoverage},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := stain()
			tt.change(&m)
			v, p := Need(m, tt.area, tt.coats)
			require.Equal(t, tt.code, codeOf(p))
			assert.InDelta(t, float(number(t, tt.want)), float64(v)/float64(Millilitre), 1e-6)
		})
	}
}

func TestNothingIsKnownWithoutSolids(t *testing.T) {
	assert.Zero(t, Rate(0, 25*parts.Micrometre))
	assert.Zero(t, Rate(50*One, 0))
	assert.Zero(t, WetFilm(25*parts.Micrometre, 0, 0))
	assert.Zero(t, WetFilmAt(0))
	assert.Equal(t, 100*parts.Micrometre, WetFilmAt(10*One), "ten square metres to the litre is a tenth of a millimetre, wet")
}

func TestRatesTurnIntoEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := Decimal(rapid.Int64Range(1, 100*int64(One)).Draw(t, "rate"))
		assert.InDelta(t, float(rate), float(FromFeet(ToFeet(rate))), 1e-6)
		// What a film dries to and what has to be laid for it are each other's reverse.
		dry := parts.Length(rapid.Int64Range(1, 1000).Draw(t, "µm")) * parts.Micrometre
		solids := One * Decimal(rapid.IntRange(5, 100).Draw(t, "solids"))
		thinner := One * Decimal(rapid.IntRange(0, 30).Draw(t, "thinner"))
		assert.InDelta(t, float64(dry), float64(DryFilm(WetFilm(dry, solids, thinner), solids, thinner)), 2)
	})
}

func TestSplit(t *testing.T) {
	tests := []struct {
		name          string
		mix           func() Mix
		need, perHour Volume
		batches       int
		code          string
	}{
		{"no pot life is one batch", stain, 3 * Litre, 0, 1, ""},
		{"sixty litres with a syringe, if it must be", stain, 60 * Litre, 0, 1, ""},
		{"a litre at half a litre an hour and two hours fits one", clearCoat, 900 * Millilitre, 500 * Millilitre, 1, ""},
		{"two litres are two, to the minute", clearCoat, 2 * Litre, 500 * Millilitre, 2, ""},
		{"one more where the only size lifts the additive above its sheet", setting, 14 * Millilitre, 14 * Millilitre, 2, ""},
		{"no size keeps to the sheet", setting, 5 * Millilitre, 5 * Millilitre, 0, CodeCoarse},
		{"a little more than one", clearCoat, 1050 * Millilitre, 500 * Millilitre, 2, ""},
		{"how fast is not known, and it sets", clearCoat, Litre, 0, 1, ""},
		{"less than nothing in an hour", clearCoat, Litre, -1, 0, CodeUseRate},
		{"slower than it sets", clearCoat, 10 * Litre, Millilitre, 0, CodeTooShort},
		{"slower than a mark", clearCoat, 10 * Litre, Millilitre / 100, 0, CodeTooShort},
		{"nothing", stain, 0, 0, 0, CodeNothing},
		{"a tanker", stain, 2 * MostVolume, 0, 0, CodeNothing},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			plan, p := Split(tt.mix(), syringe(), tt.need, tt.perHour)
			require.Equal(t, tt.code, codeOf(p), "%v", p)
			assert.Equal(t, tt.batches, plan.Batches)
			assert.Equal(t, p == nil && tt.mix().TwoPart() && tt.perHour == 0, plan.Assumed, "what is assumed is said")
			if p != nil {
				assert.NotEmpty(t, p.Do)
			}
		})
	}
}

// setting is the stain as if it set in its pot within the hour.
func setting() Mix { m := stain(); m.PotLife = 60; return m }

func TestBatchesAreEnoughAndUsedUpInTime(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := clearCoat()
		m.PotLife = rapid.IntRange(0, 240).Draw(t, "pot life")
		need := Volume(rapid.IntRange(30, 5000).Draw(t, "need")) * Millilitre
		perHour := Volume(rapid.IntRange(100, 2000).Draw(t, "an hour")) * Millilitre
		plan, p := Split(m, rapid.SampledFrom([]Measure{syringe(), balance()}).Draw(t, "measure"), need, perHour)
		if p != nil {
			require.Contains(t, []string{CodeTooShort, CodeCoarse}, p.Code)
			return
		}
		slack := Volume(len(plan.Each.Portions) * plan.Batches)
		assert.Equal(t, Volume(plan.Batches)*plan.Each.Volume, plan.Total)
		assert.GreaterOrEqual(t, plan.Total+slack, need)
		if m.TwoPart() {
			assert.LessOrEqual(t, plan.Minutes, m.PotLife+1, "an open minute counts as one")
			assert.LessOrEqual(t, float64(plan.Each.Volume), float64(perHour)*float64(m.PotLife)/60+3)
		} else {
			assert.Equal(t, 1, plan.Batches)
		}
	})
}

// Three batches on three days from the list alone: each is dosed the same.
func TestThreeDaysGiveOneColour(t *testing.T) {
	m := stain()
	m.PotLife = 8 * 60
	plan, p := Split(m, syringe(), 1500*Millilitre, 70*Millilitre)
	require.Nil(t, p)
	require.Equal(t, 3, plan.Batches)
	assert.Equal(t, []int{330, 110, 66}, []int{plan.Each.Portions[0].Marks, plan.Each.Portions[1].Marks, plan.Each.Portions[2].Marks})
	assert.Zero(t, plan.Each.RatioOff)
	assert.Zero(t, plan.Each.ColourOff)
}
