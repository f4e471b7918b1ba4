package bench

import (
	"context"

	"benchtally/parts/store"
)

// Move copies the whole shop in from to the empty or new database to, compares
// the two, and replays the log of both; see store.Move.
func Move(ctx context.Context, from, to string) (store.Moved, error) {
	return store.Move(ctx, from, to)
}
