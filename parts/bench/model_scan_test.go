package bench_test

import (
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// meant is the step that a scan is about.
type meant struct {
	repair bool
	index  int
	step   parts.Step
}

// scanOne is for one part or one assembly.
func (sl *slate) scanOne(t *thing, r bench.Request, at time.Time) ruling {
	if r.Count > 1 || r.Blanks > 0 {
		return no("refused count")
	}
	if i := t.saidAfterAll(r, at); i >= 0 {
		return yes(func(w *writing) { w.on(t, at).behind[i] = past{how: parts.WasDone, at: at} })
	}
	m, why := t.means(r, at)
	if why == "" {
		why = t.mayNot(m, r, at)
	}
	if why != "" {
		return no(why)
	}
	if !t.fitsAt(m) {
		for _, id := range r.Parts {
			if !slices.Contains(t.inside, parts.ID(id)) {
				return no("refused does-not-fit")
			}
		}
		if m.step.Glues && onAFinish(sl.parts(t.inside), m) && !r.Override {
			return no("refused scuff-first")
		}
		return yes(func(w *writing) {
			w.pass(t, m, at)
			w.checked(t, m, r, at)
		})
	}
	return sl.fit(t, m, r, at)
}

// saidAfterAll finds the step that nobody had recorded and that is recorded
// after all, -1 for none: by its number, or by a scan from before what was
// recorded last.
func (t *thing) saidAfterAll(r bench.Request, at time.Time) int {
	if t.scrapped || r.Step == 0 && !at.Before(t.lastAt) {
		return -1
	}
	for i := len(t.behind) - 1; i >= 0; i-- {
		named := r.Step == i+1 && (r.Station == "" || r.Station == t.list[i].Station)
		there := r.Step == 0 && r.Station == t.list[i].Station
		if t.behind[i].how == parts.WasFilled && !t.list[i].Wait() && (named || there) {
			return i
		}
	}
	return -1
}

// means finds the step that a scan is about, or says why there is none: a
// number names one, a station means the next one there, a repair first.
func (t *thing) means(r bench.Request, at time.Time) (meant, string) {
	if r.Step != 0 {
		return t.named(r)
	}
	for i := t.mend; i < len(t.repair); i++ {
		if t.repair[i].Station == r.Station {
			return meant{true, i, t.repair[i]}, ""
		}
	}
	for i := t.next; i < len(t.list); i++ {
		if t.list[i].Station == r.Station {
			return meant{false, i, t.list[i]}, ""
		}
	}
	switch {
	case t.stopped() != "":
		return meant{}, t.stopped()
	case at.Before(t.lastAt):
		return meant{}, "parked late"
	case t.next == len(t.list) && !t.mending():
		return meant{}, "refused finished"
	}
	return meant{}, "refused not-here"
}

// named finds a step by its number: from 1 in the list, from 1001 among the
// repair steps.
func (t *thing) named(r bench.Request) (meant, string) {
	steps, next, m := t.list, t.next, meant{index: r.Step - 1}
	if r.Step > 1000 {
		steps, next, m = t.repair, t.mend, meant{repair: true, index: r.Step - 1001}
	}
	switch {
	case m.index >= len(steps) || steps[m.index].Wait():
		return m, "refused step-unknown"
	case r.Station != "" && r.Station != steps[m.index].Station:
		return m, "refused wrong-station"
	case m.index < next:
		return m, "already done-already"
	}
	m.step = steps[m.index]
	return m, ""
}

// mayNot says why a step may not be recorded: "" when it may.
func (t *thing) mayNot(m meant, r bench.Request, at time.Time) string {
	switch {
	case t.stopped() != "":
		return t.stopped()
	case at.Before(t.lastAt):
		return "parked late"
	case r.Override:
		return ""
	case t.wet(at):
		return "refused waiting"
	case t.doubt && (m.step.Record || m.step.Binds):
		return "refused to-be-looked-at"
	case t.tooLate(at, m.repair) && (m.step.Record && !m.repair || m.step.Coat != ""):
		return "refused window-missed"
	}
	if !m.repair && slices.ContainsFunc(t.repair[t.mend:], func(s parts.Step) bool { return !s.Wait() }) {
		return "refused must-record" // nobody would guess a repair
	}
	for _, s := range t.passed(m) {
		if s.Record {
			return "refused must-record"
		}
	}
	return ""
}

// passed are the steps that a step would leave behind unrecorded.
func (t *thing) passed(m meant) []parts.Step {
	if m.repair {
		return t.repair[t.mend:m.index]
	}
	return slices.Concat(t.repair[t.mend:], t.list[t.next:m.index])
}

// skips is how much work a step would leave behind unrecorded, in the list it
// is of.
func (t *thing) skips(m meant) int {
	n := 0
	for i := t.next; !m.repair && i < m.index; i++ {
		if !t.list[i].Wait() {
			n++
		}
	}
	for i := t.mend; m.repair && i < m.index; i++ {
		if !t.repair[i].Wait() {
			n++
		}
	}
	return n
}

// stopped says why nothing at all can be done to a thing.
func (t *thing) stopped() string {
	switch {
	case t.scrapped:
		return "refused scrapped"
	case t.held:
		return "refused held"
	case t.in != "":
		return "refused in-assembly"
	}
	return ""
}

func (t *thing) mending() bool { return t.mend < len(t.repair) }

func (t *thing) wet(at time.Time) bool {
	return slices.ContainsFunc(t.clocks, func(c clock) bool { return at.Before(c.until) })
}

func (t *thing) tooLate(at time.Time, repair bool) bool {
	return slices.ContainsFunc(t.clocks, func(c clock) bool {
		return !c.latest.IsZero() && at.After(c.latest) && !(repair && c.own)
	})
}

func (t *thing) ready() time.Time {
	var ready time.Time
	for _, c := range t.clocks {
		if c.until.After(ready) {
			ready = c.until
		}
	}
	return ready
}

// pass records a step: what lies between is taken for granted, what was not
// waited out too, and the waits that follow begin. Where a repair is passed
// over, the word that was given for it stands for the wait too.
func (w *writing) pass(t *thing, m meant, at time.Time) {
	w.on(t, at)
	if m.repair {
		windows := slices.DeleteFunc(slices.Clone(t.clocks), func(c clock) bool { return !c.own || c.latest.IsZero() || c.until.After(at) || m.step.Coat != "" })
		t.mend, t.clocks = workFrom(t.repair, m.index+1), append(windows, started(t.repair, m.index+1, at, false)...)
		return
	}
	for _, c := range t.clocks {
		if c.own && at.Before(c.until) {
			t.behind[c.step] = past{how: parts.WasFilled}
		}
	}
	for i := t.next; i < m.index; i++ {
		how := parts.WasFilled
		if t.list[i].Binds {
			how = parts.WasDone // what is glued up was put together
		}
		t.behind = append(t.behind, past{how: how})
	}
	t.behind = append(t.behind, past{how: parts.WasDone, at: at})
	t.next = workFrom(t.list, m.index+1)
	for len(t.behind) < t.next {
		t.behind = append(t.behind, past{how: parts.WasDone})
	}
	t.mend, t.finished, t.clocks = len(t.repair), t.next == len(t.list), started(t.list, m.index+1, at, true)
}

// workFrom is the first step from i on that is no wait.
func workFrom(steps []parts.Step, i int) int {
	for i < len(steps) && steps[i].Station == "" {
		i++
	}
	return i
}

// started are the waits that begin one after the other at step i.
func started(steps []parts.Step, i int, from time.Time, own bool) []clock {
	var out []clock
	for ; i < len(steps) && steps[i].Station == ""; i++ {
		c := clock{from: from, until: from.Add(time.Duration(steps[i].Minutes) * time.Minute), step: i, own: own, clamps: steps[i].Clock == parts.Clamps}
		if steps[i].Latest > 0 {
			c.latest = from.Add(time.Duration(steps[i].Latest) * time.Minute)
		}
		out = append(out, c)
		from = c.until
	}
	return out
}

// checked notes on the ticket of a line that the first piece was good.
func (w *writing) checked(t *thing, m meant, r bench.Request, at time.Time) {
	ticket := w.things[w.lines[t.line].Ticket]
	if r.Checked && !m.repair && m.step.Check != "" && ticket != nil {
		w.on(ticket, at).good(m.index, at)
	}
}

// good keeps when the first piece of a step was good last.
func (t *thing) good(step int, at time.Time) {
	if !t.checks[step].After(at) {
		t.checks[step] = at
	}
}
