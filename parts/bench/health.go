package bench

import (
	"context"

	"benchtally/parts/store"
)

// Health gives what keeps the shop from being read or saved; nil for nothing.
func (b *Bench) Health(ctx context.Context) error {
	for _, t := range b.store.Conditions() {
		if t.Stops() {
			return t.Problem
		}
	}
	_, err := b.store.Settings(ctx)
	return err
}

// Tally gives what was done since the shop was opened.
func (b *Bench) Tally() store.Tally { return b.store.Tally() }
