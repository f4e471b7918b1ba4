package parts_test

import (
	"encoding/json"
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

func TestAStateIsWrittenAsEncodingJSONWritesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s parts.State
		shoptest.Anything(t, reflect.ValueOf(&s).Elem())
		shoptest.WrittenAsJSON(t, &s)
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
		shoptest.WrittenAsJSON(t, &d)
	})
}

func TestAStateOfAnImpossibleYearIsNotWritten(t *testing.T) {
	s := parts.State{LastAt: time.Date(10000, 1, 1, 0, 0, 0, 0, time.UTC)}
	_, err := json.Marshal(s)
	require.Error(t, err)
	_, err = s.AppendJSON(nil)
	require.Error(t, err)
}
