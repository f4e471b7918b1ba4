package server

import (
	"fmt"
	"strings"

	"benchtally/parts"
	"benchtally/templates"
)

// defectWords is how a defect is repaired, in one line: "sand back, then the
// coats you name again; twice at most".
func defectWords(l templates.Language, d parts.Defect) string {
	if d.Remake {
		return l.Say("nothing repairs it: remake")
	}
	steps := make([]string, len(d.Steps))
	for i, s := range d.Steps {
		steps[i] = s.Name
		if s.Wait() {
			steps[i] += " " + lasting(l, s.Lasts())
		}
	}
	words, again := strings.Join(steps, ", "), againWords(l, d.Again)
	if words != "" && again != "" {
		words = fmt.Sprintf(l.Say("%s, then %s"), words, again)
	} else {
		words += again
	}
	switch {
	case d.Limit == 1:
		return fmt.Sprintf(l.Say("%s; once at most"), words)
	case d.Limit == 2:
		return fmt.Sprintf(l.Say("%s; twice at most"), words)
	case d.Limit > 2:
		return fmt.Sprintf(l.Say("%s; %d times at most"), words, d.Limit)
	}
	return words
}

// againWords is what is done over after a repair; "" for nothing.
func againWords(l templates.Language, a parts.Again) string {
	switch a {
	case parts.BoreAgain:
		return l.Say("the hole bored again")
	case parts.CoatsAgain:
		return l.Say("the coats you name again")
	case parts.LastAgain:
		return l.Say("the last step again")
	}
	return ""
}
