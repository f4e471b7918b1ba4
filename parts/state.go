package parts

import (
	"slices"
	"time"
)

// FoldVersion is the number of the fold below. A change of Apply or State
// that gives other rows for the same log raises it; older rows are rebuilt.
const FoldVersion = 5

// State is where a part, an assembly or a ticket stands: what its events add
// up to.
type State struct {
	Part     ID     `json:"part"`
	Seq      int    `json:"seq"`
	Kind     Kind   `json:"kind"`
	Job      int64  `json:"job"`
	Line     int64  `json:"line"`
	Number   int    `json:"number"`
	Name     string `json:"name,omitempty"` // of a cart that has one of its own
	Spare    bool   `json:"spare,omitempty"`
	Test     bool   `json:"test,omitempty"`
	Steps    int64  `json:"steps,omitempty"` // the version of the steps it follows
	Next     int    `json:"next"`            // index of the next step of work
	Finished bool   `json:"finished,omitempty"`

	Past   Trail  `json:"past,omitempty"`   // what is known of each step so far, by index
	Waits  []Wait `json:"waits,omitempty"`  // clocks started by the last step
	Repair []Step `json:"repair,omitempty"` // every repair step ever put in between
	Mend   int    `json:"mend,omitempty"`   // index of the next repair step; len(Repair) for none
	Nicks  []int  `json:"nicks,omitempty"`  // steps that were repaired, by index

	In         ID     `json:"in,omitempty"`    // the assembly it was fitted into
	Parts      []ID   `json:"parts,omitempty"` // of an assembly: what was fitted into it
	Held       string `json:"held,omitempty"`  // why it is held; "" when it is not
	Scrapped   bool   `json:"scrapped,omitempty"`
	Void       bool   `json:"void,omitempty"` // listed by mistake: nothing is short without it
	Replaces   ID     `json:"replaces,omitempty"`
	ReplacedBy ID     `json:"replaced_by,omitempty"`
	Copies     int    `json:"copies,omitempty"`    // labels printed of it
	LabelDue   bool   `json:"label_due,omitempty"` // its label was not printed since it was needed; see WantsLabel

	Cart      ID        `json:"cart,omitempty"`     // the cart it lies on
	Flaws     []Flaw    `json:"flaws,omitempty"`    // every defect it had, for the limits
	Doubt     string    `json:"doubt,omitempty"`    // why it has to be looked at
	Checks    []Check   `json:"checks,omitempty"`   // of a ticket: first pieces that were good
	Delivered time.Time `json:"delivered,omitzero"` // when it was handed over
	Laid      []Laid    `json:"laid,omitempty"`     // coats of known batches, in order

	LastAt time.Time `json:"last_at"` // of what happened to the wood last; printing is nothing to it
}

// Flaw is a defect that a piece had.
type Flaw struct {
	Defect string `json:"defect"`
	Step   int    `json:"step"` // index of the step at which it came about; -1 for none
	Spot   string `json:"spot,omitempty"`
}

// Check is a first piece that was good.
type Check struct {
	Step int       `json:"step"` // index of the step whose setup it was
	At   time.Time `json:"at"`
}

// Past is what is known of one step that lies behind a part.
type Past struct {
	How PastHow   `json:"how"`
	At  time.Time `json:"at,omitzero"`
	By  int64     `json:"by,omitempty"`
}

// PastHow says how a step came to lie behind.
type PastHow string

// A step behind a part was recorded, or it must have happened, or it was
// left out.
const (
	WasDone    PastHow = "d"
	WasFilled  PastHow = "f"
	WasSkipped PastHow = "s"
)

// Mending reports whether a repair is not finished.
func (s State) Mending() bool { return s.Mend < len(s.Repair) }

// Short reports whether something was scrapped that nothing has replaced.
func (s State) Short() bool {
	return s.Scrapped && s.ReplacedBy == "" && !s.Void && !s.Spare && !s.Kind.Counts()
}

