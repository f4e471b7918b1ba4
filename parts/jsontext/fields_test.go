package jsontext_test

import (
	"bytes"
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts/jsontext"
)

type field struct {
	name  string
	value string
}

// theirs reads the fields of an object with encoding/json.
func theirs(t require.TestingT, object []byte) (all []field) {
	d := json.NewDecoder(bytes.NewReader(object))
	_, err := d.Token()
	require.NoError(t, err)
	for d.More() {
		name, err := d.Token()
		require.NoError(t, err)
		var value json.RawMessage
		require.NoError(t, d.Decode(&value))
		all = append(all, field{name.(string), string(value)})
	}
	return all
}

func ours(object []byte) (all []field) {
	for name, value := range jsontext.Fields(object) {
		all = append(all, field{name, string(value)})
	}
	return all
}

func TestFieldsOfOddObjects(t *testing.T) {
	for _, object := range []string{
		`{}`, "{ \t\r\n}", `{"":""}`, `{"a":1,"a":2}`, `{"a" : -1.5e3 , "b":true}`, "{\n\"a\"\n:\nnull\n,\"b\":[]}",
		`{"\"":"\\","\u0061":"}"}`, `{"a":{"b":[{"}":"]"}]},"c":[[],"[\"",{}]}`, `{"é":"\\\"","😀":"\ud83d\ude00"}`, `{"\ud800":0}`,
	} {
		require.True(t, json.Valid([]byte(object)), object)
		assert.Equal(t, theirs(t, []byte(object)), ours([]byte(object)), object)
	}
	for name := range jsontext.Fields([]byte(`{"a":1,"b":2}`)) {
		assert.Equal(t, "a", name, "who stops gets no more")
		break
	}
}

// The reference is encoding/json of Go.
func TestFieldsAreThoseOfEncodingJSON(t *testing.T) {
	leaf := rapid.OneOf(rapid.Just[any](nil), rapid.Bool().AsAny(), rapid.Float64().AsAny(), rapid.Int().AsAny(), rapid.String().AsAny())
	list := rapid.SliceOfN(leaf, 0, 3).AsAny()
	object := rapid.MapOfN(rapid.String(), rapid.OneOf(leaf, list), 0, 3).AsAny()
	any := rapid.MapOfN(rapid.String(), rapid.OneOf(leaf, list, object, rapid.SliceOfN(object, 0, 2).AsAny()), 0, 6)
	rapid.Check(t, func(t *rapid.T) {
		text, err := json.Marshal(any.Draw(t, "object"))
		require.NoError(t, err)
		var spaced bytes.Buffer
		require.NoError(t, json.Indent(&spaced, text, "", rapid.SampledFrom([]string{"", " ", "\t"}).Draw(t, "indent")))
		assert.Equal(t, theirs(t, text), ours(text))
		assert.Equal(t, theirs(t, text), func() (all []field) {
			for _, f := range ours(spaced.Bytes()) {
				var tight bytes.Buffer
				require.NoError(t, json.Compact(&tight, []byte(f.value)))
				all = append(all, field{f.name, tight.String()})
			}
			return all
		}())
	})
}

// The reference is encoding/json of Go, which a value that does not fit leaves as it was.
func TestValuesAreReadAsEncodingJSONReadsThem(t *testing.T) {
	same := func(t require.TestingT, value string) {
		text, theirText := "before", "before"
		assert.Equal(t, json.Unmarshal([]byte(value), &theirText) == nil, jsontext.Read([]byte(value), &text) == nil, value)
		assert.Equal(t, theirText, text, value)
		number, theirNumber := 7, 7
		assert.Equal(t, json.Unmarshal([]byte(value), &theirNumber) == nil, jsontext.Read([]byte(value), &number) == nil, value)
		assert.Equal(t, theirNumber, number, value)
		list, theirList := []string{"x"}, []string{"x"}
		assert.Equal(t, json.Unmarshal([]byte(value), &theirList) == nil, jsontext.Read([]byte(value), &list) == nil, value)
		assert.Equal(t, theirList, list, value)
	}
	for _, value := range []string{`""`, `"\""`, `"\u00e9"`, `"é"`, `"\ud800"`, `"7"`, `-0`, `7`, `7.0`, `7e2`, `9223372036854775807`, `9223372036854775808`, `-9223372036854775809`,
		`null`, `true`, `{}`, `[]`, `["a",null]`, `[1]`} {
		require.True(t, json.Valid([]byte(value)), value)
		same(t, value)
	}
	rapid.Check(t, func(t *rapid.T) {
		value, err := json.Marshal(rapid.OneOf(rapid.Int().AsAny(), rapid.Float64().AsAny(), rapid.String().AsAny(), rapid.SliceOf(rapid.String()).AsAny()).Draw(t, "value"))
		require.NoError(t, err)
		same(t, string(value))
	})
}
