package server

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// kinds of request, each with what names its id and what it is about.
var kinds = []struct {
	name  string
	empty func() any
	names func(any) (id, about string, err error)
}{
	{"scan", func() any { return &scanned{} }, func(v any) (string, string, error) { return deedNames(v.(*scanned).deed) }},
	{"plug, hold, release, take-apart", func() any { return &noted{} }, func(v any) (string, string, error) { return deedNames(v.(*noted).deed) }},
	{"remake", func() any { return &remade{} }, func(v any) (string, string, error) { return deedNames(v.(*remade).deed) }},
	{"undo", func() any { return &undone{} }, func(v any) (string, string, error) {
		u := v.(*undone)
		if _, err := commandID(u.ID); err != nil {
			return "", "", err
		}
		target, err := parts.ParseCommandID(u.Command)
		return u.ID, target.String(), err
	}},
	{"print order", func() any { return &printing{} }, func(v any) (string, string, error) {
		p := v.(*printing)
		id, err := commandID(p.ID)
		return id.String(), p.Job, err
	}},
}

func deedNames(d deed) (id, about string, err error) {
	r, err := request(d)
	return r.ID.String(), r.Mark, err
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
	for _, body := range seeds {
		for k := range kinds {
			f.Add(uint8(k), body)
		}
	}
	f.Fuzz(func(t *testing.T, k uint8, body string) {
		kind := kinds[int(k)%len(kinds)]
		read := kind.empty()
		if err := decode(strings.NewReader(body), read); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%s: %v is no sentence for a person", kind.name, err)
			return
		}
		if id, about, err := kind.names(read); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%s: %v is no sentence for a person", kind.name, err)
		} else if kind.name != "print order" {
			require.NotEmpty(t, id)
			require.NotEmpty(t, about)
		}
		again := kind.empty()
		require.NoError(t, decode(strings.NewReader(written(t, read)), again), "%s: %q", kind.name, body)
		require.Equal(t, read, again)
	})
}

// written writes a request without what it leaves out.
func written(t *testing.T, v any) string {
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

// A field that no seed sends is one that the fuzzer hardly ever finds.
func TestSeedsOfTheDecoderCoverEveryField(t *testing.T) {
	for _, kind := range kinds {
		sent := map[string]bool{}
		for _, body := range seeds {
			v := kind.empty()
			if decode(strings.NewReader(body), v) != nil {
				continue
			}
			for name, field := range fieldsOf(v) {
				sent[name] = sent[name] || !reflect.ValueOf(field.Interface()).IsZero()
			}
		}
		for name := range fieldsOf(kind.empty()) {
			assert.True(t, sent[name], "no seed sends %q of a %s", name, kind.name)
		}
	}
}