// WantsLabel reports whether its label is to be printed now. What is inside an
// assembly needs none of its own until it comes out again.
func (s State) WantsLabel() bool { return s.LabelDue && s.In == "" }

// Ready is when the last clock runs out; zero when none was started.
func (s State) Ready() time.Time {
	var ready time.Time
	for _, w := range s.Waits {
		if w.Ends().After(ready) {
			ready = w.Ends()
		}
	}
	return ready
}

// Waiting gives the clock that runs at now, and whether one does.
func (s State) Waiting(now time.Time) (Wait, bool) {
	for _, w := range s.Waits {
		if now.Before(w.Ends()) {
			return w, true
		}
	}
	return Wait{}, false
}

// silent are the kinds of event that do nothing to the wood.
func silent(k EventKind) bool {
	return k == Printed || k == LabelWaits || k == Carted
}

// Apply returns s after e. It cannot fail and consults nothing but its
// arguments: rules are checked before an event is written, and what is
// written is history. A kind it does not know only moves Seq and LastAt.
func Apply(s State, e Event) State {
	s.Seq, s.Part = e.Seq, e.Part
	if !silent(e.Kind) && e.At.After(s.LastAt) {
		s.LastAt = e.At
	}
	d := e.Detail
	switch e.Kind {
	case Listed:
		s = born(s, d.Birth)
	case Did:
		s = did(s, e)
	case Mended:
		s.Mend, s.Waits = d.Next, d.Waits
		s.Laid = append(slices.Clip(s.Laid), d.Laid...)
	case Confirmed:
		s.Past = confirmed(s.Past, e)
	case Rerouted:
		s = rerouted(s, d)
	case TakenApart:
		s.Parts, s.Next, s.Finished, s.Waits = nil, d.Next, false, nil
		s.Past = slices.Clone(s.Past[:min(max(d.Next, 0), len(s.Past))])
	case Freed:
		s.In = ""
	case Plugged, Flawed, Returned:
		s = flawed(s, e)
	case Fitted:
		s.In, s.Spare, s.Test, s.Cart, s.Doubt = d.Other, false, false, "", ""
	case Scrapped:
		s.Scrapped, s.ReplacedBy, s.Held, s.LabelDue, s.Cart, s.Doubt = true, d.Other, "", false, "", ""
		s.Void = d.Void
	case Replaced:
		s.ReplacedBy = d.Other
	case TookPlace:
		s.Spare, s.Test, s.Replaces = false, false, d.Other
	case Held:
		s.Held = d.Note
	case Released:
		s.Held = ""
	case Printed:
		s.Copies, s.LabelDue = d.Copy, false
	case LabelWaits:
		s.LabelDue = true
	case Checked:
		s.Checks = checked(s.Checks, e)
	case CheckFell:
		s.Checks = without(s.Checks, e.Step)
	case Doubted:
		s.Doubt = d.Note
	case Cleared:
		s.Doubt = ""
	case Skipped:
		s.Past = pass(s.Past, e, d.Next)
		s.Next, s.Finished, s.Waits = d.Next, d.Finished, nil
	case Carted:
		s.Cart = d.Other
	case Delivered:
		s.Delivered, s.Cart = e.At, ""
	case Reverted:
		s = revert(s, d.Back)
	}
	return s
}

// did moves a part past a step of work.
func did(s State, e Event) State {
	d := e.Detail
	s.Past = pass(s.Past, e, d.Next)
	s.Past = cutShort(s.Past, s.Waits, d, e.At)
	if d.Next != s.Next { // an unfinished repair that was overruled lies behind
		s.Mend = len(s.Repair)
	}
	s.Next, s.Finished, s.Waits = d.Next, d.Finished, d.Waits
	s.Laid = append(slices.Clip(s.Laid), d.Laid...)
	if len(d.Parts) > 0 {
		s.Parts = d.Parts
	}
	return s
}

// rerouted puts a part on other steps, at its place in them.
func rerouted(s State, d Detail) State {
	s.Steps, s.Next = d.Steps, d.Next
	if d.Place != nil {
		s.Past, s.Waits, s.Nicks, s.Finished = d.Place.Past, d.Place.Waits, d.Place.Nicks, d.Finished
	}
	return s
}

