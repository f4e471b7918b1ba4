package store

import "sync/atomic"

// Tally is what the writer has done since the shop was opened.
type Tally struct {
	Outcomes map[string]int64 // commands by what became of them, repeats left out
	Groups   int64            // saved together
	Works    int64            // what the groups held
	Waiting  int              // now
}

// tally counts for Tally.
type tally struct {
	recorded, already, refused, parked, groups, works atomic.Int64
}

// Tally gives what the writer has done.
func (s *Store) Tally() Tally {
	t := &s.tally
	return Tally{
		Outcomes: map[string]int64{"recorded": t.recorded.Load(), "already": t.already.Load(), "refused": t.refused.Load(), "parked": t.parked.Load()},
		Groups:   t.groups.Load(), Works: t.works.Load(), Waiting: len(s.jobs),
	}
}

// group counts works that were saved together.
func (t *tally) group(works int) {
	t.groups.Add(1)
	t.works.Add(int64(works))
}

// command counts a command that got its answer.
func (t *tally) command(a Answer) {
	if a.Repeat {
		return
	}
	switch a.Outcome {
	case "recorded":
		t.recorded.Add(1)
	case "already":
		t.already.Add(1)
	case "parked":
		t.parked.Add(1)
	default:
		t.refused.Add(1)
	}
}
