package parts

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The fixed points are those of the definition of the scale: water freezes at
// 32 °F and boils at 212 °F, and both scales meet at -40.
func TestTemperaturesAreWrittenInTheShopsScale(t *testing.T) {
	for _, tt := range []struct {
		at       Degrees
		in, inMm string
	}{
		{0, "32 °F", "0 °C"}, {100, "212 °F", "100 °C"}, {-40, "-40 °F", "-40 °C"}, {21.1, "70 °F", "21.1 °C"}, {-0.04, "32 °F", "0 °C"}, {-17.8, "0 °F", "-17.8 °C"},
	} {
		assert.Equal(t, tt.in, tt.at.In(Inches))
		assert.Equal(t, tt.inMm, tt.at.In(Millimetres))
		assert.Equal(t, tt.inMm+" ("+tt.in+")", tt.at.String(), "where no shop is known")
	}
	assert.Equal(t, "18 °F", Warmer(10).In(Inches))
	assert.Equal(t, "10 °C", Warmer(10).In(Millimetres))
	assert.Equal(t, "10 °C (18 °F)", Warmer(10).String())
}

func TestATemperatureKeepsItsKindThroughJSON(t *testing.T) {
	data, err := json.Marshal(Args{Degrees(12.5), "12"})
	require.NoError(t, err)
	var back Args
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, Args{Degrees(12.5), "12"}, back)
}