// flawed begins a repair: its steps come before the next one.
func flawed(s State, e Event) State {
	d := e.Detail
	if e.Step >= 0 {
		s.Nicks = append(slices.Clip(s.Nicks), e.Step)
	}
	if d.Defect != "" {
		s.Flaws = append(slices.Clip(s.Flaws), Flaw{Defect: d.Defect, Step: e.Step, Spot: d.Spot})
	}
	s.Mend = NextWork(d.Repair, 0) + len(s.Repair)
	s.Repair = append(slices.Clip(s.Repair), d.Repair...)
	s.Waits, s.Doubt, s.Delivered = d.Waits, "", time.Time{}
	return s
}

// checked keeps the newest check of each step.
func checked(checks []Check, e Event) []Check {
	for _, c := range checks {
		if c.Step == e.Step && c.At.After(e.At) {
			return checks
		}
	}
	return append(without(checks, e.Step), Check{Step: e.Step, At: e.At})
}

// without gives the checks of other steps.
func without(checks []Check, step int) []Check {
	return slices.DeleteFunc(slices.Clone(checks), func(c Check) bool { return c.Step == step })
}

func born(s State, b *Birth) State {
	if b == nil {
		return s
	}
	s.Kind, s.Job, s.Line, s.Number, s.Spare, s.Test = b.Kind, b.Job, b.Line, b.Number, b.Spare, b.Test
	s.Steps, s.Next, s.Replaces, s.Name = b.Steps, b.First, b.Replaces, b.Name
	return s
}

// pass marks every step before next as behind the part.
func pass(past []Past, e Event, next int) []Past {
	past = append(make([]Past, 0, max(next, len(past))), past...)
	for len(past) < next {
		how := WasDone
		if e.Kind == Skipped {
			how = WasSkipped
		}
		past = append(past, Past{How: how})
	}
	for _, i := range e.Detail.Filled {
		if i >= 0 && i < len(past) {
			past[i] = Past{How: WasFilled}
		}
	}
	if e.Step >= 0 && e.Step < len(past) {
		past[e.Step] = Past{How: WasDone, At: e.At, By: e.By}
	}
	return past
}

// cutShort marks the waits that an event ends before their time: they count as
// not recorded, and stay visible that way. Relied is when they were over by the
// readings, for those that were judged by them.
func cutShort(past []Past, waits []Wait, d Detail, at time.Time) []Past {
	for i, w := range waits {
		over := w.Until
		if i < len(d.Relied) {
			over = d.Relied[i]
		}
		goesOn := slices.ContainsFunc(d.Waits, func(o Wait) bool { return o.Step == w.Step && !o.Mends })
		if !w.Mends && !goesOn && over.After(at) && w.Step >= 0 && w.Step < len(past) {
			past[w.Step] = Past{How: WasFilled}
		}
	}
	return past
}

// confirmed marks a step that was taken for granted as recorded.
func confirmed(past []Past, e Event) []Past {
	if e.Step < 0 || e.Step >= len(past) {
		return past
	}
	past = slices.Clone(past)
	past[e.Step] = Past{How: WasDone, At: e.At, By: e.By}
	return past
}

// revert goes back, except for the place in the log, which only grows.
func revert(s State, back *State) State {
	if back == nil {
		return s
	}
	was := *back
	was.Part, was.Seq = s.Part, s.Seq
	return was
}

// Fold returns the state that events add up to. They must be one part's
// history in order of Seq.
func Fold(events []Event) State {
	var s State
	for _, e := range events {
		s = Apply(s, e)
	}
	return s
}

// Trace is one part's share in a command, for taking it back.
type Trace struct {
	Before []Event // everything before the command, in order
	Done   []Event // what the command did to it
	Since  []Event // labels printed or queued since: undoing leaves them as they are
	Now    State
	Last   Event // the newest event of the part, prints apart
}
