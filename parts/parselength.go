package parts

import (
	"errors"
	"math/big"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Writing is how the bare numbers of a list are meant: the unit of a number
// that has none (Inches when empty), and whether its decimals follow a comma.
type Writing struct {
	Unit         Unit
	DecimalComma bool
}

// errUnreadable stands for every way in which a text is no length.
var errUnreadable = errors.New("unreadable")

// errUnclear is 21/4, which may be 2 1/4 without its space or 5 1/4.
var errUnclear = errors.New("unclear fraction")

// longestText is the most characters a length is written with.
const longestText = 40

// ParseLength reads a length as woodworkers write it: `34 1/2`, `34-1/2"`,
// `2¼`, `4'3-1/2"`, `2.25in`, `914mm`, `91.4 cm`. A unit in the text wins over
// w. The value is rounded to the nearest 12.5 nm, which only thirds and the
// like need.
//
// Of point and comma, the last one in a number is the decimal one if both
// occur. A single one that is not the list's own groups thousands when exactly
// three digits follow and the digits before do not start with zero (`1,219`
// is 1219), and is the decimal one otherwise (`1,5` is 1.5).
//
// A fraction of more than one whole with two digits or more above the line is
// not taken at its word: 21/4 is more often 2 1/4 than 5 1/4.
//
// The error is an Invalid Problem: length-empty, length-unreadable, length-unclear,
// length-negative, length-zero or length-too-long (over LongestLength).
func ParseLength(s string, w Writing) (Length, error) {
	text := strings.Trim(plain(s), " ")
	if text == "" {
		return 0, Problemf(Invalid, "length-empty", "There is no length here.").Next(howToWrite)
	}
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		if _, err := readLength(strings.Trim(rest, " "), w); err == nil {
			return 0, lengthProblem("length-negative", "%s is less than nothing; a length has no minus sign.", s)
		}
	}
	value, err := readLength(text, w)
	if errors.Is(err, errUnclear) {
		return 0, lengthProblem("length-unclear", "%s may lack a space between the whole and the fraction.", s)
	}
	if err != nil || utf8.RuneCountInString(s) > longestText {
		return 0, lengthProblem("length-unreadable", "%s cannot be read as a length.", s)
	}
	if value.Cmp(new(big.Rat).SetInt64(int64(LongestLength))) > 0 {
		return 0, lengthProblem("length-too-long", "%s is more than 100 m, longer than any part. Check the unit.", s)
	}
	if l := nearest(value); l > 0 {
		return l, nil
	}
	return 0, lengthProblem("length-zero", "%s is no length: a part needs more than zero.", s)
}

const howToWrite = `Write it like 34 1/2, 34-1/2", 2.25in, 4' 3-1/2" or 876.3 mm.`

func lengthProblem(code, say, text string) *Problem {
	return Problemf(Invalid, code, say, quoted(text)).Next(howToWrite)
}

// quoted shows what was read, with characters that cannot be seen spelt out.
func quoted(s string) string {
	s = strings.ToValidUTF8(clip(s), "\uFFFD")
	return "“" + strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '\uFFFD'
		}
		return r
	}, s) + "”"
}

// nearest rounds to a whole length, halves up.
func nearest(value *big.Rat) Length {
	twice := new(big.Int).Mul(value.Num(), big.NewInt(2))
	twice.Add(twice, value.Denom())
	return Length(twice.Quo(twice, new(big.Int).Mul(value.Denom(), big.NewInt(2))).Int64())
}

// readLength reads plain text that has no sign.
func readLength(text string, w Writing) (*big.Rat, error) {
	if utf8.RuneCountInString(text) > 2*longestText {
		return nil, errUnreadable
	}
	amount, whole, rest, err := readMixed(text, w.DecimalComma)
	if err != nil {
		return nil, err
	}
	unit, rest := readUnit(rest)
	if unit == "" && rest != "" {
		return nil, errUnreadable
	}
	if unit == "" {
		unit = w.Unit
	}
	if unit.Of() == 0 {
		unit = Inches
	}
	value := amount.Mul(amount, new(big.Rat).SetInt64(int64(unit.Of())))
	if rest == "" {
		return value, nil
	}
	if unit != Feet || !whole {
		return nil, errUnreadable
	}
	inches, err := readInches(gap(rest), w.DecimalComma)
	if err != nil {
		return nil, err
	}
	return value.Add(value, inches), nil
}

// readInches reads what follows the feet: less than twelve inches, with or
// without their mark.
func readInches(text string, comma bool) (*big.Rat, error) {
	amount, _, rest, err := readMixed(text, comma)
	if err != nil || amount.Cmp(big.NewRat(12, 1)) >= 0 {
		return nil, errUnreadable
	}
	unit, rest := readUnit(rest)
	if rest != "" || unit != "" && unit != Inches {
		return nil, errUnreadable
	}
	return amount.Mul(amount, new(big.Rat).SetInt64(int64(Inch))), nil
}

// unitWords lists how units are written, longer words before their beginnings.
var unitWords = []struct {
	word string
	unit Unit
}{
	{"millimetres", Millimetres}, {"millimeters", Millimetres}, {"millimetre", Millimetres}, {"millimeter", Millimetres},
	{"centimetres", Centimetres}, {"centimeters", Centimetres}, {"centimetre", Centimetres}, {"centimeter", Centimetres},
	{"metres", Metres}, {"meters", Metres}, {"metre", Metres}, {"meter", Metres},
	{"inches", Inches}, {"inch", Inches}, {"in.", Inches}, {"in", Inches}, {"zoll", Inches}, {`"`, Inches},
	{"feet", Feet}, {"foot", Feet}, {"ft.", Feet}, {"ft", Feet}, {"'", Feet},
	{"mm", Millimetres}, {"cm", Centimetres}, {"m", Metres},
}

// readUnit takes a unit off the front of text, "" when none is there.
func readUnit(text string) (unit Unit, rest string) {
	for _, u := range unitWords {
		if rest, found := strings.CutPrefix(gap(text), u.word); found {
			return u.unit, strings.TrimSpace(rest)
		}
	}
	return "", strings.TrimSpace(text)
}

// gap takes what may stand between two members of a length off the front of
// text: spaces and one hyphen.
func gap(text string) string {
	return strings.TrimLeft(strings.TrimPrefix(strings.TrimLeft(text, " "), "-"), " ")
}
