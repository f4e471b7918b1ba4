package rework

import (
	"slices"
	"strings"
	"unicode"

	"benchtally/parts"
)

// levelled gives the steps of a defect's own repair as they are for a spot:
// the last work among them sands, scrapes or planes the face level there, so
// it cuts that face, and a label on it is lost. Work before it (steaming a
// dent, filling) leaves the face for that. Steps that say themselves what they
// cut stay as they are. That one spot is enough to lose the label is on the
// safe side: the spot may be under it.
func levelled(steps []parts.Step, spot string) []parts.Step {
	out := slices.Clone(steps)
	last := lastWork(out)
	if faces := facesOf(spot); last >= 0 && len(out[last].Cuts) == 0 && len(faces) > 0 {
		out[last].Cuts = faces
	}
	return out
}

// facesOf are the faces that a spot names: "back", "left end", "near edge".
// Where it names a wide face, an end or an edge beside it only says whereabouts
// on that: "left end, show face".
func facesOf(spot string) []parts.Face {
	var wide, narrow []parts.Face
	for _, word := range strings.FieldsFunc(strings.ToLower(spot), func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch word {
		case "show", "front":
			wide = append(wide, parts.ShowFace)
		case "back":
			wide = append(wide, parts.BackFace)
		case "edge", "edges":
			narrow = append(narrow, parts.Edges)
		case "end", "ends":
			narrow = append(narrow, parts.Ends)
		}
	}
	out := wide
	if len(wide) == 0 {
		out = narrow
	}
	slices.Sort(out)
	return slices.Compact(out)
}
