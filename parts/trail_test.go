package parts_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

func TestATrailIsReadAsItWasWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want, got parts.Trail
		shoptest.Anything(t, reflect.ValueOf(&want).Elem())
		text, err := json.Marshal(want)
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(text, &got))
		assert.Equal(t, want, got)
		objects, err := json.Marshal([]parts.Past(want))
		require.NoError(t, err)
		require.NoError(t, json.Unmarshal(objects, &got))
		assert.Equal(t, want, got, "as older logs have it")
	})
}

func TestATrailIsShort(t *testing.T) {
	at := time.Date(2026, 3, 2, 12, 0, 0, 123e6, time.UTC)
	text, err := json.Marshal(parts.Trail{{How: parts.WasDone, At: at, By: 40}, {How: parts.WasFilled}, {How: parts.WasSkipped}})
	require.NoError(t, err)
	assert.Equal(t, `"dmm94mtff.14 f s"`, string(text))
}

func TestWhatIsNoTrailIsRefused(t *testing.T) {
	for _, text := range []string{`"d!"`, `"dmm.!"`, `7`, `{}`, `"d`} {
		assert.Error(t, json.Unmarshal([]byte(text), new(parts.Trail)), text)
	}
	_, err := json.Marshal(parts.Trail{{How: "x"}})
	assert.Error(t, err)
}
