package shoptest

import (
	"encoding/json"
	"reflect"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/jsontext"
)

// WrittenAsJSON compares what a value writes of itself with what encoding/json
// writes, which reads the names and what is left out from the struct: a field
// that is added there and forgotten where it is written out is found.
func WrittenAsJSON(t *rapid.T, v jsontext.Appender) {
	want, err := json.Marshal(v)
	require.NoError(t, err)
	got, err := v.AppendJSON([]byte("before "))
	require.NoError(t, err)
	require.Equal(t, "before "+string(want), string(got))
}

// Anything fills a value of any type of the model: about half of the fields
// of a struct, so that what is left out when empty is met both ways.
func Anything(t *rapid.T, v reflect.Value) {
	if v.Type() == reflect.TypeFor[time.Time]() {
		ms := rapid.Int64Range(0, 4102444800000).Draw(t, "time")
		v.Set(reflect.ValueOf(time.UnixMilli(ms).UTC()))
		return
	}
	if v.Type() == reflect.TypeFor[parts.PastHow]() {
		v.SetString(string(rapid.SampledFrom([]parts.PastHow{parts.WasDone, parts.WasFilled, parts.WasSkipped}).Draw(t, "how")))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(rapid.StringN(0, 12, -1).Draw(t, "text"))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, "flag"))
	case reflect.Int, reflect.Int64:
		v.SetInt(rapid.Int64Range(-9, 1e12).Draw(t, "number"))
	case reflect.Float64:
		v.SetFloat(rapid.Float64Range(-9, 9).Draw(t, "number"))
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), rapid.IntRange(0, 3).Draw(t, "length"), 3))
		for i := range v.Len() {
			Anything(t, v.Index(i))
		}
	case reflect.Pointer:
		if v.Type() != reflect.TypeFor[*parts.State]() { // it holds what is asked already
			v.Set(reflect.New(v.Type().Elem()))
			Anything(t, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if rapid.Bool().Draw(t, "there") {
				Anything(t, v.Field(i))
			}
		}
	}
}
