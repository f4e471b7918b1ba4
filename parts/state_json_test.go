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

// Beside it stands encoding/json itself, which reads the names and what is
// left out from the struct: a field that is added there and forgotten here is
// found.
func TestAStateIsWrittenAsEncodingJSONWritesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s parts.State
		shoptest.Anything(t, reflect.ValueOf(&s).Elem())
		want, err := json.Marshal(s)
		require.NoError(t, err)
		got, err := s.AppendJSON([]byte("before "))
		require.NoError(t, err)
		assert.Equal(t, "before "+string(want), string(got))
	})
}

func TestADetailIsWrittenAsEncodingJSONWritesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var d parts.Detail
		shoptest.Anything(t, reflect.ValueOf(&d).Elem())
		if rapid.Bool().Draw(t, "back") {
			d.Back = new(parts.State)
			shoptest.Anything(t, reflect.ValueOf(d.Back).Elem())
		}
		want, err := json.Marshal(d)
		require.NoError(t, err)
		got, err := d.AppendJSON([]byte("before "))
		require.NoError(t, err)
		assert.Equal(t, "before "+string(want), string(got))
	})
}

func TestAStateOfAnImpossibleYearIsNotWritten(t *testing.T) {
	s := parts.State{LastAt: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)}
	_, err := json.Marshal(s)
	require.Error(t, err)
	_, err = s.AppendJSON(nil)
	require.Error(t, err)
}
