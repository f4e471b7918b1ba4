package bench

import (
	"context"
	"slices"

	"benchtally/parts"
	"benchtally/parts/safe"
)

// Warnings says for each line of a job, by its id, where its pieces will be
// too small for a machine. Steps that lie behind all of them are left out.
func (j JobPieces) Warnings() map[int64][]safe.Warning {
	lines := map[int64]parts.Line{}
	for _, l := range j.Lines {
		lines[l.ID] = l
	}
	return tooSmall(lines, j.Routings, j.States)
}

// Warnings says where the pieces of line i of a list will be too small for a
// machine.
func (p Preview) Warnings(i int) []safe.Warning {
	line := p.Lines[i : i+1]
	return safe.Warnings(jobLines(Preview{Lines: line})[0], line[0].Steps, safe.Usual())
}

// Warnings says where the piece, or those that a ticket stands for, will be
// too small for a machine, at the steps that still come.
func (p Piece) Warnings() []safe.Warning {
	states := []parts.State{p.State}
	if p.State.Kind.Counts() {
		states = p.View.Group
	}
	byLine := tooSmall(p.View.Lines, p.View.Routings, states)
	var out []safe.Warning
	for _, s := range states { // in their order, each line once
		out = append(out, byLine[s.Line]...)
		delete(byLine, s.Line)
	}
	return out
}

// TooSmall says what comes to a station and is too small for its machine.
func (b *Bench) TooSmall(ctx context.Context, at parts.Station) ([]safe.Warning, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return nil, err
	}
	byLine := tooSmall(shop.Lines, shop.Routings, shop.States)
	var out []safe.Warning
	for _, s := range shop.States {
		for _, w := range byLine[s.Line] {
			if w.Station == at {
				out = append(out, w)
			}
		}
		delete(byLine, s.Line)
	}
	return out, nil
}

// tooSmall gives the warnings of each line for the steps that some of its
// pieces still have before them. Pieces of one line may follow other steps.
func tooSmall(lines map[int64]parts.Line, routings map[int64]parts.Routing, states []parts.State) map[int64][]safe.Warning {
	type way struct{ line, steps int64 }
	next := map[way]int{} // of the piece that is furthest behind
	var order []way
	for _, s := range states {
		if s.Kind != parts.Single || s.Scrapped || s.Finished || s.In != "" {
			continue
		}
		w := way{s.Line, s.Steps}
		if was, known := next[w]; !known {
			order = append(order, w)
		} else if was <= s.Next {
			continue
		}
		next[w] = s.Next
	}
	out := map[int64][]safe.Warning{}
	for _, w := range order {
		for _, warning := range safe.Warnings(lines[w.line], routings[w.steps], safe.Usual()) {
			if warning.Step >= next[w] && !slices.Contains(out[w.line], warning) {
				out[w.line] = append(out[w.line], warning)
			}
		}
	}
	return out
}
