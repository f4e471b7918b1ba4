package labels

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// A code grows with its text and never gets finer than what reads, and the
// larger label has the sturdier code.
func TestFitOf(t *testing.T) {
	const address = "http://192.168.1.20:8080/P/101S"
	var before Fit
	for _, key := range []string{"roll-38x18", "letter-3x10", "letter-2x5"} {
		f, err := FormatByKey(key)
		require.NoError(t, err)
		fit, err := FitOf(f, address)
		require.NoError(t, err)
		assert.Equal(t, 17+4*fit.Version, fit.Squares, key)
		assert.GreaterOrEqual(t, inMM(fit.Square), leastModule-1e-4, key)
		assert.InDelta(t, float64(fit.Squares)*inMM(fit.Square), inMM(fit.Side), 0.01, key)
		assert.GreaterOrEqual(t, fit.Dirt, before.Dirt, key)
		before = fit
	}
	assert.Equal(t, 30, before.Dirt, "the sturdiest level")
	f, err := FormatByKey("roll-38x18")
	require.NoError(t, err)
	_, err = FitOf(f, "http://"+strings.Repeat("long", 20)+".lan/P/101S")
	assert.Equal(t, "address-too-long", parts.CodeOf(err))
	_, err = FitOf(Format{}, address)
	assert.Error(t, err)
}
