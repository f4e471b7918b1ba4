package finish

import (
	"math/big"

	"benchtally/parts"
)

// Measure is what a finish is dosed with, in whole marks: a syringe, a cup,
// a scale.
type Measure struct {
	Key   string  `json:"key"`
	Name  string  `json:"name"`            // "syringe of 60 ml"
	Mark  Volume  `json:"mark,omitempty"`  // what one mark is
	Grams Decimal `json:"grams,omitempty"` // of a scale: what one mark is
	Holds int     `json:"holds,omitempty"` // marks in one fill; 0 for no limit
}

// UsualMeasures are those a shop starts with: common practice, no source.
func UsualMeasures() []Measure {
	return []Measure{
		{Key: "syringe", Name: "syringe of 60 ml", Mark: Millilitre, Holds: 60},
		{Key: "cup", Name: "cup of 400 ml", Mark: 10 * Millilitre, Holds: 40},
		{Key: "scale", Name: "scale", Grams: One, Holds: 3_000},
		{Key: "jug", Name: "jug of 2 l", Mark: 50 * Millilitre, Holds: 40},
	}
}

// mostFills is how often a measure is filled for one portion before a larger
// one is handier.
const mostFills = 8

// Handy is the measure with the finest marks that has not to be filled too
// often for a volume; by weight only where
// there is nothing else, since densities may be missing.
func Handy(all []Measure, v Volume) Measure {
	var best Measure
	handy := false
	for _, ms := range all {
		if ms.Weighs() || ms.Mark <= 0 {
			continue
		}
		fits := ms.Holds == 0 || v <= mostFills*Volume(ms.Holds)*ms.Mark
		switch {
		case best.Mark == 0, fits && !handy, fits && handy && ms.Mark < best.Mark,
			!fits && !handy && Volume(ms.Holds)*ms.Mark > Volume(best.Holds)*best.Mark:
			best, handy = ms, fits
		}
	}
	if best.Mark == 0 && len(all) > 0 {
		return all[0] // a shop with a scale and nothing else
	}
	return best
}

// Weighs reports whether it measures by weight.
func (ms Measure) Weighs() bool { return ms.Grams > 0 }

// CodeMeasure is the code of a measure that cannot be.
const CodeMeasure = "measure"

// CheckMeasure says what is wrong with a measure; nil for nothing.
func CheckMeasure(ms Measure) *parts.Problem {
	if (ms.Mark > 0) == (ms.Grams > 0) || ms.Mark < 0 || ms.Grams < 0 || ms.Holds < 0 || ms.Mark > 10*Litre || ms.Grams > 10_000*One {
		return invalid(CodeMeasure, "The marks of %q cannot be.", ms.Name).
			Next("Write what one mark is, in millilitres or, of a scale, in grams.")
	}
	return nil
}

// markOf is the volume of one mark of an ingredient; false when that takes a
// density that is not known.
func (ms Measure) markOf(in Ingredient) (*big.Rat, bool) {
	if !ms.Weighs() {
		return ms.Mark.rat(), true
	}
	if in.Density <= 0 {
		return nil, false
	}
	millilitres := new(big.Rat).Quo(ms.Grams.rat(), in.Density.rat())
	return millilitres.Mul(millilitres, Millilitre.rat()), true
}

// roughly is the volume of a mark; of a scale as if it weighed water.
func (ms Measure) roughly() Volume {
	if ms.Weighs() {
		return Millilitre.times(ms.Grams.rat())
	}
	return ms.Mark
}

// fills says how often the measure is filled for so many marks, and the marks
// of the last fill, which is not full.
func (ms Measure) fills(marks int) (full, rest int) {
	if ms.Holds == 0 {
		return 0, marks
	}
	return marks / ms.Holds, marks % ms.Holds
}
