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
	return tooSmall(lines, j.Routings, j.States, "")
}

// Warnings says where the pieces of line i of a list will be too small for a
// machine.
func (p Preview) Warnings(i int) []safe.Warning {
	line := p.Lines[i : i+1]
	return safe.Joined(safe.Warnings(jobLines(Preview{Lines: line})[0], line[0].Steps, safe.Usual()))
}

// Warnings says where the piece, or those that a ticket stands for, will be
// too small for a machine, at the steps that still come.
func (p Piece) Warnings() []safe.Warning {
	states := []parts.State{p.State}
	if p.State.Kind.Counts() {
		states = p.View.Group
	}
	return inOrder(states, tooSmall(p.View.Lines, p.View.Routings, states, ""))
}

// TooSmall says what comes to a station and is too small for its machine.
func (b *Bench) TooSmall(ctx context.Context, at parts.Station) ([]safe.Warning, error) {
	shop, err := b.shop(ctx)
	if err != nil {
		return nil, err
	}
	return inOrder(shop.States, tooSmall(shop.Lines, shop.Routings, shop.States, at)), nil
}

// inOrder gives the warnings of all lines in the order of their pieces.
func inOrder(states []parts.State, byLine map[int64][]safe.Warning) []safe.Warning {
	var out []safe.Warning
	for _, s := range states {
		out = append(out, byLine[s.Line]...)
		delete(byLine, s.Line)
	}
	return out
}

// tooSmall gives the warnings of each line for the steps that some of its
// pieces still have before them, at one station or at all. Pieces of one line
// may follow different steps.
func tooSmall(lines map[int64]parts.Line, routings map[int64]parts.Routing, states []parts.State, at parts.Station) map[int64][]safe.Warning {
	type way struct{ line, steps int64 }
	next := map[way]int{} // of the piece that is furthest behind
	var order []way
	for _, s := range states {
		if s.Kind != parts.Single || s.Scrapped || s.Finished || s.In != "" {
			continue
		}
		w := way{s.Line, s.Steps}
		was, known := next[w]
		if !known {
			order = append(order, w)
			was = s.Next
		}
		next[w] = min(was, s.Next)
	}
	out := map[int64][]safe.Warning{}
	for _, w := range order {
		for _, found := range safe.Warnings(lines[w.line], routings[w.steps], safe.Usual()) {
			if found.Step >= next[w] && (at == "" || found.Station == at) && !saidAlready(out[w.line], found) {
				out[w.line] = append(out[w.line], found)
			}
		}
	}
	for line, warnings := range out {
		out[line] = safe.Joined(warnings)
	}
	return out
}

// saidAlready reports whether the same is said already, for other steps of the line.
func saidAlready(warnings []safe.Warning, found safe.Warning) bool {
	return slices.ContainsFunc(warnings, func(w safe.Warning) bool { return w.Does == found.Does && w.Finding == found.Finding })
}
