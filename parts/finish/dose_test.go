package finish

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestDose(t *testing.T) {
	tests := []struct {
		name   string
		mix    func() Mix
		ms     Measure
		wanted Range
		want   []int // marks of each portion
		code   string
	}{
		{"three to one and fifteen percent come out even at 92", stain, syringe(), Range{80 * Millilitre, 100 * Millilitre}, []int{60, 20, 12}, ""},
		{"two to one without an additive is the smallest that divides by three", func() Mix { m := clearCoat(); m.Thinner = Additive{}; return m },
			syringe(), Range{100 * Millilitre, 120 * Millilitre}, []int{68, 34}, ""},
		{"without colour, the size that is nearest in its thinner", clearCoat, syringe(), Range{30 * Millilitre, 45 * Millilitre}, []int{26, 13, 2}, ""},
		{"a range of one size", func() Mix { return plainStain(stain()) }, syringe(), Range{40 * Millilitre, 40 * Millilitre}, []int{30, 10}, ""},
		{"the additive at its limit is not rounded up", stain, syringe(), Range{24 * Millilitre, 25 * Millilitre}, []int{16, 5, 3}, ""},
		{"a fifth of the base is judged by the base that is in it", fifthOfBase, syringe(), Range{10 * Millilitre, 10 * Millilitre}, []int{5, 4, 1}, ""},
		{"too small for the marks", stain, Measure{Name: "cup", Mark: 10 * Millilitre}, Range{20 * Millilitre, 25 * Millilitre}, nil, CodeCoarse},
		{"a range between two marks", stain, Measure{Name: "cup", Mark: 100 * Millilitre}, Range{110 * Millilitre, 190 * Millilitre}, nil, CodeCoarse},
		{"backwards", stain, syringe(), Range{40 * Millilitre, 30 * Millilitre}, nil, CodeRange},
		{"nothing", stain, syringe(), Range{}, nil, CodeRange},
		{"more than any shop mixes", stain, syringe(), Range{Litre, 2 * MostVolume}, nil, CodeRange},
		{"too many sizes", stain, syringe(), Range{Litre, 200 * Litre}, nil, CodeRangeWide},
		{"a scale without a density", stain, balance(), Range{80 * Millilitre, 100 * Millilitre}, nil, CodeNoDensity},
		{"a measure that is none", stain, Measure{Name: "thumb"}, Range{Litre, Litre}, nil, CodeMeasure},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, p := Dose(tt.mix(), tt.ms, tt.wanted)
			require.Equal(t, tt.code, codeOf(p), "%v", p)
			if p != nil {
				assert.NotEmpty(t, p.Do)
				assert.NotContains(t, p.Error(), "%!")
				return
			}
			var got []int
			for _, portion := range d.Portions {
				got = append(got, portion.Marks)
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

// fifthOfBase is one to one, with as much additive as its sheet allows.
func fifthOfBase() Mix {
	m := stain()
	m.Components[0].Parts = One
	m.Additives[0] = Additive{Name: "Flow additive", Percent: 20 * One, Of: OfBase, Most: 20 * One}
	return m
}

func TestADosingSaysWhatRoundingDoes(t *testing.T) {
	d, p := Dose(stain(), syringe(), Range{24 * Millilitre, 25 * Millilitre})
	require.Nil(t, p)
	// 16 : 5 : 3 instead of 3 : 1 and 15 %. Of 21 the colour should be 5.25,
	// and of 24 it should be 1/4.6.
	assert.Equal(t, "4.7619", d.RatioOff.Round(4).String(), "(5/21) / (1/4) is 0.952381")
	assert.Equal(t, "4.1667", d.ColourOff.Round(4).String(), "(5/24) / (1/4.6) is 0.958333")
	assert.Equal(t, "4.7619", d.AddedOff.Round(4).String(), "(3/21) / 0.15 is 0.952381")
	assert.Equal(t, "20.8333", d.ColourShare.Round(4).String())
	assert.Equal(t, "-4.1667", d.Portions[1].Off.Round(4).String())
	assert.Equal(t, 24*Millilitre, d.Volume)
}

func TestADosingIsMeasuredInFills(t *testing.T) {
	d, p := Dose(stain(), syringe(), Range{230 * Millilitre, 230 * Millilitre})
	require.Nil(t, p)
	assert.Equal(t, []string{"2 full and 30 marks", "50 marks", "30 marks"}, []string{d.Portions[0].Text(), d.Portions[1].Text(), d.Portions[2].Text()})
	assert.Equal(t, "1 full", Portion{Full: 1}.Text())
	assert.Equal(t, "1 full and 1 mark", Portion{Full: 1, Rest: 1}.Text())
}

// By weight the two components of the clear are 2 x 1.02 g to 1 x 1.1 g.
func TestAScaleCountsWithDensities(t *testing.T) {
	d, p := Dose(clearCoat(), balance(), Range{300 * Millilitre, 330 * Millilitre})
	require.Nil(t, p)
	ratio := float64(d.Portions[0].Marks) / float64(d.Portions[1].Marks)
	assert.InDelta(t, 2.04/1.1, ratio, 0.001)
	assert.InDelta(t, 0.05*300*0.88, float64(d.Portions[2].Marks), 3)
	assert.GreaterOrEqual(t, d.Volume, 300*Millilitre)
	assert.LessOrEqual(t, d.Volume, 330*Millilitre)
}

// drawMix is a mix of two or three components with up to two additives.
func drawMix(t *rapid.T) Mix {
	m := stain()
	m.Additives, m.Components = nil, nil
	for i := range rapid.IntRange(2, 3).Draw(t, "components") {
		m.Components = append(m.Components, Component{
			Name: string(rune('A' + i)), Parts: One / 2 * Decimal(rapid.IntRange(1, 12).Draw(t, "parts")),
			Density: One / 100 * Decimal(rapid.IntRange(80, 130).Draw(t, "density")), Colour: i == 1,
		})
	}
	for i := range rapid.IntRange(0, 2).Draw(t, "additives") {
		percent := One / 2 * Decimal(rapid.IntRange(4, 40).Draw(t, "percent"))
		m.Additives = append(m.Additives, Additive{
			Name: string(rune('P' + i)), Percent: percent, Of: rapid.SampledFrom([]Share{OfWhole, OfBase}).Draw(t, "of"),
			Most: percent + Decimal(rapid.IntRange(0, 3).Draw(t, "spare"))*One, Density: One,
		})
	}
	return m
}

func drawRange(t *rapid.T) Range {
	least := Volume(rapid.IntRange(1, 200).Draw(t, "least")) * Millilitre
	return Range{Least: least, Most: least + Volume(rapid.IntRange(0, 40).Draw(t, "spare"))*Millilitre}
}

func drawMeasure(t *rapid.T) Measure {
	return rapid.SampledFrom([]Measure{syringe(), {Name: "small syringe", Mark: Millilitre / 5, Holds: 50}, balance(), {Name: "ounces", Mark: FluidOunce / 8}}).Draw(t, "measure")
}

func TestADosingListSumsToTheBatch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, ms, wanted := drawMix(t), drawMeasure(t), drawRange(t)
		d, p := Dose(m, ms, wanted)
		if p != nil {
			require.Equal(t, CodeCoarse, p.Code)
			return
		}
		marks, volume := 0, Volume(0)
		for _, portion := range d.Portions {
			require.Positive(t, portion.Marks)
			require.Equal(t, portion.Marks, portion.Full*ms.Holds+portion.Rest)
			marks += portion.Marks
			volume += portion.Volume
		}
		assert.Equal(t, d.Marks, marks)
		assert.Equal(t, d.Volume, volume)
		if !ms.Weighs() {
			assert.Equal(t, Volume(marks)*ms.Mark, volume, "a mark is a mark")
		}
		slack := Volume(len(d.Portions)) // each volume is rounded by itself
		assert.LessOrEqual(t, wanted.Least-slack, d.Volume)
		assert.GreaterOrEqual(t, wanted.Most+slack, d.Volume)
	})
}

