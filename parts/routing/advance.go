package routing

import (
	"cmp"
	"slices"
	"time"

	"benchtally/parts"
)

// Codes of what a scan may be answered with, for programs and tests.
const (
	CodeScrapped   = "scrapped"
	CodeHeld       = "held"
	CodeInAssembly = "in-assembly"
	CodeFinished   = "finished"
	CodeNotHere    = "not-here"
	CodeWaiting    = "waiting"
	CodeMustRecord = "must-record"
	CodeMissing    = "parts-missing"
	CodeLate       = "late"
	CodeDone       = "done-already"
	CodeCount      = "count"
	CodeWindow     = "window-missed"
	CodeDoubt      = "to-be-looked-at"
	CodeWontFit    = "does-not-fit"
	CodeScuff      = "scuff-first"
	CodeOneByOne   = "one-by-one"
)

// Advance decides what a scan of the view's subject does: the events of one
// part, of an assembly with the parts it binds, or of the counted parts of a
// ticket. A refusal is a *parts.Problem; one of sort Already says that the
// step was done before, one of sort Parked that a person must look.
func Advance(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	if v.Subject.Kind == parts.Cart && scan.Step != 0 {
		return nil, parts.Problemf(parts.Invalid, "step-unknown", "A cart has no steps of its own.").Next("Leave the step out: the station says what is done.")
	}
	if v.Subject.Kind.Counts() {
		return advanceTicket(v, scan)
	}
	if scan.Count > 1 || scan.Blanks > 0 {
		return nil, parts.Problemf(parts.Invalid, CodeCount, "%s is one piece, and the count says %d.", v.Name(v.Subject), max(scan.Count, scan.Blanks)).
			Next("Scan the ticket to count several, or leave the count out.")
	}
	if events, ok := confirm(v, v.Subject, scan); ok {
		return events, nil
	}
	move, err := plan(v, v.Subject, scan)
	if err != nil {
		return nil, err
	}
	if err := move.glues(v, scan); err != nil {
		return nil, err
	}
	events := []parts.Event{move.event(v.Subject, scan)}
	if len(scan.Parts) > 0 && !move.binds() {
		if err := belong(v, scan.Parts); err != nil {
			return nil, err
		}
	}
	if move.binds() {
		bound, err := bind(v, scan)
		if err != nil {
			return nil, err
		}
		for _, e := range bound {
			events[0].Detail.Parts = append(events[0].Detail.Parts, e.Part)
			events[0].Detail.Override = cmp.Or(events[0].Detail.Override, e.Detail.Override)
		}
		events = append(events, bound...)
	}
	return append(events, checked(v, move, scan)...), nil
}

// move is one step that may be recorded.
type move struct {
	routing parts.Routing
	repair  bool // it is a step of the part's repair
	index   int  // of the step, in the routing or in the repair
	step    parts.Step
	filled  []int // steps before it that nobody recorded
	over    string
}

// binds reports whether the move is a dry fit, or passes over one that a
// person said was done: glued parts belong to their assembly either way.
func (m move) binds() bool {
	passed := func(i int) bool { return m.routing.Steps[i].Binds }
	return !m.repair && (m.step.Binds || slices.ContainsFunc(m.filled, passed))
}

// plan finds the step that scan means for s and judges whether it may be
// recorded. The order of the questions is the order in which their answers
// help: what was done already comes first, because that is no error.
func plan(v parts.View, s parts.State, scan parts.Scan) (move, error) {
	m, err := target(v, s, scan)
	if err != nil {
		return m, err
	}
	if err := stopped(v, s); err != nil {
		return m, err
	}
	if err := late(v, s, scan); err != nil {
		return m, err
	}
	if wait, running := s.Waiting(scan.At); running {
		if !scan.Override {
			return m, waiting(v, s, m, wait, scan.At)
		}
		m.over = overrule(scan)
	}
	if err := m.doubted(v, s, scan); err != nil {
		return m, err
	}
	if err := m.windowMissed(v, s, scan); err != nil {
		return m, err
	}
	return m, m.fill(v, s, scan)
}

// late parks a scan that is from before what was recorded last.
func late(v parts.View, s parts.State, scan parts.Scan) error {
	if p := v.Late(s, scan.At); p != nil {
		return p
	}
	return nil
}

