package finish

import (
	"math/big"
	"strconv"
	"strings"

	"benchtally/parts"
)

// Decimal is a number with up to six places, kept exactly as a whole number
// of millionths. It holds shares, percentages, densities and rates.
type Decimal int64

// One is the number one.
const One Decimal = 1_000_000

const decimalPlaces = 6

// ParseDecimal reads a number of at most six places, such as "3", "2.5" and
// "2,5". A comma with three figures after it could mean thousands, and is
// refused as unclear.
func ParseDecimal(text string) (Decimal, *parts.Problem) {
	clean := strings.TrimSpace(text)
	whole, places, _ := strings.Cut(strings.ReplaceAll(clean, ",", "."), ".")
	negative := strings.HasPrefix(whole, "-")
	whole = strings.TrimPrefix(whole, "-")
	switch {
	case strings.Contains(clean, ",") && len(places) == 3 && strings.Trim(whole, "0") != "":
		return 0, parts.Problemf(parts.Invalid, "number-unclear", "%q may mean thousands or thousandths.", short(text)).
			Next("Write it with a point, or without the comma.")
	case whole+places == "" || len(whole) > 9 || len(places) > decimalPlaces || strings.Trim(whole+places, "0123456789") != "":
		return 0, parts.Problemf(parts.Invalid, "number-unreadable", "%q is not a number that can be used here.", short(text)).
			Next("Write it like 3 or 2.5, with at most six places.")
	}
	n, err := strconv.ParseInt("0"+whole+places+strings.Repeat("0", decimalPlaces-len(places)), 10, 64)
	if err != nil {
		return 0, parts.Problemf(parts.Invalid, "number-unreadable", "%q is not a number that can be used here.", short(text)).
			Next("Write it like 3 or 2.5, with at most six places.").Because(err)
	}
	if negative {
		n = -n
	}
	return Decimal(n), nil
}

// short keeps what a person wrote from filling the sentence about it.
func short(text string) string {
	if r := []rune(text); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return text
}

// String writes d with a point and no zeros at the end; ParseDecimal reads it
// again.
func (d Decimal) String() string {
	sign, n := "", new(big.Int).Abs(big.NewInt(int64(d))).String()
	if d < 0 {
		sign = "-"
	}
	if missing := decimalPlaces + 1 - len(n); missing > 0 {
		n = strings.Repeat("0", missing) + n
	}
	at := len(n) - decimalPlaces
	return sign + strings.TrimSuffix(n[:at]+"."+strings.TrimRight(n[at:], "0"), ".")
}

// MarshalText writes d the way String does.
func (d Decimal) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads what ParseDecimal reads.
func (d *Decimal) UnmarshalText(text []byte) error {
	n, p := ParseDecimal(string(text))
	if p != nil {
		return p
	}
	*d = n
	return nil
}

// Round gives d with so many places, halves away from zero, for a page.
func (d Decimal) Round(places int) Decimal {
	step := Decimal(1)
	for range decimalPlaces - min(max(places, 0), decimalPlaces) {
		step *= 10
	}
	rest := d % step
	d -= rest
	switch {
	case 2*rest >= step && step > 1:
		d += step
	case 2*rest <= -step && step > 1:
		d -= step
	}
	return d
}

func (d Decimal) rat() *big.Rat { return big.NewRat(int64(d), int64(One)) }

// percentOf is d percent of n.
func (d Decimal) percentOf(n *big.Rat) *big.Rat {
	out := big.NewRat(int64(d), int64(One)*100)
	return out.Mul(out, n)
}

// decimalOf is the decimal nearest to r.
func decimalOf(r *big.Rat) Decimal {
	return Decimal(nearest(new(big.Rat).Mul(r, big.NewRat(int64(One), 1))))
}

// nearest is the whole number nearest to r, halves up, held to what 64 bits
// take: nothing that is measured comes near it.
func nearest(r *big.Rat) int64 {
	return floor(new(big.Rat).Add(r, big.NewRat(1, 2)))
}

// floor is the largest whole number that is not above r.
func floor(r *big.Rat) int64 {
	n := new(big.Int).Div(r.Num(), r.Denom())
	if !n.IsInt64() {
		if n.Sign() < 0 {
			return -1 << 62
		}
		return 1 << 62
	}
	return n.Int64()
}

// ceil is the smallest whole number that is not below r.
func ceil(r *big.Rat) int64 { return -floor(new(big.Rat).Neg(r)) }
