package parts

import (
	"strconv"
	"strings"
)

// Length is a whole number of eightieths of a micrometre, 12.5 nm each. In
// it 1/128 in, 0.001 in and every 0.1 µm are whole numbers, so what a
// person wrote is kept exactly and no float is stored. Zero is no length.
type Length int64

// Units of length.
const (
	Micrometre Length = 80
	Millimetre        = 1_000 * Micrometre
	Centimetre        = 10 * Millimetre
	Metre             = 1_000 * Millimetre
	Inch       Length = 2_032_000 // 25.4 mm, exact by definition of the inch
	Foot              = 12 * Inch
)

// LongestLength is the longest size that is read. Longer ones are slips of
// the pen or of the unit.
const LongestLength = 100 * Metre

// Unit is a unit of length as people write it.
type Unit string

// The units that sizes are written in.
const (
	Inches      Unit = "in"
	Feet        Unit = "ft"
	Millimetres Unit = "mm"
	Centimetres Unit = "cm"
	Metres      Unit = "m"
)

// Of is how long one of the unit is; zero for a unit that is not known.
func (u Unit) Of() Length {
	switch u {
	case Inches:
		return Inch
	case Feet:
		return Foot
	case Millimetres:
		return Millimetre
	case Centimetres:
		return Centimetre
	case Metres:
		return Metre
	}
	return 0
}

// Style is how the shop prints lengths. The unit is Inches (Feet prints the
// same way) or Millimetres (as does every other unit). Denominator is that of the smallest
// fraction of an inch: a power of two up to 128; anything else counts as 32.
type Style struct {
	Unit        Unit `json:"unit"`
	Denominator int  `json:"denominator,omitempty"`
	Comma       bool `json:"-"` // the reader's language writes decimals with a comma
}

// Decimal writes a decimal number, which has a point, as the reader's language
// does.
func (st Style) Decimal(number string) string {
	if st.Comma {
		return strings.Replace(number, ".", ",", 1)
	}
	return number
}

// rounded marks a printed value that is not exactly the length.
const rounded = "≈ "

// Format prints l the way the shop does: `34 1/2"`, `914 mm`, `876.3 mm`.
// It rounds to the nearest fraction or tenth of a millimetre, exact halves
// up, and puts "≈ " before a rounded value.
func (l Length) Format(st Style) string {
	if st.Unit == Inches || st.Unit == Feet {
		den := Length(st.Denominator)
		if den < 1 || den > 128 || den&(den-1) != 0 {
			den = 32
		}
		n, exact := l.count(Inch / 128 * (128 / den))
		return about(exact) + fraction(n, int64(den))
	}
	n, exact := l.count(Millimetre / 10)
	return about(exact) + st.Decimal(decimal(n, 1)) + " mm"
}

// String prints l exactly, in 128ths of an inch where they fit and else in
// millimetres, so that ParseLength reads the same length again however the
// list is meant.
func (l Length) String() string {
	if n, exact := l.count(Inch / 128); exact {
		return fraction(n, 128)
	}
	s := decimal(int64(l)*125, 7) // a length is a multiple of 0.0000125 mm
	if dot := strings.IndexByte(s, '.'); dot >= 0 && len(s)-dot == 4 {
		s += "0" // three digits would be thousands in a decimal-comma list
	}
	return s + " mm"
}

// count is l in whole steps, the nearest number of them, halves up, and
// whether it is exact.
func (l Length) count(step Length) (n int64, exact bool) {
	n, rest := int64(l/step), l%step
	if rest < 0 {
		n, rest = n-1, rest+step
	}
	if 2*rest >= step {
		n++
	}
	return n, rest == 0
}

func about(exact bool) string {
	if exact {
		return ""
	}
	return rounded
}

// fraction prints n/den inches, den a power of two.
func fraction(n, den int64) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	whole, n := n/den, n%den
	for n%2 == 0 && den > 1 {
		n, den = n/2, den/2
	}
	switch {
	case n == 0:
		return sign + strconv.FormatInt(whole, 10) + `"`
	case whole == 0:
		return sign + strconv.FormatInt(n, 10) + "/" + strconv.FormatInt(den, 10) + `"`
	}
	return sign + strconv.FormatInt(whole, 10) + " " + strconv.FormatInt(n, 10) + "/" + strconv.FormatInt(den, 10) + `"`
}

// decimal prints n / 10^places without trailing zeros.
func decimal(n int64, places int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	s := strconv.FormatInt(n, 10)
	if missing := places + 1 - len(s); missing > 0 {
		s = strings.Repeat("0", missing) + s
	}
	whole, frac := s[:len(s)-places], strings.TrimRight(s[len(s)-places:], "0")
	if frac == "" {
		return sign + whole
	}
	return sign + whole + "." + frac
}
