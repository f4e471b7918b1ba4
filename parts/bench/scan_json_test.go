package bench_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// Beside them stands encoding/json itself: a field that is added to the
// structs and forgotten where they are written out is found.
func TestRequestsAndAnswersAreWrittenAsEncodingJSONWritesThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r bench.Request
		shoptest.Anything(t, reflect.ValueOf(&r).Elem())
		want, err := json.Marshal(r)
		require.NoError(t, err)
		got, err := r.AppendJSON([]byte("before "))
		require.NoError(t, err)
		assert.Equal(t, "before "+string(want), string(got))

		var a bench.Answer
		shoptest.Anything(t, reflect.ValueOf(&a).Elem())
		want, err = json.Marshal(a)
		require.NoError(t, err)
		got, err = a.AppendJSON(nil)
		require.NoError(t, err)
		assert.Equal(t, string(want), string(got))
	})
}
