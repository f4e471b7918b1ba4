package cutlist

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"benchtally/parts"
)

// clean composes accents and turns every run of spaces, tabs and line ends
// into one space.
func clean(s string) string {
	return norm.NFC.String(strings.Join(strings.Fields(s), " "))
}

// unprintable tells characters that no label can carry: beyond the first
// plane, control and formatting (right-to-left override and the like), private
// use, pictures, and what broken text leaves behind.
func unprintable(r rune) bool {
	switch {
	case r > 0xFFFF, r == unicode.ReplacementChar, unicode.Is(unicode.C, r), unicode.Is(unicode.Variation_Selector, r):
		return true
	case r >= 0x2300 && unicode.Is(unicode.So, r): // ° © ® № ™ come before
		return true
	}
	return !unicode.IsPrint(r) && !unicode.Is(unicode.Zs, r)
}

// words reads a text of at most longest characters, all of them printable.
func words(s string, longest int) (string, *parts.Problem) {
	s = clean(s)
	for _, r := range s {
		if unprintable(r) {
			return "", parts.Problemf(parts.Invalid, "character-unprintable", "The character %s cannot be printed on a label.", describe(r)).
				Next("Take it out, or write it in letters.")
		}
	}
	if n := utf8.RuneCountInString(s); n > longest {
		return "", parts.Problemf(parts.Invalid, "text-too-long", "This is %d characters long; there is room for %d.", n, longest).
			Next("Shorten it.")
	}
	return s, nil
}

// describe names a character: by its number, with a picture when it has one
// that does no harm in a sentence.
func describe(r rune) string {
	number := fmt.Sprintf("U+%04X", r)
	if unicode.IsPrint(r) && r != unicode.ReplacementChar && !unicode.Is(unicode.M, r) {
		return fmt.Sprintf("%c (%s)", r, number)
	}
	return number
}
