package cutlist

import (
	"maps"
	"slices"
	"strings"

	"benchtally/parts"
)

// assemblies joins the lines of one assembly name and works out how many are
// made of each and how many pieces one takes.
func (r *reader) assemblies() {
	index := map[string]int{}
	for i := range r.list.Lines {
		line := &r.list.Lines[i]
		key := strings.ToLower(line.Assembly)
		if key == "" || line.Quantity == 0 {
			continue
		}
		at, seen := index[key]
		if !seen {
			at = len(r.list.Assemblies)
			index[key] = at
			r.list.Assemblies = append(r.list.Assemblies, Assembly{Name: line.Assembly})
		}
		a := &r.list.Assemblies[at]
		line.Assembly = a.Name
		a.Proposed = divisor(a.Proposed, line.Quantity)
		a.Takes = append(a.Takes, Take{Line: i})
	}
	chosen := r.chosen(index)
	for i := range r.list.Assemblies {
		r.divide(&r.list.Assemblies[i], chosen[i])
	}
}

// divisor is the greatest number that divides a and b.
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// chosen gives the counts that a person chose, by index of the assembly.
func (r *reader) chosen(index map[string]int) map[int]int {
	counts := map[int]int{}
	for _, name := range slices.Sorted(maps.Keys(r.choices.Assemblies)) {
		count := r.choices.Assemblies[name]
		at, known := index[strings.ToLower(clean(name))]
		switch {
		case !known:
			r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "assembly-missing", "No line goes into an assembly %s.", short(name)).
				Next("Write its name as the list does."))
		case count < 1:
			r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "assembly-count", "There cannot be %d of assembly %s.", count, short(name)).
				Next("Choose at least one."))
		default:
			counts[at] = count
		}
	}
	return counts
}

// divide says how many pieces of each line one assembly takes. A chosen count
// of 0 is the one proposed.
func (r *reader) divide(a *Assembly, count int) {
	a.Count = a.Proposed
	if count > 0 {
		a.Count = count
	}
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
