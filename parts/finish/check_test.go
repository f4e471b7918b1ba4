package finish

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestCheck(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Mix)
		code   string
	}{
		{"as it is", func(*Mix) {}, ""},
		{"no name", func(m *Mix) { m.Name = " " }, CodeMixName},
		{"an ingredient without a name", func(m *Mix) { m.Additives[0].Name = "" }, CodeMixName},
		{"a thinner without a name", func(m *Mix) { m.Thinner.Percent = One }, CodeMixName},
		{"nothing to nothing", func(m *Mix) { m.Components[0].Parts, m.Components[1].Parts = 0, 0 }, CodeRatio},
		{"two to nothing", func(m *Mix) { m.Components[1].Parts = 0 }, CodeRatio},
		{"two to minus one", func(m *Mix) { m.Components[1].Parts = -One }, CodeRatio},
		{"no components", func(m *Mix) { m.Components = nil }, CodeRatio},
		{"a thousand to one", func(m *Mix) { m.Components[0].Parts = 1000 * One }, ""},
		{"ten thousand to one", func(m *Mix) { m.Components[0].Parts = 1000 * One; m.Components[1].Parts = One / 10 }, CodeRatio},
		{"two and a half to one", func(m *Mix) { m.Components[0].Parts = 5 * One / 2 }, ""},
		{"the same thing twice", func(m *Mix) { m.Components[1].Name = "stain BASE " }, CodeTwice},
		{"an additive at its sheet's maximum", func(m *Mix) { m.Additives[0].Percent = 15 * One }, ""},
		{"an additive above its sheet's maximum", func(m *Mix) { m.Additives[0].Percent = 15*One + 1 }, CodeAdditiveMost},
		{"an additive whose sheet gives no maximum", func(m *Mix) { m.Additives[0].Most = 0 }, ""},
		{"a thinner above its sheet's maximum", func(m *Mix) { m.Thinner = Additive{Name: "Thinner", Percent: 11 * One, Most: 10 * One} }, CodeAdditiveMost},
		{"nothing of an additive", func(m *Mix) { m.Additives[0].Percent = 0 }, CodeAdditive},
		{"minus one percent", func(m *Mix) { m.Additives[0].Percent = -One }, CodeAdditive},
		{"percent of what is not said", func(m *Mix) { m.Additives[0].Of = "" }, CodeAdditive},
		{"more than all of it", func(m *Mix) { m.Additives[0].Most = 0; m.Additives[0].Percent = 101 * One }, CodeAdditive},
		{"additives that come to more than all of it", func(m *Mix) {
			m.Additives[0].Most, m.Additives[0].Percent = 0, 60*One
			m.Thinner = Additive{Name: "Thinner", Percent: 41 * One}
		}, CodeAdditive},
		{"as heavy as lead", func(m *Mix) { m.Components[0].Density = 11 * One }, CodeDensity},
		{"lighter than air", func(m *Mix) { m.Components[0].Density = -One }, CodeDensity},
		{"a pot life of minus one", func(m *Mix) { m.PotLife = -1 }, CodePotLife},
		{"a pot life of a year", func(m *Mix) { m.PotLife = 365 * 24 * 60 }, CodePotLife},
		{"poured on", func(m *Mix) { m.Method = "pour" }, CodeMethod},
		{"all of it lost", func(m *Mix) { m.Loss = 100 * One }, CodeLoss},
		{"negative coverage", func(m *Mix) { m.Coverage = -One }, CodeCoverage},
		{"more solid than solid", func(m *Mix) { m.Solids = 101 * One }, CodeSolids},
		{"negative reserve", func(m *Mix) { m.Reserve = -1 }, CodeReserve},
		{"thirteen ingredients", func(m *Mix) { m.Components = make([]Component, 13) }, CodeRatio},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := stain()
			tt.change(&m)
			p := Check(m)
			require.Equal(t, tt.code, codeOf(p))
			if p != nil {
				assert.NotEmpty(t, p.Do, "it says what to do")
				assert.NotContains(t, p.Error(), "%!", "the sentence is whole")
			}
		})
	}
	assert.Equal(t, parts.Refused, func() parts.Sort { m := stain(); m.Additives[0].Percent = 16 * One; return Check(m).Sort }())
	assert.Nil(t, Check(clearCoat()))
}

