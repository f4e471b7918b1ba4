package bench

import (
	"context"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bore"
)

// PointedAt is a part as a finger points at it: its picture, as on its label,
// and the names of its holes in the order in which the picture has them.
type PointedAt struct {
	Sketch *labels.Sketch // nil when its size is not known
	Holes  []string       // the usual ones where the shop knows no pattern
}

// PointAt gives the picture of a line's parts with the names of their holes.
func (b *Bench) PointAt(ctx context.Context, l parts.Line) (PointedAt, error) {
	out := PointedAt{Holes: usualPlaces}
	if l.Kind != parts.Single {
		return PointedAt{}, nil
	}
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return out, err
	}
	known := map[string]parts.Pattern{}
	for _, p := range all {
		known[p.Key] = p
		if p.Key == l.Pattern {
			out.Holes = bore.Places(handedTo(l, p))
		}
	}
	out.Sketch = draft{patterns: known}.sketch(l, "")
	return out, nil
}

// handedTo is a pattern as it is on a line's parts: on right ones in a mirror.
func handedTo(l parts.Line, p parts.Pattern) parts.Pattern {
	if l.Hand == parts.Right {
		return bore.Mirror(p)
	}
	return p
}
