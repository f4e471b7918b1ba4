package routing

import (
	"cmp"
	"slices"

	"benchtally/parts"
)

// advanceTicket moves counted parts of a ticket, all or none. Which physical
// part carries which mark does not matter while they are alike, so those that
// stand right before the step go first, and the dry before the wet.
func advanceTicket(v parts.View, scan parts.Scan) ([]parts.Event, error) {
	if err := stopped(v, v.Subject); err != nil {
		return nil, err
	}
	movers, err := moversAt(v, scan)
	if err != nil {
		return nil, err
	}
	count, err := asked(v, movers, scan)
	if err != nil {
		return nil, err
	}
	var events []parts.Event
	for _, mv := range movers[:count] {
		one := scan
		one.Step, one.Count = parts.StepNumber(mv.move.index, mv.move.repair), 0
		m, err := plan(v, mv.state, one)
		if err != nil {
			return nil, err
		}
		e := m.event(v, mv.state, one)
		e.Detail.Ticket = v.Subject.Part
		events = append(events, e)
	}
	return append(events, checked(v, movers[0].move, scan)...), nil
}

// asked is how many of the movers a scan counts. Blanks are counted whole, and
// the last of them may hold fewer parts than the others.
func asked(v parts.View, movers []mover, scan parts.Scan) (int, error) {
	count, most := scan.Count, len(movers)
	if scan.Blanks != 0 {
		line, first := v.Lines[v.Subject.Line], movers[0].move
		if v.Subject.Kind != parts.Ticket || first.repair || !Unparted(line, first.routing, first.index) {
			return 0, parts.Problemf(parts.Refused, CodeCount, "The count says %d blanks, and they are parts by then.", scan.Blanks).
				Next("Count the parts.").Fact("most", most)
		}
		whole := (most + line.PerBlank - 1) / line.PerBlank
		if scan.Blanks < 0 || scan.Blanks > whole {
			return 0, parts.Problemf(parts.Refused, CodeCount, "The count says %d blanks, and this ticket has %d at most for that step.", scan.Blanks, whole).
				Next("Lower the count.").Fact("most", whole)
		}
		count = min(scan.Blanks*line.PerBlank, most)
	}
	if count == 0 {
		count = due(movers)
	}
	if count < 0 || count > most {
		return 0, parts.Problemf(parts.Refused, CodeCount, "The count says %d, and this ticket has %d at most for that step.", count, most).
			Next("Lower the count.").Fact("most", most)
	}
	return count, nil
}

// Unparted reports whether the line's parts still travel as blanks at a step:
// they are counted in blanks up to and with the step that makes them distinct.
func Unparted(l parts.Line, r parts.Routing, step int) bool {
	last := slices.IndexFunc(r.Steps, func(s parts.Step) bool { return s.Parts })
	return l.PerBlank > 1 && step <= last
}

// mover is a part of a ticket with the step that a scan would mean for it.
type mover struct {
	state  parts.State
	move   move
	skips  int  // steps of work that would be filled in
	missed bool // one of those must be recorded first
	wet    bool // a clock still runs
}

// moversAt lists the parts that the ticket's next step at the station is
// for, those nearest to it first. A step that can be done to some now goes
// before one that all have to wait for. When none is left it says why.
func moversAt(v parts.View, scan parts.Scan) ([]mover, error) {
	var movers []mover
	var why error
	for _, s := range v.Group {
		if s.In != "" || s.Scrapped || s.Held != "" {
			continue
		}
		m, err := target(v, s, scan)
		switch {
		case err != nil:
		case m.putsTogether(s):
			err = oneByOne(v, s)
		case s.Mending() && !m.repair:
			continue // it stays behind until its repair is done
		default:
			err = m.doubted(v, s, scan)
		}
		if err != nil {
			why = cmp.Or(why, err)
			continue
		}
		_, wet := s.Waiting(scan.At)
		movers = append(movers, mover{state: s, move: m, skips: skipped(m, s), missed: slices.ContainsFunc(m.between(s), func(st parts.Step) bool { return st.Record }), wet: wet})
	}
	if len(movers) == 0 {
		return nil, noneLeft(v, why)
	}
	slices.SortStableFunc(movers, func(a, b mover) int {
		return cmp.Or(cmp.Compare(a.skips, b.skips), -cmp.Compare(b2i(a.move.repair), b2i(b.move.repair)),
			cmp.Compare(a.state.Steps, b.state.Steps), cmp.Compare(a.move.index, b.move.index), cmp.Compare(b2i(a.wet), b2i(b.wet)),
			cmp.Compare(b2i(a.state.Spare), b2i(b.state.Spare)), cmp.Compare(a.state.Number, b.state.Number))
	})
	first := largest(movers)
	if able := slices.DeleteFunc(slices.Clone(movers), func(m mover) bool { return m.wet || m.missed }); len(able) > 0 &&
		!slices.ContainsFunc(able, func(m mover) bool { return m.move.same(first) }) {
		first = largest(able)
	}
	return slices.DeleteFunc(movers, func(m mover) bool { return !m.move.same(first) }), nil
}

