package server

import (
	"bytes"
	"cmp"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// kinds of request, each with what a handler reads of it before it acts: its
// id and what it is about.
var kinds = []struct {
	empty func() any
	names func(any) (id, about string, err error)
}{
	{func() any { return &deed{} }, func(v any) (string, string, error) { return deedNames(*v.(*deed)) }},
	{func() any { return &scanned{} }, func(v any) (string, string, error) { return deedNames(v.(*scanned).deed) }},
	{func() any { return &firstChecked{} }, func(v any) (string, string, error) { return deedNames(v.(*firstChecked).deed) }},
	{func() any { return &noted{} }, func(v any) (string, string, error) { return deedNames(v.(*noted).deed) }},
	{func() any { return &unclamped{} }, func(v any) (string, string, error) { return deedNames(v.(*unclamped).deed) }},
	{func() any { return &skipped{} }, func(v any) (string, string, error) { return deedNames(v.(*skipped).deed) }},
	{func() any { return &plugged{} }, func(v any) (string, string, error) { return deedNames(v.(*plugged).deed) }},
	{func() any { return &mended{} }, func(v any) (string, string, error) { return deedNames(v.(*mended).deed) }},
	{func() any { return &doubted{} }, func(v any) (string, string, error) { return deedNames(v.(*doubted).deed) }},
	{func() any { return &remade{} }, func(v any) (string, string, error) { return deedNames(v.(*remade).deed) }},
	{func() any { return &lost{} }, func(v any) (string, string, error) { return deedNames(v.(*lost).deed) }},
	{func() any { return &loaded{} }, func(v any) (string, string, error) { return deedNames(v.(*loaded).deed) }},
	{func() any { return &undone{} }, func(v any) (string, string, error) {
		u := v.(*undone)
		target, err := parts.ParseCommandID(u.Command)
		return u.ID, target.String(), cmp.Or(idOf(u.ID), err)
	}},
	{func() any { return &jobAsked{} }, func(v any) (string, string, error) { j := v.(*jobAsked); return j.ID, "a job", idOf(j.ID) }},
	{func() any { return &stepsChanged{} }, func(v any) (string, string, error) { j := v.(*stepsChanged); return j.ID, "a job", idOf(j.ID) }},
	{func() any { return &printing{} }, func(v any) (string, string, error) { p := v.(*printing); return p.ID, "a job", idOf(p.ID) }},
	{func() any { return &sheetSpoiled{} }, func(v any) (string, string, error) { p := v.(*sheetSpoiled); return p.ID, "an order", idOf(p.ID) }},
	{func() any { return &cartAdded{} }, func(v any) (string, string, error) { c := v.(*cartAdded); return c.ID, "a cart", idOf(c.ID) }},
	{func() any { return &mixWritten{} }, func(any) (string, string, error) { return "none", "a mix", nil }},
	{func() any { return &batchMixed{} }, func(v any) (string, string, error) { b := v.(*batchMixed); return b.ID, "a batch", idOf(b.ID) }},
	{func() any { return &boardsMade{} }, func(any) (string, string, error) { return "none", "sample boards", nil }},
	{func() any { return &approvedBy{} }, func(any) (string, string, error) { return "none", "a sample board", nil }},
	{func() any { return &readingsSent{} }, func(any) (string, string, error) { return "none", "the air", nil }},
	{func() any { return &readingSent{} }, func(any) (string, string, error) { return "none", "the air", nil }},
	{func() any { return &lateSettled{} }, func(v any) (string, string, error) { l := v.(*lateSettled); return l.ID, "a scan", idOf(l.ID) }},
}

func deedNames(d deed) (id, about string, err error) {
	r, err := request(d)
	return r.ID.String(), r.Mark, err
}

func idOf(text string) error {
	_, err := commandID(text)
	return err
}

// A new kind of request is fuzzed too, or this fails.
func TestEveryRequestOfTheAPIIsFuzzed(t *testing.T) {
	files, err := filepath.Glob("api*.go")
	require.NoError(t, err)
	var fuzzed []string
	for _, kind := range kinds {
		fuzzed = append(fuzzed, reflect.TypeOf(kind.empty()).Elem().Name())
	}
	found := 0
	for _, file := range files {
		source, err := os.ReadFile(file)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`var (\w+) (\w+)\n\s*if err := decode\([^,]+, &(\w+)\)`).FindAllSubmatch(source, -1) {
			require.Equal(t, string(m[1]), string(m[3]))
			assert.Contains(t, fuzzed, string(m[2]), file)
			found++
		}
		if !strings.HasSuffix(file, "_test.go") && file != "api_decode.go" {
			found -= bytes.Count(source, []byte(" decode("))
		}
	}
	require.Zero(t, found, "a request is decoded in a way that this test does not see")
}

// whole is a request of a kind with every field in it.
func whole(t testing.TB, v any) string {
	t.Helper()
	body := map[string]any{}
	for name, at := range fieldsOf(v) {
		field := reflect.ValueOf(v).Elem().FieldByIndex(at)
		switch field.Interface().(type) {
		case int, int64:
			body[name] = 2
		case bool:
			body[name] = true
		case time.Time:
			body[name] = "2026-03-02T13:00:00.5+01:00"
		case []int:
			body[name] = []int{6, 8}
		case *float64, float64:
			body[name] = 18.5
		case finish.Decimal:
			body[name] = "2.5"
		case []finish.Component:
			body[name] = []finish.Component{{Name: "Stain base", Parts: 3 * finish.One}}
		case []finish.Additive:
			body[name] = []finish.Additive{{Name: "Flow additive", Percent: 15 * finish.One, Of: finish.OfWhole}}
		case *finish.Additive:
			body[name] = finish.Additive{Name: "Thinner", Percent: finish.One, Of: finish.OfWhole}
		case map[string]string:
			body[name] = map[string]string{"Hardener": "H-21"}
		case []json.RawMessage:
			body[name] = []any{map[string]any{"celsius": 18.5, "humidity": 55}}
		case []string:
			body[name] = []string{"101S", "102W"}
		case []parts.Face:
			body[name] = []parts.Face{parts.ShowFace, parts.Ends}
		default:
			require.Equal(t, reflect.String, field.Kind(), "no example of field %q", name)
			body[name] = "torn grain"
		}
	}
	for name, text := range map[string]string{"id": "0194f3c2-7a31-7c55-9f0e-3b1d5a2c4e60", "command": "0194f3c27a317c559f0e3b1d5a2c4e61", "mark": "101S", "job": "TERN-POINT"} {
		if body[name] != nil {
			body[name] = text
		}
	}
	data, err := json.Marshal(body)
	require.NoError(t, err)
	return string(data)
}

