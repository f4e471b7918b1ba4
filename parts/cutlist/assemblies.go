package cutlist

import (
	"maps"
	"slices"

	"benchtally/parts"
)

// assemblies joins the lines of one assembly and works out how many are made
// of each, and how many pieces and inner assemblies one takes.
func (r *reader) assemblies() {
	r.made = map[string]int{}
	for i := range r.list.Lines {
		line := &r.list.Lines[i]
		if line.Assembly == "" || line.Quantity == 0 {
			continue
		}
		a := &r.list.Assemblies[r.assembly(line.Assembly)]
		line.Assembly = a.Path
		a.Takes = append(a.Takes, Take{Line: i})
	}
	chosen := r.chosen()
	made := 0
	// What is inside comes after what it goes into, so from the end on every
	// count is known before the one that it has a say in.
	for i, a := range slices.Backward(r.list.Assemblies) {
		r.propose(&r.list.Assemblies[i])
		r.list.Assemblies[i].Count = r.list.Assemblies[i].Proposed
		if count := chosen[i]; count > 0 {
			r.list.Assemblies[i].Count = count
		}
		if a.Into >= 0 {
			outer := &r.list.Assemblies[a.Into]
			outer.Proposed = divisor(outer.Proposed, r.list.Assemblies[i].Count)
		}
		made += r.list.Assemblies[i].Count
	}
	if made > MostParts {
		r.trouble(0, Column{}, parts.Problemf(parts.TooBig, "list-assemblies", "The list makes %d assemblies, more than %d.", made, MostParts).
			Next("Check how many are made of each, or import it in pieces."))
	}
	for i := range r.list.Assemblies {
		r.divide(&r.list.Assemblies[i])
		r.divideInner(i)
	}
}

// divisor is the greatest number that divides a and b.
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// propose joins the lines of an assembly to the number proposed for it, which
// has been joined with its inner assemblies' counts.
func (r *reader) propose(a *Assembly) {
	for _, take := range a.Takes {
		a.Proposed = divisor(a.Proposed, r.list.Lines[take.Line].Quantity)
	}
}

// chosen gives the counts that a person chose, by index of the assembly.
func (r *reader) chosen() map[int]int {
	counts := map[int]int{}
	for _, name := range slices.Sorted(maps.Keys(r.choices.Assemblies)) {
		count := r.choices.Assemblies[name]
		at, known := r.made[pathKey(name)]
		switch {
		case !known:
			r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "assembly-missing", "No line goes into an assembly %s.", short(name)).
				Next("Write its name as the list does, with what it goes into: Bench back > Ladder."))
		case count < 1:
			r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "assembly-count", "There cannot be %d of assembly %s.", count, short(name)).
				Next("Choose at least one."))
		default:
			counts[at] = count
		}
	}
	return counts
}

// divide says how many pieces of each line one assembly takes.
func (r *reader) divide(a *Assembly) {
	for i := range a.Takes {
		take := &a.Takes[i]
		line := r.list.Lines[take.Line]
		if line.Quantity%a.Count == 0 {
			take.Each = line.Quantity / a.Count
			continue
		}
		r.trouble(line.Row, *r.find(QuantityField), parts.Problemf(parts.Invalid, "assembly-uneven",
			"%d pieces of %s cannot be shared out evenly among %d of %s.", line.Quantity, short(line.Name), a.Count, short(a.Name)).
			Next("Choose a number that divides every line of it, such as %d, or change the quantity and list the others as spares.", a.Proposed))
	}
}

// divideInner says how many of an assembly one of those around it takes. The
// trouble is shown at the first line inside.
func (r *reader) divideInner(i int) {
	a := &r.list.Assemblies[i]
	if a.Into < 0 {
		return
	}
	outer := r.list.Assemblies[a.Into]
	if a.Count%outer.Count == 0 {
		a.Each = a.Count / outer.Count
		return
	}
	r.trouble(r.list.Lines[r.firstLine(i)].Row, *r.find(AssemblyField), parts.Problemf(parts.Invalid, "assembly-uneven",
		"%d of %s cannot be shared out evenly among %d of %s.", a.Count, short(a.Name), outer.Count, short(outer.Name)).
		Next("Choose a number of %s that divides all that goes into it, such as %d, or change the number of %s.", short(outer.Name), outer.Proposed, short(a.Name)))
}

// firstLine is the index of the first line in an assembly or inside it.
func (r *reader) firstLine(i int) int {
	for ; i < len(r.list.Assemblies); i++ {
		if takes := r.list.Assemblies[i].Takes; len(takes) > 0 {
			return takes[0].Line
		}
	}
	return 0
}
