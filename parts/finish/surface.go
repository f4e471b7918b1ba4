package finish

import (
	"math/big"

	"benchtally/parts"
)

// Surface is an area, a whole number of square micrometres.
type Surface int64

// Units of area.
const (
	SquareMetre Surface = 1_000_000_000_000
	SquareFoot  Surface = 92_903_040_000 // 0.3048 m squared
	SquareInch  Surface = 645_160_000
)

// perSquareMicrometre is how many of the square of the unit of length make
// one of the unit of area.
const perSquareMicrometre = int64(parts.Micrometre) * int64(parts.Micrometre)

// Format writes s for reading, in square feet or square metres.
func (s Surface) Format(st parts.Style) string {
	unit, name := SquareMetre, "m²"
	if st.Unit == parts.Inches || st.Unit == parts.Feet {
		unit, name = SquareFoot, "ft²"
	}
	return decimalOf(big.NewRat(int64(s), int64(unit))).Round(2).String() + " " + name
}

// rectangle is the area of a by b, to the nearest square micrometre.
func rectangle(a, b parts.Length) *big.Rat {
	n := new(big.Int).Mul(big.NewInt(int64(a)), big.NewInt(int64(b)))
	return new(big.Rat).SetFrac(n, big.NewInt(perSquareMicrometre))
}

// Area is the area of some faces of one piece of a line, finished size. A
// piece has two edges and two ends. ok is false when a size that it takes is
// not known; a size to suit counts as its blank.
func Area(l parts.Line, faces []parts.Face) (area Surface, ok bool) {
	length, width, thick := l.Length.Length, l.Width.Length, l.Thick.Length
	sum, ok := new(big.Rat), true
	for _, f := range parts.Faces {
		if !has(faces, f) {
			continue
		}
		a, b, times := length, width, int64(1)
		switch f {
		case parts.Edges:
			b, times = thick, 2
		case parts.Ends:
			a, b, times = width, thick, 2
		}
		if a <= 0 || b <= 0 {
			ok = false
			continue
		}
		sum.Add(sum, new(big.Rat).Mul(rectangle(a, b), big.NewRat(times, 1)))
	}
	return Surface(nearest(sum)), ok
}

func has(faces []parts.Face, f parts.Face) bool {
	for _, face := range faces {
		if face == f {
			return true
		}
	}
	return false
}

// deepest is how many assemblies may be inside each other.
const deepest = 16

// areaOf is the area of a piece of line l. An assembly without a size of its
// own has the faces of everything that goes into it. Where parts meet that
// counts a little more than can be seen: too much finish rather than too
// little. A part whose own steps give it the coat brings no faces along.
func (shop Shop) areaOf(l parts.Line, coat string, faces []parts.Face, depth int) (area Surface, ok bool) {
	area, ok = Area(l, faces)
	if ok || l.Kind != parts.Assembly {
		return area, ok
	}
	area, found := 0, false
	if depth == 0 {
		return 0, false
	}
	for _, in := range shop.Lines {
		if in.Into != l.ID || in.ID == l.ID || in.Each <= 0 {
			continue
		}
		found = true
		if coated(shop.Routings[in.Steps].Steps, coat) {
			continue
		}
		one, known := shop.areaOf(in, coat, faces, depth-1)
		if !known {
			return 0, false
		}
		area += one * Surface(in.Each)
	}
	return area, found
}

func coated(steps []parts.Step, coat string) bool {
	for _, s := range steps {
		if s.Coat == coat && len(s.Coats) > 0 {
			return true
		}
	}
	return false
}
