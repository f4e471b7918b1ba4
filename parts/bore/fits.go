package bore

import "benchtally/parts"

// wayNames are the sizes of a part as people say them.
var wayNames = [3]string{"length", "width", "thickness"}

// Fits says which hole of a pattern is not inside a part of line l: its rim
// breaks out, it is deeper than the part, or at this size it lands where
// another is. A size that is not given, or found at the bench, is not judged.
func Fits(p parts.Pattern, l parts.Line) error {
	size := sizes{known(l.Length), known(l.Width), known(l.Thick)}
	places := Places(p)
	for i, b := range lay(p, size) {
		if err := fits(places[i], b, size); err != nil {
			return err
		}
		deep := p.Holes[i].Depth // lay takes what is too deep for right through
		if size[b.way] > 0 && deep > size[b.way] {
			return invalid("hole-outside", "The hole “%s” is %s deep, and the part's %s is only %s.",
				places[i], deep.String(), wayNames[b.way], size[b.way].String()).
				Next("Bore less deep, or choose another pattern for this line.").Fact("hole", places[i])
		}
	}
	return twice(p, places, size)
}

// fits finds out whether the rim of a hole stays inside the part on the two
// ways of the face it is in.
func fits(place string, b bored, size sizes) error {
	for way := range size {
		if way == b.way || size[way] == 0 {
			continue
		}
		// Doubled, like a spot: the rim reaches as far as its end of this way.
		off := max(b.at[way].off, -b.at[way].off)
		if off+b.diameter > size[way] {
			return invalid("hole-outside", "The hole “%s” is not inside the part, whose %s is %s.", place, wayNames[way], size[way].String()).
				Next("Choose another pattern for this line, or put its size right.").Fact("hole", place)
		}
	}
	return nil
}

// known is a size of a part as far as holes can be judged by it.
func known(s parts.Size) parts.Length {
	if s.ToSuit {
		return 0
	}
	return s.Length
}
