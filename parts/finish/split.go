package finish

import (
	"math/big"

	"benchtally/parts"
)

// Plan is how a quantity is mixed: so many batches, all of them alike, so
// that their colour is.
type Plan struct {
	Batches int
	Each    Dosing
	Total   Volume // of all batches
	// Minutes is how long one batch takes to use up; 0 when that is not known.
	Minutes int
	// Assumed says that nobody knows how much is put on in an hour, so that it
	// is taken for granted that one batch is used up before it sets.
	Assumed bool
}

// The codes of a quantity that cannot be split.
const (
	CodeNothing  = "nothing-to-mix"
	CodeUseRate  = "use-rate"
	CodeTooShort = "pot-life-short"
)

// mostBatches is how many batches of one mix a plan may have.
const mostBatches = 500

// Split plans batches that are used up within the pot life at so much an
// hour, which is 0 when nobody knows: then it is one batch. A batch may come out a tenth or
// ten marks larger than needed, whichever is more, to keep to the ratio, but
// never by more than 500 marks.
func Split(m Mix, ms Measure, need, perHour Volume) (Plan, *parts.Problem) {
	if p := Check(m); p != nil {
		return Plan{}, p
	}
	if p := CheckMeasure(ms); p != nil {
		return Plan{}, p
	}
	switch {
	case need <= 0 || need > MostVolume:
		return Plan{}, invalid(CodeNothing, "%s of %s cannot be planned.", ml(need), m.Name).Next("Say how much is needed.")
	case perHour < 0 || perHour > MostVolume:
		return Plan{}, invalid(CodeUseRate, "%s of %s in an hour makes no sense.", ml(perHour), m.Name).
			Next("Write how much one person puts on in an hour, from the last time.")
	}
	largest := MostVolume
	if m.TwoPart() && perHour > 0 {
		largest = usable(m, perHour)
	}
	first := int64(1)
	if largest > 0 {
		first = ceil(big.NewRat(int64(need), int64(largest)))
	}
	// Less than a mark, or hundreds of batches, is a slip in one of the two.
	if largest < ms.roughly() || first > mostBatches {
		return Plan{}, parts.Problemf(parts.Refused, CodeTooShort, "%s sets in %d min, and %s is put on in that time: that takes more than %d batches.", m.Name, m.PotLife, ml(largest), mostBatches).
			Next("Put on more in an hour, or take a product with a longer pot life.")
	}
	return split(m, ms, need, perHour, largest, int(first))
}

// usable is what is put on within the pot life.
func usable(m Mix, perHour Volume) Volume {
	return Volume(floor(new(big.Rat).Mul(perHour.rat(), big.NewRat(int64(m.PotLife), 60))))
}

// split finds the fewest batches from first on that can be dosed. One or two
// more give room where the pot life cuts close to an even share.
func split(m Mix, ms Measure, need, perHour, largest Volume, first int) (Plan, *parts.Problem) {
	var refused *parts.Problem
	for n := first; n < first+3; n++ {
		// Rounded up, so that all batches together are never short.
		share := need.times(big.NewRat(1, int64(n)))
		d, p := Dose(m, ms, Range{Least: share, Most: min(largest, share+spare(share, ms), MostVolume)})
		if p != nil {
			refused = firstOf(refused, p)
			continue
		}
		plan := Plan{Batches: n, Each: d, Total: Volume(n) * d.Volume, Assumed: m.TwoPart() && perHour == 0}
		if perHour > 0 {
			plan.Minutes = int(ceil(big.NewRat(int64(d.Volume)*60, int64(perHour))))
		}
		return plan, nil
	}
	return Plan{}, refused
}

// spare is how much larger than needed a batch may come out. Beyond some
// hundred marks a larger one keeps no better to the ratio.
func spare(share Volume, ms Measure) Volume {
	return min(max(share/10, 10*ms.roughly()), 500*ms.roughly())
}

func firstOf(a, b *parts.Problem) *parts.Problem {
	if a != nil {
		return a
	}
	return b
}

// DoseAgain gives the list of a batch that a list came to before: of exactly
// that size.
func DoseAgain(m Mix, ms Measure, size Volume) (Dosing, *parts.Problem) {
	// By weight each portion was rounded to the smallest unit.
	return Dose(m, ms, Range{Least: size - mostIngredients, Most: size + mostIngredients})
}

// DoseAbout doses one batch of a size: from there up to a tenth or ten marks
// more, as keeps best to the ratio. So the same size always gives the same
// list.
func DoseAbout(m Mix, ms Measure, size Volume) (Dosing, *parts.Problem) {
	if p := CheckMeasure(ms); p != nil {
		return Dosing{}, p
	}
	if size <= 0 || size > MostVolume {
		return Dosing{}, invalid(CodeNothing, "%s of %s cannot be mixed.", ml(size), m.Name).Next("Say how much, such as 250 ml.")
	}
	return Dose(m, ms, Range{Least: size, Most: min(size+spare(size, ms), MostVolume)})
}
