package jsontext

import (
	"bytes"
	"encoding/json"
	"iter"
	"strconv"
	"strings"
)

// Fields gives the names and the values of an object, which must be valid JSON
// without spaces around it, in their order; a value is the text as it stands
// there.
func Fields(object []byte) iter.Seq2[string, []byte] {
	return func(yield func(string, []byte) bool) {
		for at := 1; ; {
			at = over(object, at, " \t\r\n,")
			if object[at] == '}' {
				return
			}
			name := object[at:valueEnd(object, at)]
			from := over(object, at+len(name), " \t\r\n:")
			at = valueEnd(object, from)
			if !yield(unquoted(name), object[from:at]) {
				return
			}
		}
	}
}

// over gives the first place from at on where none of the characters stands.
func over(text []byte, at int, characters string) int {
	for strings.IndexByte(characters, text[at]) >= 0 {
		at++
	}
	return at
}

// valueEnd gives the place after the value that begins at a place.
func valueEnd(text []byte, at int) int {
	switch text[at] {
	case '"':
		return stringEnd(text, at)
	case '{', '[':
		return groupEnd(text, at)
	}
	for strings.IndexByte(" \t\r\n,]}", text[at]) < 0 {
		at++
	}
	return at
}

// groupEnd gives the place after the object or list that begins at a place.
func groupEnd(text []byte, at int) int {
	for depth := 0; ; at++ {
		switch text[at] {
		case '"':
			at = stringEnd(text, at) - 1
		case '{', '[':
			depth++
		case '}', ']':
			if depth--; depth == 0 {
				return at + 1
			}
		}
	}
}

// stringEnd gives the place after the text that begins at a place.
func stringEnd(text []byte, at int) int {
	for at++; text[at] != '"'; at++ {
		if text[at] == '\\' {
			at++
		}
	}
	return at + 1
}

// Read reads a value, which must be valid JSON in UTF-8, into what to points
// at, as encoding/json does.
func Read(value []byte, to any) error {
	switch to := to.(type) {
	case *string:
		if value[0] == '"' {
			*to = unquoted(value)
			return nil
		}
	case *int:
		if n, err := strconv.Atoi(string(value)); err == nil {
			*to = n
			return nil
		}
	}
	return json.Unmarshal(value, to)
}

func unquoted(text []byte) (s string) {
	if bytes.IndexByte(text, '\\') < 0 {
		return string(text[1 : len(text)-1])
	}
	_ = json.Unmarshal(text, &s) // it is valid
	return s
}
