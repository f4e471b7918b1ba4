package finish

import (
	"fmt"
	"math/big"

	"benchtally/parts"
)

// Range is how large a batch may be.
type Range struct {
	Least, Most Volume
}

// Dosing is a batch in whole marks of a measure, and what rounding to them
// does. The errors are in percent of what should be.
type Dosing struct {
	Mix      string    `json:"mix"` // its key
	Measure  Measure   `json:"measure"`
	Portions []Portion `json:"portions"`
	Marks    int       `json:"marks"`  // of all portions together
	Volume   Volume    `json:"volume"` // of all portions together
	// RatioOff is how far the share of a component among the components is
	// off, that of the one that is off most.
	RatioOff Decimal `json:"ratio_off"`
	// ColourOff is how far the share of what carries colour is off, in the
	// whole batch; ColourShare is that share in percent.
	ColourOff   Decimal `json:"colour_off"`
	ColourShare Decimal `json:"colour_share"`
	// AddedOff is how far an additive or the thinner is off from its
	// percentage of the components, the one that is off most.
	AddedOff Decimal `json:"added_off"`
}

// Exact reports whether rounding to marks changes nothing at all.
func (d Dosing) Exact() bool { return d.RatioOff == 0 && d.ColourOff == 0 && d.AddedOff == 0 }

// Portion is one line of a dosing list.
type Portion struct {
	Name   string  `json:"name"`
	Role   Role    `json:"role"`
	Marks  int     `json:"marks"`
	Full   int     `json:"full,omitempty"` // fills of the measure, and then
	Rest   int     `json:"rest,omitempty"` // so many marks
	Volume Volume  `json:"volume"`
	Off    Decimal `json:"off"` // from its share in the whole, in percent of it: minus when it is too little
}

// Text says how to measure it: "2 full and 15 marks".
func (d Portion) Text() string {
	marks := fmt.Sprintf("%d marks", d.Rest)
	if d.Rest == 1 {
		marks = "1 mark"
	}
	switch {
	case d.Full == 0:
		return marks
	case d.Rest == 0:
		return fmt.Sprintf("%d full", d.Full)
	}
	return fmt.Sprintf("%d full and %s", d.Full, marks)
}

// mostSizes is how many sizes of a batch are compared at most.
const mostSizes = 5_000

// The codes of a batch that cannot be dosed.
const (
	CodeRange     = "batch-range"
	CodeCoarse    = "measure-coarse"
	CodeNoDensity = "no-density"
	CodeRangeWide = "batch-range-wide"
)

// Dose finds the batch in a range whose portions, in whole marks, keep best to
// the mix: the smallest error of the ratio, among those the smallest of the
// colour share, then of what is added, and then the smallest batch. Every
// size in whole marks is tried. An ingredient gets at least one mark, and
// rounding never lifts an additive above what its data sheet allows.
func Dose(m Mix, ms Measure, wanted Range) (Dosing, *parts.Problem) {
	if p := Check(m); p != nil {
		return Dosing{}, p
	}
	if p := CheckMeasure(ms); p != nil {
		return Dosing{}, p
	}
	s, p := scaleOf(m, ms)
	if p != nil {
		return Dosing{}, p
	}
	from, to := s.sizes(wanted)
	switch {
	case wanted.Least <= 0 || wanted.Most < wanted.Least || wanted.Most > MostVolume:
		return Dosing{}, invalid(CodeRange, "There is no batch between %s and %s.", ml(wanted.Least), ml(wanted.Most)).Next("Write the smaller first, above zero.")
	case to-from > mostSizes:
		return Dosing{}, invalid(CodeRangeWide, "%s to %s are too many sizes for marks so fine.", ml(wanted.Least), ml(wanted.Most)).Next("Ask for a narrower range, or take a coarser measure.")
	}
	var best *candidate
	for n := from; n <= to; n++ {
		if c := s.candidate(n, wanted); c != nil && (best == nil || s.better(c, best)) {
			best = c
		}
	}
	if best == nil {
		return Dosing{}, parts.Problemf(parts.Refused, CodeCoarse, "The marks of the %s are too coarse for %s to %s of %s.", ms.Name, ml(wanted.Least), ml(wanted.Most), m.Name).
			Next("Take a measure with finer marks, or mix more at once.")
	}
	return s.dosing(m, ms, best), nil
}

// ml writes a volume the way most measures are marked.
func ml(v Volume) string { return v.Format(parts.Style{}) }

// percent writes a part of one in percent.
func percent(r *big.Rat) Decimal { return decimalOf(new(big.Rat).Mul(r, big.NewRat(100, 1))) }

func (s scale) dosing(m Mix, ms Measure, c *candidate) Dosing {
	s.finish(c)
	d := Dosing{Mix: m.Key, Measure: ms, RatioOff: percent(c.misses.ratio), ColourOff: percent(c.misses.colour), AddedOff: percent(c.misses.added)}
	total := sumOf(c.volume)
	for i, in := range s.all {
		one := Portion{Name: in.Name, Role: in.Role, Marks: int(c.marks[i]), Volume: Volume(nearest(c.volume[i]))}
		one.Full, one.Rest = ms.fills(one.Marks)
		one.Off = percent(off(new(big.Rat).Quo(c.volume[i], total), s.want[i]))
		d.Portions = append(d.Portions, one)
		d.Marks += one.Marks
		d.Volume += one.Volume
	}
	got, _ := s.colour(c.volume)
	d.ColourShare = percent(got)
	return d
}
