package finish

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// noon is the time of these tests. The shop of the other tests knows this
// room, so it cannot lend its own.
var noon = time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC)

// stain is three parts of base to one of colour, with a flow additive.
func stain() Mix {
	return Mix{
		Key: "locker-brown", Name: "Locker brown", Coat: "stain",
		Components: []Component{{Name: "Stain base", Parts: 3 * One}, {Name: "Oak brown", Parts: One, Colour: true}},
		Additives:  []Additive{{Name: "Flow additive", Percent: 15 * One, Of: OfWhole, Most: 15 * One}},
		Method:     Wipe, Loss: 10 * One, Coverage: 12 * One, Reserve: 10 * One,
	}
}

// clearCoat is a two-part topcoat that sets in its pot in two hours.
func clearCoat() Mix {
	return Mix{
		Key: "hard-clear", Name: "Hard clear", Coat: "topcoat",
		Components: []Component{{Name: "Clear", Parts: 2 * One, Density: 102 * One / 100}, {Name: "Hardener", Parts: One, Density: 11 * One / 10}},
		Thinner:    Additive{Name: "Thinner", Percent: 5 * One, Most: 10 * One, Density: 88 * One / 100},
		PotLife:    120, Method: Spray, Loss: 50 * One, Coverage: 10 * One, Solids: 40 * One, Reserve: 10 * One, Solvent: true,
	}
}

func syringe() Measure { return UsualMeasures()[0] }
func balance() Measure { return UsualMeasures()[2] }

func number(t require.TestingT, text string) Decimal {
	d, p := ParseDecimal(text)
	require.Nil(t, p)
	return d
}

func length(t *testing.T, text string) parts.Length {
	t.Helper()
	if micrometres, ok := strings.CutSuffix(text, " µm"); ok {
		return parts.Length(number(t, micrometres)) * parts.Micrometre / parts.Length(One)
	}
	l, err := parts.ParseLength(text, parts.Writing{Unit: parts.Inches})
	require.NoError(t, err)
	return l
}

// codeOf is the code of a problem, "" for none.
func codeOf(p *parts.Problem) string {
	if p == nil {
		return ""
	}
	return p.Code
}
