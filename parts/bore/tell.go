package bore

import "benchtally/parts"

// fromSides are the sides that a place is measured from, as people say them.
var fromSides = map[parts.HoleFace]string{
	parts.IntoLeftEnd: "%s from left end", parts.IntoRightEnd: "%s from right end",
	parts.IntoNearEdge: "%s from near edge", parts.IntoFarEdge: "%s from far edge",
	parts.IntoShow: "%s from show face", parts.IntoBack: "%s from back",
}

// Tell says where in its face a hole is, how wide and how deep, in the words
// and the order of FormatHoles, for a page that may be in another language.
func Tell(h parts.Hole, st parts.Style) []parts.Reason {
	from := func(l parts.Length, across, far bool) parts.Reason {
		side := parts.HoleFace(nameOf(h.Into, across, far))
		return parts.Reason{Say: fromSides[side], Args: parts.Args{exact(l, st)}}
	}
	place := parts.Reason{Say: middleWord}
	if h.Along != 0 {
		place = from(h.Along, false, h.FromFar)
	}
	out := []parts.Reason{place}
	if h.Across != 0 {
		out = append(out, from(h.Across, true, h.AcrossFar))
	}
	if h.Depth == 0 {
		return append(out, parts.Reason{Say: "dia %s through", Args: parts.Args{exact(h.Diameter, st)}})
	}
	return append(out, parts.Reason{Say: "dia %s deep %s", Args: parts.Args{exact(h.Diameter, st), exact(h.Depth, st)}})
}
