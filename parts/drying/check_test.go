package drying

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestReadyMadeProductsAreSound(t *testing.T) {
	keys := map[string]bool{}
	for _, p := range ReadyMade() {
		assert.NoError(t, Check(p), p.Key)
		assert.False(t, keys[p.Key], p.Key)
		keys[p.Key] = true
		assert.Contains(t, p.Source, "no source")
	}
	assert.Len(t, keys, 6)
}

func TestBadProductsAreRefusedWithASentence(t *testing.T) {
	glue := Product{Key: "glue", Name: "Glue", Kind: Glue, Celsius: 20, Humidity: 50, Lowest: 10, ClampsOff: 60, Machine: 1440, Cure: 1440}
	stain := Product{Key: "stain", Name: "Stain", Kind: Stain, Celsius: 20, Humidity: 50, Recoat: 60, Cure: 1440}
	require.NoError(t, Check(glue))
	require.NoError(t, Check(stain))
	for _, tt := range []struct {
		code  string
		from  Product
		spoil func(*Product)
	}{
		{"product-key", glue, func(p *Product) { p.Key = "" }},
		{"product-key", glue, func(p *Product) { p.Key = "Glue 2" }},
		{"product-key", glue, func(p *Product) { p.Key = strings.Repeat("g", 61) }},
		{"product-name", glue, func(p *Product) { p.Name = "  " }},
		{"product-name", glue, func(p *Product) { p.Name = strings.Repeat("ü", 61) }},
		{"product-kind", glue, func(p *Product) { p.Kind = "wax" }},
		{"product-text", glue, func(p *Product) { p.Source = strings.Repeat("x", 201) }},
		{"product-celsius", glue, func(p *Product) { p.Celsius = 68 }},
		{"product-celsius", glue, func(p *Product) { p.Celsius = math.NaN() }},
		{"product-humidity", glue, func(p *Product) { p.Humidity = 140 }},
		{"product-humidity", glue, func(p *Product) { p.Humidity = 100 }},
		{"product-lowest", glue, func(p *Product) { p.Lowest = 21 }},
		{"product-lowest", glue, func(p *Product) { p.Lowest = math.Inf(-1) }},
		{"product-per10", glue, func(p *Product) { p.Per10 = 0.5 }},
		{"product-per10", glue, func(p *Product) { p.Evaporates, p.Per10 = true, 2 }},
		{"product-time", glue, func(p *Product) { p.ClampsOff = -1 }},
		{"product-time", glue, func(p *Product) { p.Cure = 91 * day }},
		{"product-cure", glue, func(p *Product) { p.Cure = 0 }},
		{"product-clamps", glue, func(p *Product) { p.ClampsOff = 0 }},
		{"product-kind-time", glue, func(p *Product) { p.Recoat = 60 }},
		{"product-kind-time", stain, func(p *Product) { p.Machine = 60 }},
		{"product-recoat", stain, func(p *Product) { p.Recoat = 0 }},
		{"product-stain-sanded", stain, func(p *Product) { p.Sand = 60 }},
		{"product-stain-sanded", stain, func(p *Product) { p.Latest, p.Missed = 600, "Scuff it lightly" }},
		{"product-stain-sanded", stain, func(p *Product) { p.Latest, p.Missed = 600, "after re-sanding" }},
		{"product-order", glue, func(p *Product) { p.Machine = 30 }},
		{"product-order", glue, func(p *Product) { p.Machine = 2000 }},
		{"product-order", glue, func(p *Product) { p.Sand = 100 }},
		{"product-order", stain, func(p *Product) { p.Stack, p.Wrap = 600, 300 }},
		{"product-window", stain, func(p *Product) { p.Latest, p.Missed = 60, "Try it on a sample board." }},
		{"product-missed", stain, func(p *Product) { p.Latest = 600 }},
		{"product-missed", stain, func(p *Product) { p.Missed = "Try it on a sample board." }},
	} {
		p := tt.from
		tt.spoil(&p)
		problem := parts.AsProblem(Check(p))
		require.NotNil(t, problem, "%s: %+v", tt.code, p)
		assert.Equal(t, tt.code, problem.Code, "%v", problem)
		assert.NotEmpty(t, problem.Do)
		assert.NotContains(t, problem.Error(), "%!")
	}
	stain.Latest, stain.Missed = 600, "Try it on a sample board of the same sandwich."
	assert.NoError(t, Check(stain), "words that only begin alike are no advice to sand")
}

// What a data sheet leaves out is not ready before its full cure.
func TestATimeThatIsNotGivenIsTheFullCure(t *testing.T) {
	p := Product{Kind: Clear, Recoat: 120, Stack: 600, Cure: 2880}
	assert.EqualValues(t, 120, p.Takes(Recoat).Minutes())
	assert.EqualValues(t, 600, p.Takes(Stack).Minutes())
	assert.EqualValues(t, 2880, p.Takes(Wrap).Minutes())
	assert.EqualValues(t, 2880, p.Takes(Cure).Minutes())
	assert.False(t, p.Given(Wrap))
	assert.True(t, p.Given(Recoat))
}

func TestEachNeedIsExplainedAndHasItsClock(t *testing.T) {
	for _, k := range Kinds {
		for _, n := range k.Needs() {
			assert.NotEmpty(t, k.Means(n), "%s: %s", k, n)
			assert.NotEmpty(t, k.Clock(n))
		}
	}
	assert.Equal(t, parts.Clamps, Glue.Clock(ClampsOff))
	assert.Equal(t, parts.Setting, Glue.Clock(Sand))
	assert.Equal(t, parts.Drying, Clear.Clock(Sand))
	assert.NotEqual(t, Glue.Means(Sand), Clear.Means(Sand))
}
