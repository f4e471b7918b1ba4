package server

import (
	"fmt"
	"strings"

	"benchtally/parts"
	"benchtally/templates"
)

// defectWords is how a defect is repaired, in one line: "sand back, then the
// coats you name again; twice at most".
func defectWords(d parts.Defect) string {
	if d.Remake {
		return "nothing repairs it: remake"
	}
	steps := make([]string, len(d.Steps))
	for i, s := range d.Steps {
		steps[i] = s.Name
		if s.Wait() {
			steps[i] += " " + lasting(templates.English, s.Lasts())
		}
	}
	again := map[parts.Again]string{
		parts.BoreAgain: "the hole bored again", parts.CoatsAgain: "the coats you name again", parts.LastAgain: "the last step again",
	}[d.Again]
	words := strings.Join(steps, ", ")
	if words != "" && again != "" {
		words += ", then "
	}
	words += again
	switch {
	case d.Limit == 1:
		words += "; once at most"
	case d.Limit == 2:
		words += "; twice at most"
	case d.Limit > 2:
		words += fmt.Sprintf("; %d times at most", d.Limit)
	}
	return words
}
