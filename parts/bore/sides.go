package bore

import (
	"strings"

	"benchtally/parts"
)

// side is one from which a distance on a face is measured.
type side struct {
	name   parts.HoleFace // a side of the bored face is another face of the part
	across bool           // for Across, else for Along
	far    bool
}

// sidesOf are the sides that a place on a face is measured from.
func sidesOf(into parts.HoleFace) []side {
	switch into {
	case parts.IntoShow, parts.IntoBack:
		return []side{{name: parts.IntoLeftEnd}, {name: parts.IntoRightEnd, far: true},
			{name: parts.IntoNearEdge, across: true}, {name: parts.IntoFarEdge, across: true, far: true}}
	case parts.IntoNearEdge, parts.IntoFarEdge:
		return []side{{name: parts.IntoLeftEnd}, {name: parts.IntoRightEnd, far: true},
			{name: parts.IntoShow, across: true}, {name: parts.IntoBack, across: true, far: true}}
	}
	return []side{{name: parts.IntoNearEdge}, {name: parts.IntoFarEdge, far: true},
		{name: parts.IntoShow, across: true}, {name: parts.IntoBack, across: true, far: true}}
}

// otherSides are other words for the ends of a face that runs from left to
// right.
var otherSides = map[parts.HoleFace]parts.HoleFace{"near end": parts.IntoLeftEnd, "far end": parts.IntoRightEnd}

// from takes the side that a distance is measured from off the front of the
// words.
func (r *reading) from() (side, bool) {
	rest := r.words
	if len(r.words) > 0 && r.words[0] == "the" {
		r.words = r.words[1:]
	}
	name := r.oneOf(append([]parts.HoleFace{"near end", "far end"}, parts.HoleFaces...))
	if plain, ok := otherSides[name]; ok {
		name = plain
	}
	for _, s := range sidesOf(r.hole.Into) {
		if s.name == name {
			return s, true
		}
	}
	r.words = rest
	return side{}, false
}

// fromWords says from where a place on a face is measured.
func fromWords(into parts.HoleFace) string {
	var words []string
	for _, s := range sidesOf(into) {
		words = append(words, "from "+string(s.name))
	}
	return "On the " + string(into) + " write one of: " + strings.Join(words, ", ") + "."
}

// nameOf names the side from which Along or Across of a hole is measured.
func nameOf(into parts.HoleFace, across, far bool) string {
	for _, s := range sidesOf(into) {
		if s.across == across && s.far == far {
			return string(s.name)
		}
	}
	return ""
}
