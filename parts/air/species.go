package air

import (
	_ "embed" // the table of species
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Species is what the shop needs to know of a wood.
type Species struct {
	Name       string  // as people say it: "White oak"
	Book       string  // as the Wood Handbook lists it
	Radial     float64 // change for each point of moisture through the growth rings, as a share
	Tangential float64 // the same along the growth rings
	Gravity    float64 // dry weight over green volume
	also       []string
}

// Cut is how a board lies in the tree, which says how its width moves.
type Cut string

// The cuts. Where nobody knows, flat-sawn is the safe guess: it moves most.
const (
	FlatSawn    Cut = "flat-sawn"    // the width follows the growth rings
	QuarterSawn Cut = "quarter-sawn" // the width goes through them
)

// PerPoint is the change of a width for each point of moisture, as a share.
func (s Species) PerPoint(c Cut) float64 {
	if c == QuarterSawn {
		return s.Radial
	}
	return s.Tangential
}

//go:embed species.csv
var speciesTable string

var allSpecies = mustSpecies(speciesTable)

// AllSpecies lists the species in the order of the book.
func AllSpecies() []Species { return slices.Clone(allSpecies) }

// madeOfLayers are words of materials that do not move like solid wood.
var madeOfLayers = []string{"ply", "plywood", "mdf", "veneer", "veneered", "particleboard", "chipboard", "hardboard"}

// Match finds the species that a material's name speaks of: "4/4 white oak,
// S2S". Sheet goods have none, even those with a face of it.
func Match(material string) (Species, bool) {
	words := wordsOf(material)
	for _, w := range madeOfLayers {
		if slices.Contains(words, w) {
			return Species{}, false
		}
	}
	var best Species
	longest := 0
	for _, s := range allSpecies {
		for _, name := range append([]string{s.Name}, s.also...) {
			// The longer name says more: black ash is no (white) ash.
			if n := wordsOf(name); len(n) > longest && inOrder(words, n) {
				best, longest = s, len(n)
			}
		}
	}
	return best, longest > 0
}

func wordsOf(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) })
}

// inOrder reports whether the words of part stand side by side in all.
func inOrder(all, part []string) bool {
	for i := range all {
		if i+len(part) <= len(all) && slices.Equal(all[i:i+len(part)], part) {
			return true
		}
	}
	return false
}

// mustSpecies reads the embedded table; a table that cannot be read is a
// fault of the program and shows at its start.
func mustSpecies(table string) []Species {
	r := csv.NewReader(strings.NewReader(table))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		panic(fmt.Sprintf("species.csv: %d rows, %v", len(rows), err))
	}
	var out []Species
	for _, row := range rows[1:] {
		s := Species{Name: row[0], Book: row[1]}
		for i, to := range []*float64{&s.Radial, &s.Tangential, &s.Gravity} {
			if *to, err = strconv.ParseFloat(row[2+i], 64); err != nil {
				panic(fmt.Sprintf("species.csv: %s: %v", s.Name, err))
			}
		}
		if row[5] != "" {
			s.also = strings.Split(row[5], ";")
		}
		out = append(out, s)
	}
	return out
}