// same reports whether two moves are the same step: of one list of steps the
// same place in it, of two lists the same name at the same station, for the
// same time. So what lies on a cart gets its coat with one tap.
func (m move) same(o move) bool {
	if m.repair != o.repair {
		return false
	}
	if m.routing.ID == o.routing.ID {
		return m.index == o.index
	}
	return !m.repair && m.step.Name == o.step.Name && m.step.Station == o.step.Station && m.nth() == o.nth()
}

// nth counts the steps of the move's name up to it.
func (m move) nth() int {
	n := 0
	for _, s := range m.routing.Steps[:m.index] {
		if s.Name == m.step.Name && s.Station == m.step.Station {
			n++
		}
	}
	return n
}

// putsTogether reports whether the move would put an assembly together: that
// is told of each by itself, because its own parts are bound to it, and what
// is glued is looked at for a coat under the glue.
func (m move) putsTogether(s parts.State) bool {
	if m.repair || s.Kind != parts.Assembly {
		return false
	}
	return slices.ContainsFunc(m.routing.Steps[min(s.Next, m.index):m.index+1], func(st parts.Step) bool { return st.Binds || st.Glues })
}

func oneByOne(v parts.View, s parts.State) error {
	return parts.Problemf(parts.Refused, CodeOneByOne, "%s is put together out of parts of its own.", v.Name(s)).
		Next("Open each one by itself for its dry fit or glue-up.").Fact("part", s.Part)
}

// largest is the step that most of those want who stand right before theirs:
// two spares that lag behind do not hide the pile that lies at the machine.
func largest(movers []mover) move {
	best, most := movers[0].move, 0
	for _, m := range movers {
		if m.skips != movers[0].skips {
			break // sorted: what follows would skip more
		}
		n := 0
		for _, o := range movers {
			if o.skips == m.skips && o.move.same(m.move) {
				n++
			}
		}
		if n > most {
			best, most = m.move, n
		}
	}
	return best
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// skipped counts the steps of work between s and the move.
func skipped(m move, s parts.State) int {
	n := 0
	for _, step := range m.between(s) {
		if !step.Wait() {
			n++
		}
	}
	return n
}

// between are the steps that the move of s would pass over.
func (m move) between(s parts.State) []parts.Step {
	steps, next := m.routing.Steps, s.Next
	if m.repair {
		steps, next = s.Repair, s.Mend
	}
	return steps[min(next, m.index):m.index]
}

// due counts the movers that stand right before the step.
func due(movers []mover) int {
	n := 0
	for _, m := range movers {
		if m.skips == movers[0].skips {
			n++
		}
	}
	return n
}

func noneLeft(v parts.View, why error) error {
	if len(v.Group) == 1 || why != nil && allSame(v) {
		if why != nil {
			return why
		}
	}
	return parts.Problemf(parts.Refused, CodeFinished, "No part of ticket %s has anything to do at this station.", v.Subject.Part).
		Next("Look at its page for where they are.")
}

// allSame reports whether every part of the group stands at the same step.
func allSame(v parts.View) bool {
	return !slices.ContainsFunc(v.Group, func(s parts.State) bool {
		return s.Next != v.Group[0].Next || s.In != v.Group[0].In || s.Steps != v.Group[0].Steps || s.Mending()
	})
}
