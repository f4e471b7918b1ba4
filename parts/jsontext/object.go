// Package jsontext writes objects of JSON field by field, each as encoding/json
// would write it, to the byte, and takes objects apart into their fields. It is
// for the few values that every scan reads and writes, where the general way,
// which looks a type over field by field, is most of the cost. It knows nothing of
// what they say.
package jsontext

import (
	"encoding/json"
	"fmt"
	"strconv"
	"sync"
	"time"
)

// Appender writes itself.
type Appender interface {
	// AppendJSON appends the value as encoding/json writes it, byte for byte.
	AppendJSON(to []byte) ([]byte, error)
}

// rooms are used again for the texts of values that write themselves.
var rooms = sync.Pool{New: func() any { return new([]byte) }}

// mostKept bounds a room that is kept.
const mostKept = 16 << 10

// Use writes a value behind a text, one that writes itself or any other as
// encoding/json does, and lets do have both. They are gone when do returns.
func Use(v any, before string, do func(text []byte)) error {
	room := rooms.Get().(*[]byte)
	text, err := Append(append((*room)[:0], before...), v)
	if err == nil {
		do(text)
	}
	if cap(text) <= mostKept {
		*room = text
		rooms.Put(room)
	}
	return err
}

// Append appends a value.
func Append(to []byte, v any) ([]byte, error) {
	if own, ok := v.(Appender); ok {
		return own.AppendJSON(to)
	}
	text, err := json.Marshal(v)
	return append(to, text...), err
}

// Object is an object of JSON under way.
type Object struct {
	out []byte
	err error // the first one
}

// Begin begins an object after what is in to.
func Begin(to []byte) Object { return Object{out: append(to, '{')} }

// End gives the text with the object at its end.
func (o *Object) End() ([]byte, error) { return append(o.out, '}'), o.err }

func (o *Object) key(name string) {
	if o.out[len(o.out)-1] != '{' {
		o.out = append(o.out, ',')
	}
	o.out = append(append(append(o.out, '"'), name...), '"', ':')
}

// Fields that are always there.

// Number writes a whole number.
func (o *Object) Number(name string, n int64) {
	o.key(name)
	o.out = strconv.AppendInt(o.out, n, 10)
}

// String writes a text.
func (o *Object) String(name, text string) {
	o.key(name)
	for i := range len(text) {
		if c := text[i]; c < ' ' || c > '~' || c == '"' || c == '\\' || c == '<' || c == '>' || c == '&' {
			o.general(text)
			return
		}
	}
	o.out = append(append(append(o.out, '"'), text...), '"')
}

// Time writes a time.
func (o *Object) Time(name string, t time.Time) {
	o.key(name)
	if y := t.Year(); y < 0 || y > 9999 {
		o.fail(fmt.Errorf("the year %d has no place in JSON", y))
		return
	}
	o.out = append(t.AppendFormat(append(o.out, '"'), time.RFC3339Nano), '"')
}

// Value writes what writes itself.
func (o *Object) Value(name string, v Appender) {
	o.key(name)
	out, err := v.AppendJSON(o.out)
	o.out = out
	o.fail(err)
}

// Any writes a value in the general way.
func (o *Object) Any(name string, v any) {
	o.key(name)
	o.general(v)
}

// Fields that are left out when they are zero.

// Count writes a whole number.
func (o *Object) Count(name string, n int64) {
	if n != 0 {
		o.Number(name, n)
	}
}

// Text writes a text.
func (o *Object) Text(name, text string) {
	if text != "" {
		o.String(name, text)
	}
}

// Flag writes that something is so.
func (o *Object) Flag(name string, b bool) {
	if b {
		o.key(name)
		o.out = append(o.out, "true"...)
	}
}

// When writes a time.
func (o *Object) When(name string, t time.Time) {
	if !t.IsZero() {
		o.Time(name, t)
	}
}

// List writes a list, which is rare, in the general way.
func List[T any](o *Object, name string, list []T) {
	if len(list) > 0 {
		o.Any(name, list)
	}
}

func (o *Object) general(v any) {
	data, err := json.Marshal(v)
	o.fail(err)
	o.out = append(o.out, data...)
}

func (o *Object) fail(err error) {
	if o.err == nil {
		o.err = err
	}
}
