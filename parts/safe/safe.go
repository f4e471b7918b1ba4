// Package safe says which pieces are too small for a machine before they get
// there, and the way out: leave them together in a long blank until past it.
// It owns how large a piece is at each of its steps, allowances counted.
// It does not own what is safe at a machine, which is data of the step and
// comes from the machine's manual.
package safe

import (
	"slices"

	"benchtally/parts"
)

// Allowances are what a piece has over its finished size until it is cut to it.
type Allowances struct {
	Kerf       parts.Length // lost between two parts of a blank
	TrimLength parts.Length // over the length, both ends together
	Width      parts.Length // over the width
	Thick      parts.Length // over the thickness
}

// Usual gives the allowances that a shop starts with: common practice, no
// source, save that charts of hardwood sizes put 3/16 in between rough and
// surfaced on two sides, up to 6/4.
func Usual() Allowances {
	return Allowances{Kerf: parts.Inch / 8, TrimLength: parts.Inch, Width: parts.Inch / 4, Thick: parts.Inch * 3 / 16}
}

// Warning is a step whose machine does not safely take what comes to it.
type Warning struct {
	Step    int    // index of the step
	Does    string // its name: "plane"
	Station parts.Station
	Also    []string // names of further steps with the same finding, see Joined
	Finding
}

// Finding is a size that is too small, and the way out.
type Finding struct {
	Name      string // of the line: "Rail"
	Dimension parts.Dimension
	Have      parts.Length // of the piece there
	Needs     parts.Length // the least there
	Together  int          // parts that are still one blank there; 1 for none

	// InBlank is the least number of parts that are long enough in one blank;
	// 0 when that is no way out. Blank is how long such a blank is.
	InBlank int
	Blank   parts.Length
	Pieces  int    // that the line gives; InBlank may be more
	After   string // the cut that must then come after the step; "" when it does already
	// Elsewhere says that another step gives the piece its final width or
	// thickness, so that it may be larger here.
	Elsewhere bool
}

// measured are the sizes that are judged.
var measured = []parts.Dimension{parts.ToLength, parts.ToWidth, parts.ToThickness}

// Warnings walks the steps of a line in order and says where its pieces are
// too small. A size to suit or not given is not judged. Before the step that
// makes a size the piece is larger by what the allowances say.
func Warnings(l parts.Line, r parts.Routing, a Allowances) []Warning {
	t := onTheWay(l, r.Steps, a)
	var out []Warning
	for i, step := range t.steps {
		if step.Wait() {
			continue
		}
		for _, d := range measured {
			needs, have := least(step, d), t.judged(d, i)
			if have == 0 || have >= needs {
				continue
			}
			out = append(out, Warning{Step: i, Does: step.Name, Station: step.Station, Finding: t.finding(i, d, have, needs)})
		}
	}
	return out
}

// finding says what is too small at step i, and the way out.
func (w way) finding(i int, d parts.Dimension, have, needs parts.Length) Finding {
	f := Finding{Name: w.line.Name, Dimension: d, Have: have, Needs: needs, Together: 1, Pieces: w.line.Pieces()}
	if i < w.cut || i == w.cut && d != w.along {
		f.Together = w.blank
	}
	if d == parts.ToLength {
		f.InBlank, f.Blank, f.After = w.leftTogether(i, needs)
	} else {
		made := w.made(d)
		f.Elsewhere = made >= 0 && made != i
	}
	return f
}

// Joined puts warnings with the same finding into one, for reading: a short
// rail is too short for several machines in a row.
func Joined(warnings []Warning) []Warning {
	var out []Warning
	for _, w := range warnings {
		i := slices.IndexFunc(out, func(o Warning) bool { return o.Finding == w.Finding })
		if i < 0 {
			out = append(out, w)
			continue
		}
		out[i].Also = append(slices.Clip(out[i].Also), w.Does)
	}
	return out
}

// BlankLength is how long a blank of n parts of a line is cut, for steps that
// cut them from it one after the other; zero when the length is not known.
func BlankLength(l parts.Line, r parts.Routing, n int, a Allowances) parts.Length {
	return onTheWay(l, r.Steps, a).size(parts.ToLength, 0, n)
}

// least is the smallest size that is safe at a step.
func least(s parts.Step, d parts.Dimension) parts.Length {
	switch d {
	case parts.ToLength:
		return s.Safe.Length
	case parts.ToWidth:
		return s.Safe.Width
	}
	return s.Safe.Thick
}
