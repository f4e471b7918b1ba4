package place

import "benchtally/parts"

// at is the index of the stretch that a piece is in, by the index of its next
// step of work; -1 for a plan without stretches.
func at(plan []Stretch, next int) int {
	for i, s := range plan {
		if next <= s.To {
			return i
		}
	}
	return len(plan) - 1
}

// Left is what is left of a plan, from the stretch that a piece is in.
func Left(plan []Stretch, next int) []Stretch {
	if i := at(plan, next); i >= 0 {
		return plan[i:]
	}
	return nil
}

// Now is the stretch that a piece is in, by the index of its next step of
// work (parts.State.Next).
func Now(plan []Stretch, next int) Stretch {
	if i := at(plan, next); i >= 0 {
		return plan[i]
	}
	return Stretch{}
}

// Change is the stretch that follows, and false when none does.
func Change(plan []Stretch, next int) (Stretch, bool) {
	i := at(plan, next) + 1
	if i >= len(plan) {
		return Stretch{}, false
	}
	return plan[i], true
}

// Destroyed reports whether a step ends the label that is on the piece, and a
// new one is due then. The first label is no such case, and neither is one
// after which the ticket does again: see Due.
func Destroyed(plan []Stretch, step int) bool {
	for i := 1; i < len(plan); i++ {
		if plan[i].From == step {
			return plan[i-1].Prints && plan[i].Prints
		}
	}
	return false
}

// Due reports whether a label is due because the next step of work was before
// and is after: the first one, or one in place of what the steps between have
// destroyed. Before is -1 for a piece that has just come into the books. What
// was taken back needs no label: what was printed lies on the bench.
func Due(plan []Stretch, before, after int) bool {
	s := Now(plan, after)
	return s.Prints && s.From >= before
}

// Labels is how many labels and tags the plan has had printed for a piece
// whose next step of work has the index next; with the number of steps, all.
func Labels(plan []Stretch, next int) int {
	n := 0
	for _, s := range plan {
		if s.Prints && s.From < next {
			n++
		}
	}
	return n
}

// Spoils reports whether a step that the plan does not know, such as one of a
// repair, ends the label of a stretch.
func (s Stretch) Spoils(step parts.Step) bool {
	switch s.Place {
	case Back, Edges, Ends:
		return touches(&step, parts.Face(s.Place))
	}
	return false
}