// Everything that works out something refuses the same mixes as Check.
func TestNothingIsWorkedOutForAMixThatMakesNoSense(t *testing.T) {
	bad := stain()
	bad.Components[0].Parts, bad.Components[1].Parts = 0, 0
	_, need := Need(bad, SquareMetre, 1)
	_, dose := Dose(bad, syringe(), Range{Litre, Litre})
	_, split := Split(bad, syringe(), Litre, Litre)
	_, mixed := Mixed(bad, Dosing{Volume: Litre}, nil, 0, 1, noon)
	_, _, supplies := Supplies(bad, Litre, nil, nil, noon)
	_, approve := Approve(Sample{Mix: bad, Wood: "white oak", Grit: 150, Coats: 2}, "Tern Point Rowing Club", noon)
	for _, p := range []*parts.Problem{need, dose, split, mixed, supplies, approve} {
		assert.Equal(t, CodeRatio, codeOf(p))
	}
}

func TestTheRecipeIsTheSameTextForTheSameShares(t *testing.T) {
	m := stain()
	assert.Equal(t, "Stain base 3 : Oak brown 1; 15 % Flow additive of the whole", m.Recipe())
	m.Components[0].Parts, m.Components[1].Parts = 15*One/10, One/2
	assert.Equal(t, stain().Recipe(), m.Recipe())
	m.Components[0].Parts = 2 * One
	assert.NotEqual(t, stain().Recipe(), m.Recipe())
	assert.Contains(t, clearCoat().Recipe(), "; 5 % Thinner of the whole")
}

func TestColourGate(t *testing.T) {
	assert.Equal(t, CodeNotApproved, codeOf(ColourGate(stain())))
	assert.Nil(t, ColourGate(clearCoat()), "a clear coat has no colour to approve")

	board := Sample{Number: 3, Mix: stain(), Wood: "white oak", Grit: 150, Coats: 2, Over: "hard-clear"}
	m, p := Approve(board, "Tern Point Rowing Club", noon)
	require.Nil(t, p)
	assert.Nil(t, ColourGate(m))
	assert.Equal(t, 3, m.Approved.Sample)

	m.Components = []Component{{Name: "Stain base", Parts: 4 * One}, {Name: "Oak brown", Parts: One, Colour: true}}
	assert.Equal(t, CodeColourChanged, codeOf(ColourGate(m)), "another ratio is another colour")
	m.Components[0].Parts, m.Components[1].Parts = 6*One, 2*One
	assert.Nil(t, ColourGate(m), "six to two is three to one")

	_, p = Approve(board, "", noon)
	assert.Equal(t, CodeSample, codeOf(p))
	board.Grit = 0
	_, p = Approve(board, "Tern Point Rowing Club", noon)
	assert.Equal(t, CodeSample, codeOf(p))
}

func TestSamplesDifferInTheMixAlone(t *testing.T) {
	mixes, p := Samples(stain(), UsualRatios())
	require.Nil(t, p)
	var boards []Sample
	for i, m := range mixes {
		boards = append(boards, Sample{Number: i + 1, Mix: m, Wood: "white oak", Grit: 150, Coats: 2, Over: "hard-clear"})
	}
	assert.Equal(t, []string{"Locker brown 2:1", "Locker brown 3:1", "Locker brown 4:1"}, []string{mixes[0].Name, mixes[1].Name, mixes[2].Name})
	assert.Equal(t, 3*One, stain().Components[0].Parts)
	assert.Nil(t, Alike(boards))
	assert.Nil(t, Alike(nil))
	boards[2].Grit = 180
	assert.Equal(t, CodeSample, codeOf(Alike(boards)))

	one := stain()
	one.Components = one.Components[:1]
	_, p = Samples(one, UsualRatios())
	assert.Equal(t, CodeRatio, codeOf(p))
	_, p = Samples(stain(), [][2]Decimal{{0, 0}})
	assert.Equal(t, CodeRatio, codeOf(p))
}

func TestCautionsComeWithWhatCanHurt(t *testing.T) {
	assert.Len(t, Cautions(stain()), 1)
	m := clearCoat()
	m.Oily = true
	assert.Len(t, Cautions(m), 5)
	for _, m := range []Mix{stain(), clearCoat()} {
		assert.Contains(t, Cautions(m)[0], "data sheet")
	}
	assert.Equal(t, 2*time.Hour, clearCoat().Lasts())
}
