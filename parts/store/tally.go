package store

import (
	"sync/atomic"
	"time"
)

// Tally is what the writer has done since the shop was opened.
type Tally struct {
	Outcomes map[string]int64 // commands by what became of them, repeats left out
	Groups   Spread           // of how much was saved together
	Seconds  Spread           // of how long that took, from the first decision to the commit
	Waiting  int              // now
}

// Spread says how many values were no larger than each bound, how many there
// were, and what they add up to.
type Spread struct {
	UpTo  map[float64]uint64
	Count uint64
	Sum   float64
}

// The bounds of the spreads: groups as few phones and many make them, and
// commits from a fast disk to one that is felt.
var (
	groupBounds  = [...]float64{1, 2, 8, 32, 128}
	secondBounds = [...]float64{.0005, .002, .01, .05, .25}
)

// tally counts for Tally.
type tally struct {
	recorded, already, refused, parked atomic.Int64

	groups      [len(groupBounds) + 1]atomic.Int64 // by the first bound that is not smaller
	seconds     [len(secondBounds) + 1]atomic.Int64
	works, took atomic.Int64 // in all; took in nanoseconds
}

// Tally gives what the writer has done.
func (s *Store) Tally() Tally {
	t := &s.tally
	return Tally{
		Outcomes: map[string]int64{"recorded": t.recorded.Load(), "already": t.already.Load(), "refused": t.refused.Load(), "parked": t.parked.Load()},
		Groups:   spread(groupBounds[:], t.groups[:], float64(t.works.Load())),
		Seconds:  spread(secondBounds[:], t.seconds[:], time.Duration(t.took.Load()).Seconds()),
		Waiting:  len(s.jobs),
	}
}

// spread adds up what was counted by bounds.
func spread(bounds []float64, counts []atomic.Int64, sum float64) Spread {
	out := Spread{UpTo: map[float64]uint64{}, Sum: sum}
	for i := range counts {
		out.Count += uint64(counts[i].Load())
		if i < len(bounds) {
			out.UpTo[bounds[i]] = out.Count
		}
	}
	return out
}

// group counts works that were saved together, and how long that took.
func (t *tally) group(works int, took time.Duration) {
	t.groups[bucket(groupBounds[:], float64(works))].Add(1)
	t.seconds[bucket(secondBounds[:], took.Seconds())].Add(1)
	t.works.Add(int64(works))
	t.took.Add(int64(took))
}

// bucket is where a value is counted.
func bucket(bounds []float64, v float64) int {
	for i, b := range bounds {
		if v <= b {
			return i
		}
	}
	return len(bounds)
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
