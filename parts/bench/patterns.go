package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
	"benchtally/parts/bore"
)

// PatternLook is a pattern of holes as it is for parts of one size.
type PatternLook struct {
	parts.Pattern
	Right  parts.Pattern  // the same holes on the right counterpart
	Handed bool           // left and right are two different parts
	Misfit *parts.Problem // why a part of this size cannot have it; nil when it can
}

// Patterns gives the shop's patterns of holes.
func (b *Bench) Patterns(ctx context.Context) ([]parts.Pattern, error) { return b.store.Patterns(ctx) }

// LookPatterns gives the shop's patterns as they are for parts of a line's
// size, which may be known in part or not at all. Parts without a show face
// may lie on either face.
func (b *Bench) LookPatterns(ctx context.Context, l parts.Line, showFace bool) ([]PatternLook, error) {
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return nil, err
	}
	known := func(s parts.Size) parts.Length {
		if s.ToSuit {
			return 0
		}
		return s.Length
	}
	looks := make([]PatternLook, len(all))
	for i, p := range all {
		looks[i] = PatternLook{
			Pattern: p, Right: bore.Mirror(p),
			Handed: bore.Handed(p, known(l.Length), known(l.Width), known(l.Thick), showFace),
			Misfit: parts.AsProblem(bore.Fits(p, l)),
		}
	}
	return looks, nil
}

// SavePattern adds a pattern, which gets a key from its name, or changes the
// one that has its key. A cut list names patterns, so no two have one name;
// the same new pattern sent twice is added once.
func (b *Bench) SavePattern(ctx context.Context, p parts.Pattern) (parts.Pattern, error) {
	p.Name = strings.Join(strings.Fields(p.Name), " ")
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return p, err
	}
	for _, o := range all {
		switch {
		case !strings.EqualFold(o.Name, p.Name) || o.Key == p.Key:
		case p.Key == "" && slices.Equal(o.Holes, p.Holes):
			return o, nil
		default:
			return p, parts.Problemf(parts.Refused, "pattern-there", "There is a pattern called %q already.", o.Name).
				Next("Change that one, or choose another name.")
		}
	}
	if p.Key == "" {
		p.Key = freshKey(p.Name, all)
	}
	if err := bore.Check(p); err != nil {
		return p, err
	}
	return p, b.store.SavePattern(ctx, p)
}

// freshKey makes a key of a name that no pattern has.
func freshKey(name string, all []parts.Pattern) string {
	short := strings.ToLower(codeOf(name))
	key := short
	for n := 2; slices.ContainsFunc(all, func(o parts.Pattern) bool { return o.Key == key }); n++ {
		key = fmt.Sprintf("%s-%d", short, n)
	}
	return key
}
