package finish

import (
	"math/big"
	"slices"

	"benchtally/parts"
)

// scale is a mix in marks of a measure.
type scale struct {
	all        []Ingredient
	components int        // the first so many of all
	want       []*big.Rat // share of each in the whole, by volume
	mark       []*big.Rat // volume of a mark of each
	among      []*big.Rat // what each should be of the components, by volume
	portion    []*big.Rat // marks of each in one mark of the whole
	mean       *big.Rat   // volume of one mark of the whole
}

func scaleOf(m Mix, ms Measure) (scale, *parts.Problem) {
	s := scale{all: m.Ingredients(), components: len(m.Components), mean: new(big.Rat)}
	s.want = shares(s.all)
	sum, whole := new(big.Rat), weightOf(s.all[:s.components])
	for i, in := range s.all {
		mark, known := ms.markOf(in)
		if !known {
			return s, parts.Problemf(parts.Refused, CodeNoDensity, "How much %s weighs is not written, so it cannot be dosed by weight.", in.Name).
				Next("Write its density from the data sheet, or take a measure by volume.")
		}
		s.mark = append(s.mark, mark)
		s.among = append(s.among, new(big.Rat).Quo(in.weight, whole))
		s.portion = append(s.portion, new(big.Rat).Quo(s.want[i], mark))
		sum.Add(sum, s.portion[i])
	}
	for _, portion := range s.portion {
		portion.Quo(portion, sum)
	}
	s.mean.Inv(sum) // the shares add up to one, so one volume takes sum marks
	return s, nil
}

// sizes are the batches, in marks, that may lie in a range. By weight, what
// is rounded shifts the volume a little, so there are a few more.
func (s scale) sizes(wanted Range) (from, to int) {
	spare := int64(len(s.all))
	low := ceil(new(big.Rat).Quo(wanted.Least.rat(), s.mean)) - spare
	high := floor(new(big.Rat).Quo(wanted.Most.rat(), s.mean)) + spare
	return int(max(low, 1)), int(high)
}

// candidate is a batch of n marks.
type candidate struct {
	marks  []int64
	volume []*big.Rat
	misses misses
}

// misses are what rounding does, as parts of what should be.
type misses struct {
	ratio, colour, added *big.Rat
}

// candidate shares n marks out. It gives nil when the batch is out of range
// or the marks are too coarse for it.
func (s scale) candidate(n int, wanted Range) *candidate {
	c := &candidate{marks: s.shareOut(int64(n))}
	total := new(big.Rat)
	for i, marks := range c.marks {
		// Left out is never a rounding: without its hardener it stays wet.
		if marks == 0 {
			return nil
		}
		c.volume = append(c.volume, new(big.Rat).Mul(s.mark[i], big.NewRat(marks, 1)))
		total.Add(total, c.volume[i])
	}
	if total.Cmp(wanted.Least.rat()) < 0 || total.Cmp(wanted.Most.rat()) > 0 || s.tooMuch(c.volume) {
		return nil
	}
	c.misses.ratio = s.ratioOff(c.volume)
	return c
}

// shareOut splits n marks by the shares: whole marks first, and those left
// over to the largest remainders, so that they add up to n.
func (s scale) shareOut(n int64) []int64 {
	out, rest := make([]int64, len(s.all)), make([]*big.Rat, len(s.all))
	order := make([]int, len(s.all))
	left := n
	for i, portion := range s.portion {
		exact := new(big.Rat).Mul(portion, big.NewRat(n, 1))
		out[i] = floor(exact)
		rest[i] = exact.Sub(exact, big.NewRat(out[i], 1))
		order[i] = i
		left -= out[i]
	}
	slices.SortStableFunc(order, func(a, b int) int { return rest[b].Cmp(rest[a]) })
	for _, i := range order[:left] {
		out[i]++
	}
	return out
}

// tooMuch reports whether an additive is above what its data sheet allows.
func (s scale) tooMuch(volume []*big.Rat) bool {
	for i, in := range s.all {
		if in.most == nil {
			continue
		}
		got, most := s.whole(volume), s.most(in)
		if in.of == OfBase {
			got, most = volume[0], new(big.Rat).Quo(in.most, s.all[0].weight)
		}
		if volume[i].Cmp(most.Mul(most, got)) > 0 {
			return true
		}
	}
	return false
}

// whole is the volume of the components.
func (s scale) whole(volume []*big.Rat) *big.Rat { return sumOf(volume[:s.components]) }

// most is what the data sheet allows of the components.
func (s scale) most(in Ingredient) *big.Rat {
	return new(big.Rat).Quo(in.most, weightOf(s.all[:s.components]))
}

// weightOf adds the weights of ingredients up.
func weightOf(all []Ingredient) *big.Rat {
	sum := new(big.Rat)
	for _, in := range all {
		sum.Add(sum, in.weight)
	}
	return sum
}

func sumOf(all []*big.Rat) *big.Rat {
	sum := new(big.Rat)
	for _, r := range all {
		sum.Add(sum, r)
	}
	return sum
}

// off is how far got is from want, as a part of want: minus when too little.
func off(got, want *big.Rat) *big.Rat {
	out := new(big.Rat).Quo(got, want)
	return out.Sub(out, big.NewRat(1, 1))
}

func (s scale) ratioOff(volume []*big.Rat) *big.Rat {
	return s.worst(volume, 0, s.components)
}

// worst is the largest error of the ingredients from to to, each against the
// components.
func (s scale) worst(volume []*big.Rat, from, to int) *big.Rat {
	whole, worst := s.whole(volume), new(big.Rat)
	for i := from; i < to; i++ {
		if e := off(new(big.Rat).Quo(volume[i], whole), s.among[i]); e.Abs(e).Cmp(worst) > 0 {
			worst = e
		}
	}
	return worst
}

// colour is the share of what carries colour in the whole batch, as it is and
// as it should be.
func (s scale) colour(volume []*big.Rat) (got, want *big.Rat) {
	got, want = new(big.Rat), new(big.Rat)
	for i, in := range s.all {
		if in.Colour {
			got.Add(got, volume[i])
			want.Add(want, s.want[i])
		}
	}
	return got.Quo(got, sumOf(volume)), want
}

// finish works out the errors that are only needed when the ratio is as good.
func (s scale) finish(c *candidate) {
	if c.misses.colour != nil {
		return
	}
	c.misses.colour = new(big.Rat)
	if got, want := s.colour(c.volume); want.Sign() > 0 {
		e := off(got, want)
		c.misses.colour = e.Abs(e)
	}
	c.misses.added = s.worst(c.volume, s.components, len(s.all))
}

// better reports whether a keeps better to the mix than b.
func (s scale) better(a, b *candidate) bool {
	if by := a.misses.ratio.Cmp(b.misses.ratio); by != 0 {
		return by < 0
	}
	s.finish(a)
	s.finish(b)
	if by := a.misses.colour.Cmp(b.misses.colour); by != 0 {
		return by < 0
	}
	return a.misses.added.Cmp(b.misses.added) < 0
}