// gap gives the error of the ratio by plain arithmetic, apart from the code
// under test: of each component's share among the components.
func gap(marks []int, share []float64) float64 {
	sum, worst := 0.0, 0.0
	for _, n := range marks {
		sum += float64(n)
	}
	for i, n := range marks {
		worst = max(worst, abs(float64(n)/sum/share[i]-1))
	}
	return worst
}

func abs(x float64) float64 { return max(x, -x) }

func TestNoTwoWholeNumbersKeepBetterToTheRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.IntRange(1, 40).Draw(t, "a"), rapid.IntRange(1, 40).Draw(t, "b")
		least := rapid.IntRange(max(a, b)/min(a, b)+2, 150).Draw(t, "least")
		most := least + rapid.IntRange(0, 40).Draw(t, "spare")
		m := plainStain(stain())
		m.Components[0].Parts, m.Components[1].Parts = Decimal(a)*One/4, Decimal(b)*One/4
		d, p := Dose(m, syringe(), Range{Volume(least) * Millilitre, Volume(most) * Millilitre})
		require.Nil(t, p)
		share := []float64{float64(a) / float64(a+b), float64(b) / float64(a+b)}
		best, size := 1e9, 0
		for n := least; n <= most; n++ {
			for x := 1; x < n; x++ {
				if e := gap([]int{x, n - x}, share); e < best-1e-12 {
					best, size = e, n
				}
			}
		}
		require.InDelta(t, 100*best, float(d.RatioOff), 1e-5)
		assert.Equal(t, size, d.Marks, "the smallest of those that are as good")
	})
}

