package bench

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// Relabel puts the label of a part or an assembly among those that wait to be
// printed, because it fell off or cannot be read.
func (b *Bench) Relabel(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "relabel", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Relabel(v, by(scan))
	})
}
