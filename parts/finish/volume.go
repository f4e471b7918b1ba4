package finish

import (
	"math/big"
	"strings"

	"benchtally/parts"
)

// Volume is a whole number of sixteenths of a nanolitre. In it the millilitre
// and the fluid ounce are both whole numbers.
type Volume int64

// Units of volume. The gallon is that of the United States, 231 cubic inches
// of 25.4 mm by definition, and the ounce and the quart are parts of it.
const (
	Millilitre Volume = 16_000_000
	Litre             = 1_000 * Millilitre
	FluidOunce Volume = 473_176_473
	Quart             = 32 * FluidOunce
	Gallon            = 128 * FluidOunce
)

// MostVolume is the largest volume that is read; more is a slip of the unit.
const MostVolume = 1_000 * Litre

// volumeUnits are the units as people write them.
var volumeUnits = map[string]Volume{
	"ml": Millilitre, "cl": 10 * Millilitre, "l": Litre, "litre": Litre, "litres": Litre, "liter": Litre, "liters": Litre,
	"oz": FluidOunce, "fl oz": FluidOunce, "pt": 16 * FluidOunce, "pint": 16 * FluidOunce, "pints": 16 * FluidOunce,
	"qt": Quart, "quart": Quart, "quarts": Quart, "gal": Gallon, "gallon": Gallon, "gallons": Gallon,
}

// ParseVolume reads a number and a unit: "250 ml", "1.5 l", "8 fl oz", "1 qt".
func ParseVolume(text string) (Volume, *parts.Problem) {
	clean := strings.ToLower(strings.TrimSpace(text))
	number := clean[:len(clean)-len(strings.TrimLeft(clean, "-0123456789.,"))]
	unit := volumeUnits[strings.Join(strings.Fields(strings.ReplaceAll(clean[len(number):], ".", " ")), " ")]
	if unit == 0 {
		return 0, parts.Problemf(parts.Invalid, "volume-unit", "%q has no unit of volume that is known.", short(text)).
			Next("Write it like 250 ml, 1.5 l, 8 fl oz or 1 qt.")
	}
	n, p := ParseDecimal(number)
	if p != nil {
		return 0, p
	}
	v := new(big.Rat).Mul(n.rat(), big.NewRat(int64(unit), 1))
	if n < 0 || v.Cmp(big.NewRat(int64(MostVolume), 1)) > 0 {
		return 0, parts.Problemf(parts.Invalid, "volume-size", "%q cannot be the volume of a finish.", short(text)).
			Next("Write what it really is, at most %s.", MostVolume.Format(parts.Style{}))
	}
	return Volume(nearest(v)), nil
}

// Format writes v for reading, in the units of a shop that prints lengths in
// st: millilitres and litres, or fluid ounces and quarts.
func (v Volume) Format(st parts.Style) string {
	in := func(unit Volume, places int, name string) string {
		return st.Decimal(decimalOf(big.NewRat(int64(v), int64(unit))).Round(places).String()) + " " + name
	}
	inches := st.Unit == parts.Inches || st.Unit == parts.Feet
	switch {
	case inches && v < Quart:
		return in(FluidOunce, 1, "fl oz")
	case inches:
		return in(Quart, 2, "qt")
	case v < 10*Millilitre:
		return in(Millilitre, 1, "ml")
	case v < Litre:
		return in(Millilitre, 0, "ml")
	}
	return in(Litre, 2, "l")
}

func (v Volume) rat() *big.Rat { return big.NewRat(int64(v), 1) }

// times is v times r, rounded up: what is short of a finish shows on the wood.
func (v Volume) times(r *big.Rat) Volume { return Volume(ceil(new(big.Rat).Mul(v.rat(), r))) }