// With more ingredients every size in the range is judged by itself, each as
// the rule has it: whole marks first, the rest to the largest remainders.
func TestNoSizeInTheRangeKeepsBetterToTheRatio(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, wanted := drawMix(t), drawRange(t)
		d, p := Dose(m, syringe(), wanted)
		best, bestColour, bestAdded := 1e9, 1e9, 1e9
		for n := wanted.Least / Millilitre; n <= wanted.Most/Millilitre; n++ {
			if one, no := Dose(m, syringe(), Range{n * Millilitre, n * Millilitre}); no == nil {
				require.Equal(t, int(n), one.Marks)
				ratio, colour := judged(m, one)
				added := float(one.AddedOff)
				if lower(ratio, best) || !lower(best, ratio) && (lower(colour, bestColour) || !lower(bestColour, colour) && lower(added, bestAdded)) {
					best, bestColour, bestAdded = ratio, colour, added
				}
			}
		}
		if p != nil {
			require.Equal(t, CodeCoarse, p.Code)
			require.Equal(t, 1e9, best, "then no size of the range can be dosed by itself either")
			return
		}
		ratio, colour := judged(m, d)
		assert.InDelta(t, best, ratio, 1e-9)
		assert.InDelta(t, bestColour, colour, 1e-9, "and of those the colour")
		assert.InDelta(t, bestAdded, float(d.AddedOff), 1e-5, "and of those what is added")
		assert.InDelta(t, 100*ratio, float(d.RatioOff), 1e-5, "and it says so")
		assert.InDelta(t, 100*colour, float(d.ColourOff), 1e-5)
	})
}

// lower compares errors that floats may have spoilt in the last place.
func lower(a, b float64) bool { return a < b-1e-12 }

// judged works the errors of a dosing by volume out again, in plain floats.
func judged(m Mix, d Dosing) (ratio, colour float64) {
	n := len(m.Components)
	share, marks, parts := make([]float64, n), make([]int, n), 0.0
	for _, c := range m.Components {
		parts += float(c.Parts)
	}
	whole := parts
	for _, a := range m.Additives {
		of := parts
		if a.Of == OfBase {
			of = float(m.Components[0].Parts)
		}
		whole += of * float(a.Percent) / 100
	}
	for i, c := range m.Components {
		share[i], marks[i] = float(c.Parts)/parts, d.Portions[i].Marks
	}
	got, want := float64(d.Portions[1].Marks)/float64(d.Marks), float(m.Components[1].Parts)/whole
	return gap(marks, share), abs(got/want - 1)
}

func TestRoundingNeverLiftsAnAdditiveAboveItsSheet(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMix(t)
		d, p := Dose(m, syringe(), drawRange(t))
		if p != nil {
			return
		}
		whole, base := 0.0, float64(d.Portions[0].Marks)
		for i := range m.Components {
			whole += float64(d.Portions[i].Marks)
		}
		for i, a := range m.Additives {
			of := whole
			if a.Of == OfBase {
				of = base
			}
			assert.LessOrEqual(t, float64(d.Portions[len(m.Components)+i].Marks), of*float(a.Most)/100+1e-9)
		}
	})
}

func TestADosingScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, ms, wanted := drawMix(t), syringe(), drawRange(t)
		k := rapid.IntRange(2, 9).Draw(t, "k")
		d, p := Dose(m, ms, wanted)

		larger := m
		larger.Components = append([]Component{}, m.Components...)
		for i := range larger.Components {
			larger.Components[i].Parts *= Decimal(k)
		}
		same, pSame := Dose(larger, ms, wanted)
		assert.Equal(t, codeOf(p), codeOf(pSame))
		assert.Equal(t, d, same, "six to two is three to one")

		ms.Mark *= Volume(k)
		scaled, pScaled := Dose(m, ms, Range{wanted.Least * Volume(k), wanted.Most * Volume(k)})
		assert.Equal(t, codeOf(p), codeOf(pScaled))
		assert.Equal(t, d.Marks, scaled.Marks, "larger marks, the same number of them")
		assert.Equal(t, d.Volume*Volume(k), scaled.Volume)
		assert.Equal(t, d.RatioOff, scaled.RatioOff)
	})
}

func BenchmarkDose(b *testing.B) {
	for name, ms := range map[string]Measure{"by volume": syringe(), "by weight": balance()} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, p := Dose(clearCoat(), ms, Range{Litre, Litre * 11 / 10}); p != nil {
					b.Fatal(p)
				}
			}
		})
	}
}
