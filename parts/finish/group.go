package finish

import (
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
)

// Group are pieces that will stand side by side, and so should be of one
// batch: a wall, its panels included.
type Group struct {
	Name  string     `json:"name"`
	Parts []parts.ID `json:"parts"`
}

// Coated says which batch a piece got, or is about to get.
type Coated struct {
	Part  parts.ID
	Name  string // "Locker front 3"
	Coat  string
	N     int          // which coat of its kind it was; 0 in a repair
	Faces []parts.Face // none for all of them
	Batch int64
}

// CodeBatchesDiffer is the code of a colour group with more than one batch.
const CodeBatchesDiffer = "batches-differ"

// CheckGroups warns before pieces are coated with other batches than the rest
// of their colour group, given what the pieces got so far. Two coats on top
// of each other may be of two batches; the same coat on two pieces may not.
func CheckGroups(groups []Group, before, coming []Coated) []*parts.Problem {
	var out []*parts.Problem
	// What is done over is judged by what it gets, not by what it had.
	before = latest(before, coming)
	for _, g := range groups {
		said := map[string]bool{}
		for i, c := range coming {
			others := append(slices.Clone(before), coming[:i]...)
			batch, names := differing(g, c, others)
			key := fmt.Sprint(c.Coat, c.N, c.Batch, batch)
			if len(names) == 0 || said[key] {
				continue
			}
			said[key] = true
			out = append(out, parts.Problemf(parts.Refused, CodeBatchesDiffer, "%s stands beside %s in %s: its %s would be of batch %d, and theirs is of batch %d.", c.Name, named(names), g.Name, c.Coat, c.Batch, batch).
				Next("Take the same batch for the whole of %s, or try the two side by side on a test piece first.", g.Name).
				Fact("group", g.Name).Fact("batch", batch))
		}
	}
	return out
}

// differing is the first other batch that the same coat of a group has, and
// the names of the pieces that have it.
func differing(g Group, c Coated, others []Coated) (batch int64, names []string) {
	for _, o := range others {
		if !inGroup(g, c, o) || !sameCoat(c, o) || c.Batch == o.Batch || batch != 0 && o.Batch != batch {
			continue
		}
		batch = o.Batch
		names = append(names, o.Name)
	}
	return batch, names
}

// latest keeps of what was done the last coat of each piece and kind, and
// leaves out what is about to be done over.
func latest(before, coming []Coated) []Coated {
	var out []Coated
	for i, b := range before {
		over := func(o Coated) bool { return o.Part == b.Part && sameCoat(o, b) }
		if !slices.ContainsFunc(before[i+1:], over) && !slices.ContainsFunc(coming, over) {
			out = append(out, b)
		}
	}
	return out
}

func inGroup(g Group, a, b Coated) bool {
	return a.Part != b.Part && slices.Contains(g.Parts, a.Part) && slices.Contains(g.Parts, b.Part)
}

// sameCoat reports whether two coats can be told apart by the eye: the same
// coat of the same kind, on a face that both have.
func sameCoat(a, b Coated) bool {
	if a.Coat != b.Coat || a.N != b.N {
		return false
	}
	if len(a.Faces) == 0 || len(b.Faces) == 0 {
		return true
	}
	return slices.ContainsFunc(a.Faces, func(f parts.Face) bool { return has(b.Faces, f) })
}

// named lists a few names, and says how many more there are.
func named(names []string) string {
	const shown = 3
	if len(names) <= shown {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(names[:shown], ", "), len(names)-shown)
}

// CodeWontReach is the code of a batch that is too small for a colour group.
const CodeWontReach = "batch-wont-reach"

// Reaches warns when what is left of a batch is not enough for a colour
// group: the rest would be of another batch.
func Reaches(g Group, b Batch, need Volume) *parts.Problem {
	if need <= b.Left {
		return nil
	}
	return parts.Problemf(parts.Refused, CodeWontReach, "%s of batch %d is left, and %s takes %s.", ml(b.Left), b.Number, g.Name, ml(need)).
		Next("Mix one batch that is enough for the whole of %s.", g.Name)
}
