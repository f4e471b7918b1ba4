package cutlist

import (
	"strings"

	"benchtally/parts"
)

// levelMark stands between an assembly and what goes into it.
const levelMark = " > "

// levels splits what stands in the assembly column, the outermost first.
func levels(text string) []string {
	names := strings.Split(strings.ReplaceAll(text, "›", ">"), ">")
	for i, n := range names {
		names[i] = clean(n)
	}
	return names
}

// path reads which assembly a line goes into: "Ladder", or "Bench back >
// Ladder" for a ladder that goes into a bench back.
func (r *reader) path(row Row) string {
	cell, column, ok := r.cell(row, AssemblyField)
	if !ok {
		return ""
	}
	names := levels(cell.Text)
	p := badPath(names)
	for i := 0; i < len(names) && p == nil; i++ {
		names[i], p = words(names[i], LongestName)
	}
	if p != nil {
		r.trouble(row.Number, column, p)
		return ""
	}
	return strings.Join(names, levelMark)
}

// badPath says what is wrong with the levels of a path, if anything.
func badPath(names []string) *parts.Problem {
	if len(names) > MostLevels {
		return parts.Problemf(parts.Invalid, "assembly-deep", "This is %d assemblies inside one another; there may be %d.", len(names), MostLevels).
			Next("Leave out a level.")
	}
	for _, n := range names {
		switch {
		case n == "":
			return parts.Problemf(parts.Invalid, "assembly-nameless", "A name is missing beside a “>”.").
				Next("Write it like Bench back > Ladder, the outer one first.")
		case unitWord(n) != "":
			return parts.Problemf(parts.Invalid, "assembly-unit", "%s is a unit of length, not something that parts go into.", short(n)).
				Next("Say what the column holds with -map 'HEADING=field', or ignore it with -map 'HEADING=ignore', or on the import page.")
		}
	}
	return nil
}

// pathKey makes two ways of writing a path the same.
func pathKey(path string) string { return strings.ToLower(strings.Join(levels(path), levelMark)) }

// assembly gives the index of the assembly with a path. It and those around
// it are added to the list when they are not there: an outer one always
// stands before what goes into it.
func (r *reader) assembly(path string) int {
	into := -1
	for depth, names := 0, levels(path); depth < len(names); depth++ {
		key := pathKey(strings.Join(names[:depth+1], levelMark))
		at, seen := r.made[key]
		if !seen {
			at = len(r.list.Assemblies)
			a := Assembly{Name: names[depth], Path: names[depth], Into: into}
			if into >= 0 {
				a.Path = r.list.Assemblies[into].Path + levelMark + a.Name
			}
			r.made[key] = at
			r.list.Assemblies = append(r.list.Assemblies, a)
		}
		into = at
	}
	return into
}