// doubted stops a piece that was made with a setup at fault before a step
// that cannot be put right, until a person has looked at it.
func (m *move) doubted(v parts.View, s parts.State, scan parts.Scan) error {
	if s.Doubt == "" || !m.step.Record && !m.step.Binds {
		return nil
	}
	if scan.Override {
		m.over = overrule(scan)
		return nil
	}
	return parts.Problemf(parts.Refused, CodeDoubt, "%s has to be looked at first: %s.", v.Name(s), s.Doubt).
		Next("Check it. If it is good, say so on its page.")
}

// windowMissed refuses a coat after the last moment for it: what follows then
// is for the product's data sheet to say.
func (m *move) windowMissed(v parts.View, s parts.State, scan parts.Scan) error {
	if m.step.Coat == "" && !m.step.Record {
		return nil
	}
	for _, w := range s.Waits {
		if w.Latest.IsZero() || !scan.At.After(w.Latest) {
			continue
		}
		if scan.Override {
			m.over = overrule(scan)
			return nil
		}
		p := parts.Problemf(parts.Refused, CodeWindow, "%s: the next coat had to be on by %s.", v.Name(s), w.Latest).
			Next("Look at the product's data sheet for what to do, do it, and say so.").Fact("latest", w.Latest)
		if missed := m.missed(s, w); missed != "" {
			p.Next("The data sheet says: %s. Do that, and say so.", missed)
		}
		return p
	}
	return nil
}

// missed is what the data sheet says of a wait that lasted too long.
func (m *move) missed(s parts.State, w parts.Wait) string {
	steps := m.routing.Steps
	if m.repair {
		steps = s.Repair
	}
	if w.Step < 0 || w.Step >= len(steps) {
		return ""
	}
	return steps[w.Step].Missed
}

// glues refuses a glue-up onto a face that was finished before: the glue
// would hold on to the coat and not on to the wood.
func (m *move) glues(v parts.View, scan parts.Scan) error {
	if m.repair || !m.step.Glues || len(m.step.Joins) == 0 {
		return nil
	}
	for _, st := range m.routing.Steps[:m.index] {
		if st.Scuff {
			return nil
		}
	}
	for _, s := range v.Group {
		face, coated := coatedFace(v.Routing(s), s, m.step.Joins)
		if s.In != v.Subject.Part || !coated {
			continue
		}
		if scan.Override {
			m.over = overrule(scan)
			return nil
		}
		return parts.Problemf(parts.Refused, CodeScuff, "%s is finished on its %s, and glue does not hold on that.", v.Name(s), string(face)).
			Next("Scuff the glue faces down to the wood, and say so.").Fact("part", s.Part)
	}
	return nil
}

// coatedFace finds a face of those that carries a coat which no later step
// has roughened.
func coatedFace(r parts.Routing, s parts.State, faces []parts.Face) (parts.Face, bool) {
	for i := min(len(s.Past), len(r.Steps)) - 1; i >= 0; i-- {
		if r.Steps[i].Scuff {
			return "", false
		}
		for _, f := range r.Steps[i].Coats {
			if slices.Contains(faces, f) {
				return f, true
			}
		}
	}
	return "", false
}

// stopped says why s goes nowhere at all.
func stopped(v parts.View, s parts.State) error {
	name := v.Name(s)
	switch {
	case s.Scrapped && s.ReplacedBy != "":
		return parts.Problemf(parts.Refused, CodeScrapped, "%s was scrapped. %s takes its place.", name, s.ReplacedBy).
			Next("Scan %s instead, and take this label off.", s.ReplacedBy).Fact("replaced_by", s.ReplacedBy)
	case s.Scrapped:
		return parts.Problemf(parts.Refused, CodeScrapped, "%s was scrapped.", name).Next("Take this label off.")
	case s.Held != "":
		return parts.Problemf(parts.Refused, CodeHeld, "%s is held: %s.", name, s.Held).
			Next("Release it on its page when that is settled.").Fact("reason", s.Held)
	case s.In != "":
		return parts.Problemf(parts.Refused, CodeInAssembly, "%s is part of an assembly now.", name).
			Next("Scan the assembly %s instead.", s.In).Fact("assembly", s.In)
	}
	return nil
}

