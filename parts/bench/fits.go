package bench

import (
	"context"
	"maps"
	"slices"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// CanFit says before a dry fit whether what was named for it can go into a
// frame: nil, or the problem with the last piece of the list. Nothing is
// recorded.
func (b *Bench) CanFit(ctx context.Context, frame Piece, step int, marks []parts.ID) error {
	for _, mark := range marks {
		p, err := b.Look(ctx, string(mark))
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(frame.View.Needs, p.Line.Alike) {
			return parts.Problemf(parts.Refused, routing.CodeWontFit, "%s is none of the parts that %s takes.", p.Name, frame.Name).
				Next("Scan what lies on the bench for it.").Fact("part", mark)
		}
		if p.State.In != "" {
			return parts.Problemf(parts.Refused, routing.CodeWontFit, "%s is in %s already.", p.Name, p.Inside).
				Next("Take another one. If it lies on the bench, take the frame apart in the books first.").Fact("part", mark)
		}
	}
	_, err := routing.Advance(frame.View, parts.Scan{Step: step, At: frame.View.Now, Parts: marks})
	if p := parts.AsProblem(err); p != nil && p.Code != routing.CodeWontFit {
		return nil // what else is in the way is said when the fit is recorded
	}
	return err
}

// Named is a piece as a phone knows it without a network.
type Named struct {
	Mark    parts.ID      `json:"mark"`
	Name    string        `json:"name"`
	Step    string        `json:"step,omitempty"` // what comes next
	Station parts.Station `json:"station,omitempty"`
	Parts   []parts.ID    `json:"parts,omitempty"` // the marks of all that is in it
}

// Names lists what is in the shop and in nothing else, with what it holds.
func (b *Bench) Names(ctx context.Context) ([]Named, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return nil, err
	}
	held, err := b.held(ctx)
	if err != nil {
		return nil, err
	}
	out := []Named{}
	for _, s := range shop.States {
		if s.Scrapped {
			continue
		}
		n := Named{Mark: s.Part, Name: parts.PieceName(shop.Lines[s.Line], s), Parts: held[s.Part]}
		if next, ok := parts.NextStep(shop.Routings[s.Steps], s); ok {
			n.Step, n.Station = next.Step.Name, next.Step.Station
		}
		out = append(out, n)
	}
	return out, nil
}

// held gives what is in each assembly that is in no other, in the order of the
// marks.
func (b *Bench) held(ctx context.Context) (map[parts.ID][]parts.ID, error) {
	inside, err := b.store.Inside(ctx)
	if err != nil {
		return nil, err
	}
	out := map[parts.ID][]parts.ID{}
	for _, part := range slices.Sorted(maps.Keys(inside)) {
		outer := part
		for inside[outer] != "" {
			outer = inside[outer]
		}
		out[outer] = append(out[outer], part)
	}
	return out, nil
}
