package server

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"benchtally/parts"
	"benchtally/parts/jsontext"
)

// mostJSON bounds the body of a request in JSON; the longest sensible one
// prints labels for a few thousand marks.
const mostJSON = 256 << 10

// decode reads one JSON object into the struct that to points at. It is
// strict, so that a misspelt field is an answer and not a surprise: names
// count letter by letter, each once, null is left out and numbers start at 1.
func decode(body io.Reader, to any) error {
	room := bodies.Get().(*bytes.Buffer)
	defer bodies.Put(room)
	room.Reset()
	data, err := readJSON(body, room)
	if err != nil {
		return err
	}
	fields := fieldsOf(to)
	seen := map[string]bool{}
	for name, value := range jsontext.Fields(data) {
		field, known := fields[name]
		switch {
		case !known:
			return fieldUnknown(name, fields)
		case seen[name]:
			return parts.Problemf(parts.Invalid, "field-twice", "The field %q is there twice.", name).Next("Send it once.").Fact("field", name)
		}
		seen[name] = true
		if err := setField(name, reflect.ValueOf(to).Elem().FieldByIndex(field), value); err != nil {
			return err
		}
	}
	return nil
}

// bodies are rooms for bodies, which are used again.
var bodies = sync.Pool{New: func() any { return new(bytes.Buffer) }}

// readJSON reads a body that is one JSON object and nothing else, into a room.
func readJSON(body io.Reader, room *bytes.Buffer) ([]byte, error) {
	_, err := room.ReadFrom(io.LimitReader(body, mostJSON+1))
	data := room.Bytes()
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &tooBig):
		return nil, err
	case err != nil:
		return nil, parts.Problemf(parts.Invalid, "body-cut", "The body of the request did not arrive whole.").Next("Sending it again is safe.")
	case len(data) > mostJSON:
		return nil, parts.Problemf(parts.TooBig, "body-large", "The body of the request is larger than %d kB.", mostJSON>>10).Next("Send less at once.")
	case len(bytes.TrimSpace(data)) == 0:
		return nil, parts.Problemf(parts.Invalid, "body-empty", "The request has no body.").Next("Send one JSON object.")
	case !utf8.Valid(data):
		return nil, parts.Problemf(parts.Invalid, "body-encoding", "The body of the request is not UTF-8.").Next("Send one JSON object, written in UTF-8.")
	}
	if !json.Valid(data) {
		var whole json.RawMessage
		return nil, notJSON(json.Unmarshal(data, &whole)) // says where
	}
	if data = bytes.TrimSpace(data); data[0] != '{' {
		return nil, parts.Problemf(parts.Invalid, "body-no-object", "The body of the request is JSON, but no object.").Next("Send one JSON object: { ... }.")
	}
	return data, nil
}

func notJSON(err error) error {
	p := parts.Problemf(parts.Invalid, "body-no-json", "The body of the request is not JSON: %s.", err.Error()).Next("Send one JSON object and nothing after it.")
	var syntax *json.SyntaxError
	if errors.As(err, &syntax) {
		p.Fact("offset", syntax.Offset)
	}
	return p
}

// fieldsOfTypes keeps what fieldsOf found, by type: it looks every field over.
var fieldsOfTypes sync.Map

// fieldsOf says where the fields of the struct are that to points at, by their
// names in JSON.
func fieldsOf(to any) map[string][]int {
	t := reflect.TypeOf(to).Elem()
	if known, ok := fieldsOfTypes.Load(t); ok {
		return known.(map[string][]int)
	}
	fields := map[string][]int{}
	for _, f := range reflect.VisibleFields(t) {
		if name, _, _ := strings.Cut(f.Tag.Get("json"), ","); name != "" && !f.Anonymous {
			fields[name] = f.Index
		}
	}
	fieldsOfTypes.Store(t, fields)
	return fields
}

func fieldUnknown(name string, fields map[string][]int) error {
	names := slices.Sorted(maps.Keys(fields))
	return parts.Problemf(parts.Invalid, "field-unknown", "This request has no field %q.", name).
		Next("Its fields are %s.", strings.Join(names, ", ")).Fact("field", name).Fact("fields", names)
}

// setField gives a field its value, when that is of the right kind.
func setField(name string, field reflect.Value, value []byte) error {
	if string(value) == "null" {
		return nil // how many programs write what they leave out
	}
	to := field.Addr().Interface()
	bad := jsontext.Read(value, to) != nil
	switch v := to.(type) {
	case *int:
		bad = bad || *v < 1
	case *int64:
		bad = bad || *v < 1
	case *time.Time:
		bad = bad || v.IsZero()
	case *[]string:
		bad = bad || slices.Contains(*v, "") // so does null in a list read
	case *[]int:
		bad = bad || slices.ContainsFunc(*v, func(n int) bool { return n < 1 })
	case *[]parts.Face:
		bad = bad || slices.ContainsFunc(*v, func(f parts.Face) bool { return !slices.Contains(parts.Faces, f) })
	}
	if !bad {
		return nil
	}
	return parts.Problemf(parts.Invalid, "field-wrong", "The field %q is not %s.", name, wanted(field)).
		Next("Send it as the API's description says, or leave it out if it may be left out.").Fact("field", name)
}

// wanted says what a field must be.
func wanted(field reflect.Value) string {
	switch field.Interface().(type) {
	case int, int64:
		return "a whole number from 1 up"
	case *float64:
		return "a number"
	case float64:
		return "a number"
	case bool:
		return "true or false"
	case time.Time:
		return "a time as RFC 3339 writes it, such as 2026-03-02T14:05:00Z"
	case []string:
		return "a list of texts"
	case []int:
		return "a list of whole numbers from 1 up"
	case []parts.Face:
		return fmt.Sprintf("a list of faces, which are %q", parts.Faces)
	}
	return "a text"
}

// commandID reads the id of a request.
func commandID(text string) (parts.CommandID, error) {
	if text == "" {
		return parts.CommandID{}, parts.Problemf(parts.Invalid, "id-missing", "The request has no id.").
			Next("Make a UUID for each new request and send it as id; send the same one when you repeat it.").Fact("field", "id")
	}
	id, err := parts.ParseCommandID(text)
	if p := parts.AsProblem(err); p != nil {
		return id, p.Fact("field", "id")
	}
	return id, err
}
