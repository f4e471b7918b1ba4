package parts

import (
	"slices"
	"time"
)

// Dry is how far a wait has come, by the readings of the shop's air at the
// moment somebody asks.
type Dry struct {
	Ready   time.Time     // when it is over; Never while nothing progresses
	Closes  time.Time     // the end of the recoat window; zero where the product has none
	Shut    bool          // in this air the window closes before it opens
	Counted time.Duration // of what it needs at the sheet's conditions
	Air     Degrees       // the temperature that is expected to stay
	Why     []Reason      // why it is not what the sheet says, the greatest loss first
	Missed  string        // what the sheet says once the window has closed
}

// Reason is a sentence as a format and its values, and the same in few words.
type Reason struct {
	Say  string
	Args Args
	In   string // "cold: %s counted as %s"
	Few  Args

	Slight bool // it costs so little that nobody need act on it
}

// Never is the end of a wait that does not progress: too cold for the product.
var Never = time.Date(9999, 12, 31, 0, 0, 0, 0, time.UTC)

// Ends is when the wait is over, as far as anybody knows.
func (w Wait) Ends() time.Time {
	if w.Dry != nil {
		return w.Dry.Ready
	}
	return w.Until
}

// Closes is the end of its recoat window, zero for none.
func (w Wait) Closes() time.Time {
	if w.Dry != nil {
		return w.Dry.Closes
	}
	return w.Latest
}

// Recoat is the end of the recoat window of a wait of s; zero when there is
// none, or when no coming step coats a face again that was coated before the
// wait: nobody has to hurry after the last coat.
func (s State) Recoat(r Routing, w Wait) time.Time {
	steps, coming := r.Steps, s.Repair[min(s.Mend, len(s.Repair)):]
	if w.Mends {
		steps = s.Repair
	}
	coming = append(slices.Clone(coming), r.Steps[min(max(s.Next, 0), len(r.Steps)):]...)
	faces, named := coatedBefore(steps, w.Step)
	for _, st := range coming {
		coats := st.Coat != "" || !named && st.Record && !st.Glues && !st.Binds
		if coats && (len(faces) == 0 || len(st.Coats) == 0 || slices.ContainsFunc(st.Coats, func(f Face) bool { return slices.Contains(faces, f) })) {
			return w.Closes()
		}
	}
	return time.Time{}
}

// coatedBefore are the faces of the coat that the wait at index i follows, and
// false when the steps name none: then any step that must be recorded may be
// a coat.
func coatedBefore(steps []Step, i int) ([]Face, bool) {
	for i = min(i, len(steps)) - 1; i >= 0; i-- {
		if steps[i].Coat != "" {
			return steps[i].Coats, true
		}
	}
	return nil, false
}

// Still reports whether nothing progresses.
func (w Wait) Still() bool { return w.Ends().Equal(Never) }

// Judged gives s with its waits judged by dry, which gets the cart that s lies
// on and one wait. s itself is left as it is: what was computed is never saved.
func (s State) Judged(dry func(cart ID, w Wait) Wait) State {
	if dry == nil {
		return s
	}
	copied := false
	for i, w := range s.Waits {
		if w.Product == "" {
			continue
		}
		if !copied {
			s.Waits, copied = append([]Wait(nil), s.Waits...), true
		}
		s.Waits[i] = dry(s.Cart, w)
	}
	return s
}

// Relied is when each of the waits of s is over, for the event that follows
// them: nil when the clock alone says it.
func (s State) Relied() []time.Time {
	var out []time.Time
	for i, w := range s.Waits {
		if w.Dry != nil && out == nil {
			out = make([]time.Time, len(s.Waits))
			for j := range i {
				out[j] = s.Waits[j].Ends()
			}
		}
		if out != nil {
			out[i] = w.Ends()
		}
	}
	return out
}
