package server

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The saturation pressure is that of the ASHRAE table at 20 °C, 2338.8 Pa, and
// the moisture the cell of the Wood Handbook's table 4-2 at 21.1 °C and 50 %,
// 9.2 %; the rooms' own tests compare the whole tables.
func TestAirForPrograms(t *testing.T) {
	p := openProgram(t, false)
	var got airJSON
	p.get("/api/v1/air?celsius=20&humidity=50").into(&got)
	assert.InEpsilon(t, 2338.8, got.Saturation, 3e-4)
	assert.InEpsilon(t, 1169.4, got.Deficit, 3e-4)
	require.NotNil(t, got.DewPoint)
	assert.InDelta(t, 9.3, *got.DewPoint, 0.1)
	assert.InDelta(t, 9.2, got.Moisture, 0.1)
	for query, code := range map[string]string{
		"celsius=20": "field-missing", "celsius=warm&humidity=50": "field-wrong",
		"celsius=20&humidity=140": "air-humidity", "celsius=900&humidity=50": "air-temperature",
	} {
		p.get("/api/v1/air?"+query).is(400, code)
	}
}
