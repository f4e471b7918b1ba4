package parts

import (
	"time"
)

// Coming is the step that comes next, with its number and when it may happen.
type Coming struct {
	Number int
	Step   Step
	Ready  time.Time // zero when nothing has to be waited for
	Repair bool
}

// NextStep gives the next step of work of s, and false when none is left.
func NextStep(r Routing, s State) (Coming, bool) {
	if s.Scrapped || s.Next < 0 || s.Mend < 0 {
		return Coming{}, false
	}
	if s.Mending() {
		return Coming{Number: StepNumber(s.Mend, true), Step: s.Repair[s.Mend], Ready: s.Ready(), Repair: true}, true
	}
	if s.Next >= len(r.Steps) {
		return Coming{}, false
	}
	return Coming{Number: StepNumber(s.Next, false), Step: r.Steps[s.Next], Ready: s.Ready()}, true
}

// StripOf is the picture of s at now, a notch for each of its steps.
func StripOf(r Routing, s State, now time.Time) Strip {
	notches := make([]Notch, len(r.Steps))
	for i := range notches {
		notches[i].Shape = OpenNotch
		if i < len(s.Past) {
			notches[i].Shape = FilledNotch
			if s.Past[i].How != WasDone {
				notches[i].Shape = DottedNotch
			}
		}
	}
	for _, w := range s.Waits {
		if w.Mends || w.Step < 0 || w.Step >= len(notches) || !r.Steps[w.Step].Wait() {
			continue
		}
		notches[w.Step].Shape = FilledNotch
		if now.Before(w.Ends()) {
			notches[w.Step].Shape = HatchedNotch
		}
	}
	for _, i := range s.Nicks {
		if i >= 0 && i < len(notches) {
			notches[i].Nick = true
			if s.Mending() {
				notches[i].Shape = HatchedNotch
			}
		}
	}
	return Strip{Notches: notches, Broken: s.Scrapped}
}