// target finds the step that scan means. With a step number that one and no
// other; without, the next one at the station, a repair first.
func target(v parts.View, s parts.State, scan parts.Scan) (move, error) {
	m := move{routing: v.Routing(s)}
	if scan.Step != 0 {
		return m.named(v, s, scan)
	}
	for i := s.Mend; i < len(s.Repair); i++ {
		if s.Repair[i].Station == scan.Station {
			m.repair, m.index, m.step = true, i, s.Repair[i]
			return m, nil
		}
	}
	for i := s.Next; i < len(m.routing.Steps); i++ {
		if m.routing.Steps[i].Station == scan.Station && scan.Station != "" {
			m.index, m.step = i, m.routing.Steps[i]
			return m, nil
		}
	}
	if err := stopped(v, s); err != nil {
		return m, err
	}
	if err := late(v, s, scan); err != nil {
		return m, err
	}
	return m, nothingHere(v, s, scan.Station)
}

// named finds the step by its number.
func (m move) named(v parts.View, s parts.State, scan parts.Scan) (move, error) {
	index, repair := parts.StepIndex(scan.Step)
	steps, next := m.routing.Steps, s.Next
	if repair {
		steps, next = s.Repair, s.Mend
	}
	if index < 0 || index >= len(steps) || steps[index].Wait() {
		return m, parts.Problemf(parts.Invalid, "step-unknown", "%s has no step %d to record.", v.Name(s), scan.Step).
			Next("Open its page again and use the button there.")
	}
	m.index, m.repair, m.step = index, repair, steps[index]
	if scan.Station != "" && m.step.Station != scan.Station {
		return m, parts.Problemf(parts.Invalid, "wrong-station", "Step %d of %s, %s, is not done at this station.", scan.Step, v.Name(s), m.step.Name).
			Next("Open its page again and use the button there.").Fact("station", m.step.Station)
	}
	if index < next {
		return m, doneAlready(v, s, m)
	}
	return m, nil
}

// fill lists the steps between where s stands and the one that is done now.
// If a piece is at the drill it has been planed, whatever was recorded; only
// what must be recorded stops it.
func (m *move) fill(v parts.View, s parts.State, scan parts.Scan) error {
	steps, next := m.routing.Steps, s.Next
	if m.repair {
		steps, next = s.Repair, s.Mend
	} else if err := m.mustRecord(v, s, s.Repair[s.Mend:], scan); err != nil {
		return err
	}
	between := steps[next:m.index]
	if err := m.mustRecord(v, s, between, scan); err != nil {
		return err
	}
	for i := next; i < m.index; i++ {
		m.filled = append(m.filled, i)
	}
	return nil
}

// mustRecord refuses when a step of between may not be taken for granted.
func (m *move) mustRecord(v parts.View, s parts.State, between []parts.Step, scan parts.Scan) error {
	i := slices.IndexFunc(between, func(st parts.Step) bool { return st.Record })
	if i < 0 {
		return nil
	}
	if scan.Override {
		m.over = overrule(scan)
		return nil
	}
	missed := between[i]
	return parts.Problemf(parts.Refused, CodeMustRecord, "%s: %s comes first, and nobody recorded it.", v.Name(s), missed.Name).
		Next("Record that step first, or say that it was done.").
		Fact("step", missed.Name).Fact("station", missed.Station)
}

// event is what happened, with where s stands now.
func (m move) event(s parts.State, scan parts.Scan) parts.Event {
	e := parts.Event{Part: s.Part, Kind: parts.Did, Station: m.step.Station, By: scan.By, At: scan.At, Step: m.index}
	steps := m.routing.Steps
	if m.repair {
		e.Kind, steps = parts.Mended, s.Repair
	}
	next := parts.NextWork(steps, m.index+1)
	e.Detail = parts.Detail{Next: next, Filled: m.filled, Waits: Clocks(steps, m.index+1, scan.At), Override: m.over}
	e.Detail.Finished = !m.repair && next == len(steps)
	return e
}

// Clocks are the waits that start at from when the step before index i is
// done: each runs after the one before it.
func Clocks(steps []parts.Step, i int, from time.Time) []parts.Wait {
	var waits []parts.Wait
	for ; i < len(steps) && steps[i].Wait(); i++ {
		w := parts.Wait{Clock: steps[i].Clock, Step: i, From: from, Until: from.Add(steps[i].Lasts())}
		if steps[i].Latest > 0 {
			w.Latest = from.Add(time.Duration(steps[i].Latest) * time.Minute)
		}
		waits = append(waits, w)
		from = w.Until
	}
	return waits
}

func overrule(scan parts.Scan) string {
	if scan.Reason == "" {
		return "a person said so"
	}
	return scan.Reason
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
