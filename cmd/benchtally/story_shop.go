package main

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/routing"
)

// storyPicks are the steps that a story's job gets instead of the proposed
// ones. The rows are those of the story's list.
var storyPicks = bench.Picks{
	Steps:         map[int]string{2: routing.DowelPart, 5: routing.Bought},
	AssemblySteps: map[string]string{"Bench back": routing.ScrewedUnit},
}

// savePatterns gives a story's shop its patterns of holes: a rail that is
// bored alike at both ends, and a stile that is not.
func savePatterns(ctx context.Context, b *bench.Bench) error {
	hole := func(into parts.HoleFace, along, across parts.Length) parts.Hole {
		return parts.Hole{Into: into, Along: along, Across: across, Diameter: 3 * parts.Inch / 8, Depth: parts.Inch}
	}
	for _, p := range []parts.Pattern{
		{Name: "Rail ends", Holes: []parts.Hole{
			hole(parts.IntoLeftEnd, parts.Inch/2, 0), hole(parts.IntoLeftEnd, 7*parts.Inch/4, 0),
			hole(parts.IntoRightEnd, parts.Inch/2, 0), hole(parts.IntoRightEnd, 7*parts.Inch/4, 0)}},
		{Name: "Back stile", Holes: []parts.Hole{
			hole(parts.IntoFarEdge, 2*parts.Inch, 0), hole(parts.IntoFarEdge, 3*parts.Inch, 0),
			hole(parts.IntoFarEdge, 13*parts.Inch, 0), hole(parts.IntoFarEdge, 14*parts.Inch, 0)}},
	} {
		if _, err := b.SavePattern(ctx, p); err != nil {
			return err
		}
	}
	return nil
}
