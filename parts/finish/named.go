package finish

import (
	"slices"
	"strings"

	"benchtally/parts"
)

// Names are what the ingredients of the shop's mixes are called.
type Names []string

// CodeNoIngredient is the code of a can that goes into no mix.
const CodeNoIngredient = "can-unknown"

// Ingredients lists the names of what goes into mixes, each once.
func Ingredients(mixes []Mix) Names {
	var out Names
	for _, m := range mixes {
		for _, in := range m.Ingredients() {
			if !slices.ContainsFunc(out, func(n string) bool { return strings.EqualFold(n, in.Name) }) {
				out = append(out, in.Name)
			}
		}
	}
	slices.Sort(out)
	return out
}

// Known gives a name the way the mixes write it, or refuses it and says which
// come nearest: a can under another name would never count.
func (all Names) Known(name string) (string, *parts.Problem) {
	for _, n := range all {
		if strings.EqualFold(n, strings.TrimSpace(name)) {
			return n, nil
		}
	}
	if len(all) == 0 {
		return "", invalid(CodeNoIngredient, "The shop has no mix yet, so %s goes into none.", short(name)).Next("Write the mix down first.")
	}
	near := slices.Clone(all)
	slices.SortStableFunc(near, func(a, b string) int { return slips(name, a) - slips(name, b) })
	return "", invalid(CodeNoIngredient, "No mix has %s in it.", short(name)).
		Next("Did you mean %s? Write it as the mix does, or add it to the mix.", strings.Join(near[:min(len(near), 3)], ", "))
}

// slips is how many letters have to be changed, added or left out to make one
// name of another: the Levenshtein distance, by its textbook table.
func slips(a, b string) int {
	from, to := []rune(strings.ToLower(a)), []rune(strings.ToLower(b))
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, r := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, s := range to {
			change := diagonal
			if r != s {
				change++
			}
			diagonal = row[j+1]
			row[j+1] = min(change, row[j+1]+1, row[j]+1)
		}
	}
	return row[len(to)]
}
