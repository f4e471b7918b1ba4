package finish

import (
	"math/big"
	"regexp"
	"slices"

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
	return st.Decimal(decimalOf(big.NewRat(int64(s), int64(unit))).Round(2).String()) + " " + name
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
// little. A part whose own steps give it the coat brings no faces along, one
// that comes finished does not either, and ends that are glued into a joint
// are out of reach.
func (shop Shop) areaOf(l parts.Line, coat string, faces []parts.Face, depth int) (area Surface, ok bool) {
	area, ok = Area(l, faces)
	if ok || l.Kind != parts.Assembly {
		return area, ok
	}
	area, found := 0, false
	if glued(shop.Routings[l.Steps].Steps) {
		faces = slices.DeleteFunc(slices.Clone(faces), func(f parts.Face) bool { return f == parts.Ends })
	}
	if depth == 0 {
		return 0, false
	}
	for _, in := range shop.Lines {
		if in.Into != l.ID || in.ID == l.ID || in.Each <= 0 {
			continue
		}
		found = true
		if steps := shop.Routings[in.Steps].Steps; coated(steps, coat) || Finished(in, steps) {
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

// glued reports whether the steps of an assembly glue the ends of its parts
// into joints.
func glued(steps []parts.Step) bool {
	return slices.ContainsFunc(steps, func(s parts.Step) bool { return s.Glues && has(s.Joins, parts.Ends) })
}

// saysFinished finds that a list says of a line that it comes finished.
var saysFinished = regexp.MustCompile(`(?i)\b(pre-?finished|bought finished|factory[- ]finished|finished when bought|fertig (gekauft|lackiert|behandelt)|endbehandelt)\b`)

// Finished reports whether pieces of a line come finished: no step of theirs
// coats or works them, or the list says so.
func Finished(l parts.Line, steps []parts.Step) bool {
	worked := false
	for _, s := range steps {
		if s.Coat != "" {
			return false
		}
		worked = worked || len(s.Cuts)+len(s.Joins) > 0 || s.Bores
	}
	return l.Kind != parts.Assembly && (!worked || saysFinished.MatchString(l.Name+" "+l.Material+" "+l.Notes))
}

// LeftOut names the lines inside an assembly that come finished, so that its
// area does not count them.
func (shop Shop) LeftOut(l parts.Line) []string {
	var out []string
	for _, in := range shop.Lines {
		if in.Into != l.ID || in.ID == l.ID {
			continue
		}
		if Finished(in, shop.Routings[in.Steps].Steps) {
			out = append(out, in.Name)
		}
	}
	slices.Sort(out)
	return out
}

func coated(steps []parts.Step, coat string) bool {
	for _, s := range steps {
		if s.Coat == coat && len(s.Coats) > 0 {
			return true
		}
	}
	return false
}