const someID = `"id":"0194f3c2-7a31-7c55-9f0e-3b1d5a2c4e60"`

// seeds are bodies as devices send them, and as nobody should.
var seeds = []string{
	``, ` `, `{}`, `null`, `[]`, `{"id":null,"mark":null}`, `{"id":{"id":[]}}`,
	`{` + someID + `,"mark":"101S"}`,
	`{` + someID + `,"mark":"101S","station":"rip","step":2,"count":1,"override":true,"reason":"dry"}`,
	`{` + someID + `,"mark":"101S","at":"2026-03-02T12:00:00Z","sent":"2026-03-02T13:00:00.5+01:00","by":"Ann"}`,
	`{` + someID + `,"mark":"101S","at":"0001-01-01T00:00:00Z"}`,
	`{` + someID + `,"mark":"101S","at":"9999-12-31T23:59:59.999999999-23:59"}`,
	`{` + someID + `,"mark":"101S","step":0}`, `{` + someID + `,"mark":"101S","step":1e2}`, `{` + someID + `,"mark":"101S","step":9223372036854775807}`,
	`{` + someID + `,"mark":"101S","station":"plane","reason":"torn grain","note":"at the end"}`,
	`{` + someID + `,"mark":"101S","station":"bore","reason":"split","note":"both ends","spare":"102W","at":"2026-03-02T12:00:00Z","sent":"2026-03-02T12:00:01Z","by":"Ann"}`,
	`{` + someID + `,"command":"0194f3c27a317c559f0e3b1d5a2c4e61","by":"Ben","reason":"wrong ticket"}`,
	`{` + someID + `,"job":"TERN-POINT","what":"labels","sheet":"letter-3x10","first":4,"due":true,"again":true,"marks":["101S","102W"],"by":"Ann"}`,
	`{` + someID + `,"job":"TERN-POINT","marks":["101S",""]}`,
	`{` + someID + `,"job":"TERN-POINT","marks":[]}`, `{` + someID + `,"job":"TERN-POINT","marks":[null]}`,
	`{` + someID + `,"mark":"\ud800\u0000\u2028<&>"}`, "{\"mark\":\"\xff\"}", `{` + someID + `,` + someID + `}`,
	`{"mark":"101S","mark":"102W"}`, `{"ID":"x"}`, `{"":1}`, `{"mark":"101S"} {}`, `{"mark":"101S",}`,
	strings.Repeat(`{"mark":`, 200) + `1` + strings.Repeat(`}`, 200),
}

// FuzzDecode reads whatever comes as each kind of request. It never panics;
// what is wrong is a sentence for a person; what is taken has an id and says
// what it is about, and written out and read again it is the same.
func FuzzDecode(f *testing.F) {
	for k, kind := range kinds {
		f.Add(uint8(k), whole(f, kind.empty()))
		for _, body := range seeds {
			f.Add(uint8(k), body)
		}
	}
	f.Fuzz(func(t *testing.T, k uint8, body string) {
		kind := kinds[int(k)%len(kinds)]
		read := kind.empty()
		if err := decode(strings.NewReader(body), read); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%T: %v is no sentence for a person", read, err)
			return
		}
		if id, about, err := kind.names(read); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%T: %v is no sentence for a person", read, err)
		} else {
			require.NotEmpty(t, id)
			require.NotEmpty(t, about)
		}
		again := kind.empty()
		require.NoError(t, decode(strings.NewReader(asJSON(t, read)), again), "%T: %q", read, body)
		require.Equal(t, read, again)
	})
}

// asJSON writes a request without what it leaves out.
func asJSON(t *testing.T, v any) string {
	t.Helper()
	data, err := json.Marshal(v)
	require.NoError(t, err)
	fields := map[string]json.RawMessage{}
	require.NoError(t, json.Unmarshal(data, &fields))
	nothing, err := json.Marshal(time.Time{})
	require.NoError(t, err)
	for name, value := range fields {
		if slices.Contains([]string{`""`, `0`, `false`, `null`, string(nothing)}, string(value)) {
			delete(fields, name)
		}
	}
	data, err = json.Marshal(fields)
	require.NoError(t, err)
	return string(data)
}

// What is sent whole is read whole: no field is lost on the way.
func TestWholeRequestsAreReadWhole(t *testing.T) {
	for _, kind := range kinds {
		read := kind.empty()
		require.NoError(t, decode(strings.NewReader(whole(t, read)), read))
		for name, at := range fieldsOf(read) {
			field := reflect.ValueOf(read).Elem().FieldByIndex(at)
			assert.False(t, field.IsZero(), "field %q of %T is lost", name, read)
		}
		id, about, err := kind.names(read)
		require.NoError(t, err)
		assert.NotEmpty(t, id)
		assert.NotEmpty(t, about)
	}
}
