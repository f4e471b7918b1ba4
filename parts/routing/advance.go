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
	v = sound(v)
	if v.Subject.Kind == parts.Cart && scan.Step != 0 {
		return nil, parts.Problemf(parts.Invalid, "step-unknown", "A cart has no steps of its own.").Next("Leave the step out: the station says what is done.")
	}
	if v.Subject.Kind.Counts() {
		return advanceTicket(v, scan)
	}
	return advanceOne(v, scan)
}

// advanceOne moves one part or one assembly, with the parts it binds.
func advanceOne(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	if scan.Count > 1 || scan.Count < 0 || scan.Blanks != 0 {
		return nil, parts.Problemf(parts.Invalid, CodeCount, "%s is one piece, and the count says %d.", v.Name(v.Subject), cmp.Or(scan.Blanks, scan.Count)).
			Next("Scan the ticket to count several, or leave the count out.")
	}
	if events, ok := confirm(v, v.Subject, scan); ok {
		return events, nil
	}
	move, err := plan(v, v.Subject, scan)
	if err != nil {
		return nil, err
	}
	var bound []parts.Event
	switch {
	case move.binds():
		bound, err = bind(v, scan)
	case len(scan.Parts) > 0:
		err = belong(v, scan.Parts)
	}
	if err != nil {
		return nil, err
	}
	if err := move.glues(v, bound, scan); err != nil {
		return nil, err
	}
	e := move.event(v, v.Subject, scan)
	for _, b := range bound {
		e.Detail.Parts = append(e.Detail.Parts, b.Part)
		e.Detail.Override = cmp.Or(e.Detail.Override, b.Detail.Override)
	}
	return append(append([]parts.Event{e}, bound...), checked(v, move, scan)...), nil
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
			return m, waiting(v, s, m.step.Name, wait, scan.At)
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
	} else if err := m.repairFirst(v, s, scan); err != nil {
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

// event is what happened, with where s stands now.
func (m move) event(v parts.View, s parts.State, scan parts.Scan) parts.Event {
	e := parts.Event{Part: s.Part, Kind: parts.Did, Station: m.step.Station, By: scan.By, At: scan.At, Step: m.index}
	steps := m.routing.Steps
	if m.repair {
		e.Kind, steps = parts.Mended, s.Repair
	}
	next := parts.NextWork(steps, m.index+1)
	e.Detail = parts.Detail{Next: next, Filled: m.unsaid(), Waits: m.clocks(v, s, steps, scan.At), Relied: s.Relied(), Override: m.over}
	e.Detail.Finished = !m.repair && next == len(steps)
	return e
}

// unsaid are the steps before the move that nobody said were done. A dry fit is
// none of them: what is glued up was put together, and is bound now.
func (m move) unsaid() []int {
	return slices.DeleteFunc(slices.Clone(m.filled), func(i int) bool { return !m.repair && m.routing.Steps[i].Binds })
}

// clocks are the waits that run once the move is done. A repair leaves the
// recoat window of a coat as it is, unless it puts a coat on by itself.
func (m move) clocks(v parts.View, s parts.State, steps []parts.Step, at time.Time) []parts.Wait {
	var dry func(parts.Wait) parts.Wait
	if v.Dry != nil {
		dry = func(w parts.Wait) parts.Wait { return v.Dry(s.Cart, w) }
	}
	started := Clocks(steps, m.index+1, at, dry)
	if !m.repair {
		return started
	}
	var kept []parts.Wait
	for _, w := range s.Waits {
		if !w.Mends && !w.Latest.IsZero() && !w.Ends().After(at) && m.step.Coat == "" {
			kept = append(kept, w)
		}
	}
	for i := range started {
		started[i].Mends = true
	}
	return append(kept, started...)
}

// Clocks are the waits that start at from when the step before index i is
// done. One of fixed minutes runs after the one before it; the times of a data
// sheet all count from when its product was put on, and dry, which may be nil,
// completes them.
func Clocks(steps []parts.Step, i int, from time.Time, dry func(parts.Wait) parts.Wait) []parts.Wait {
	var waits []parts.Wait
	start, at := from, parts.Station("")
	if i > 0 && i <= len(steps) {
		at = steps[i-1].Station
	}
	for ; i < len(steps) && steps[i].Wait(); i++ {
		w := parts.Wait{Clock: steps[i].Clock, Step: i, From: from, Until: from.Add(steps[i].Lasts())}
		if steps[i].Latest > 0 {
			w.Latest = from.Add(time.Duration(steps[i].Latest) * time.Minute)
		}
		if steps[i].Product != "" && dry != nil {
			put := w
			put.From, put.Product, put.Need, put.At = start, steps[i].Product, steps[i].Need, at
			if put = dry(put); put.Version > 0 { // else the shop does not know the product
				w = put
			}
		}
		waits = append(waits, w)
		from = later(from, w.Until)
	}
	return waits
}

func later(a, b time.Time) time.Time {
	if a.After(b) {
		return a
	}
	return b
}
