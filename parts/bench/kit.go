package bench

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/bore"
	"benchtally/parts/routing"
)

// KitRow is a line of a kit check, with where its missing parts are.
type KitRow struct {
	routing.Kit
	Where []Spot
}

// KitCheck says what of an assembly is here before its dry fit, and what is
// missing and where it is. It is empty for anything else.
func (b *Bench) KitCheck(ctx context.Context, p Piece) ([]KitRow, error) {
	var rows []KitRow
	for _, kit := range p.Kits {
		row := KitRow{Kit: kit}
		if kit.Short() > 0 {
			var err error
			if row.Where, err = b.spotsOf(ctx, p.View, kit.Away); err != nil {
				return nil, err
			}
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// usualPlaces are where a hole may be off when the part has no pattern: common
// practice of a frame joint with two to three holes at each end.
var usualPlaces = []string{"left end, hole 1", "left end, hole 2", "left end, hole 3",
	"right end, hole 1", "right end, hole 2", "right end, hole 3"}

// HolePlaces names the holes of a line's parts.
func (b *Bench) HolePlaces(ctx context.Context, l parts.Line) ([]string, error) {
	if l.Pattern == "" {
		return usualPlaces, nil
	}
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return nil, err
	}
	for _, p := range all {
		if p.Key == l.Pattern {
			return bore.Places(handedTo(l, p)), nil
		}
	}
	return usualPlaces, nil
}
