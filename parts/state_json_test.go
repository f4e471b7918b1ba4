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
)

// anything fills a value of any type of the model: about half of the fields
// of a struct, so that what is left out when empty is met both ways.
func anything(t *rapid.T, v reflect.Value) {
	if v.Type() == reflect.TypeFor[time.Time]() {
		ms := rapid.Int64Range(0, 4102444800000).Draw(t, "time")
		v.Set(reflect.ValueOf(time.UnixMilli(ms).UTC()))
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
			anything(t, v.Index(i))
		}
	case reflect.Pointer:
		if v.Type() != reflect.TypeFor[*parts.State]() { // it holds what is asked already
			v.Set(reflect.New(v.Type().Elem()))
			anything(t, v.Elem())
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if rapid.Bool().Draw(t, "there") {
				anything(t, v.Field(i))
			}
		}
	}
}

// Beside it stands encoding/json itself, which reads the names and what is
// left out from the struct: a field that is added there and forgotten here is
// found.
func TestAStateIsWrittenAsEncodingJSONWritesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s parts.State
		anything(t, reflect.ValueOf(&s).Elem())
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
		anything(t, reflect.ValueOf(&d).Elem())
		if rapid.Bool().Draw(t, "back") {
			d.Back = new(parts.State)
			anything(t, reflect.ValueOf(d.Back).Elem())
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
