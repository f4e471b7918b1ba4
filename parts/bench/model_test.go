package bench_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// The bench answers every command as the slate does, and everything stands as
// on the slate after each.
func TestTheShopIsAsOnTheSlate(t *testing.T) {
	eachJob(t, 60, func(d *days) {
		defects, err := d.Defects(context.Background())
		require.NoError(t, err)
		d.slate = newSlate(d, defects)
		d.begin()
		for range 1 + d.number("things that happen", 60) {
			d.act(d.next(verbs))
			if d.chance("again", 1) {
				d.repeat()
			}
		}
		d.inOrder()
	})
}

// A coat that was put on again is waited for like the first; when somebody
// says that it is dry, the first one stays as recorded.
func TestAWaitOfARepairIsNoStepOfThePiece(t *testing.T) {
	eachJob(t, 1, func(d *days) {
		defects, err := d.Defects(context.Background())
		require.NoError(t, err)
		d.slate = newSlate(d, defects)
		cleat := d.nth("Cleat", 1)
		for _, a := range []asking{
			{verb: "scan", r: bench.Request{Station: "stain"}},
			{verb: "mend", r: bench.Request{Defect: "blotch", Coats: []int{3}, Note: "a blotch"}},
			{verb: "scan", r: bench.Request{Station: "sand", Override: true}},
			{verb: "scan", r: bench.Request{Station: "stain"}},
			{verb: "scan", r: bench.Request{Station: "topcoat", Override: true}},
		} {
			a.r.ID, a.r.Mark = shoptest.NewID(), cleat
			a = d.act(a)
			require.NoError(d, a.err)
		}
	})
}
