package store

import (
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// After has the states that a command led to, until the answer is composed.
type After struct {
	View    *parts.View      // what was decided on; empty when no single mark was
	changed []changed        // in the order of their first events
	at      map[parts.ID]int // where each is among them, when there are many
}

type changed struct {
	part     parts.ID
	was, now parts.State
}

// fewChanged are found without a map.
const fewChanged = 8

func (a *After) find(id parts.ID) *changed {
	if i, ok := a.at[id]; ok {
		return &a.changed[i]
	}
	if a.at == nil {
		for i := range a.changed {
			if a.changed[i].part == id {
				return &a.changed[i]
			}
		}
	}
	return nil
}

func (a *After) add(id parts.ID, was parts.State) *changed {
	a.changed = append(a.changed, changed{id, was, was})
	n := len(a.changed)
	if n > fewChanged && a.at == nil {
		a.at = map[parts.ID]int{}
		for i := range a.changed {
			a.at[a.changed[i].part] = i
		}
	}
	if a.at != nil {
		a.at[id] = n - 1
	}
	return &a.changed[n-1]
}

// Of gives the new state of a part; the zero State when nothing was done to it.
func (a After) Of(id parts.ID) parts.State {
	if p := a.find(id); p != nil {
		return p.now
	}
	return parts.State{}
}

// record numbers the events, writes them and saves the states they lead to.
func (t *tx) record(c *Command, events []parts.Event, now time.Time) (after After, err error) {
	fresh, err := t.fresh(events)
	if err != nil {
		return after, err
	}
	after.View, after.changed = &t.seen, t.s.memory.changed[:0]
	for i := range events {
		e := &events[i]
		p := after.find(e.Part)
		if p == nil {
			var was parts.State
			if !fresh[e.Part] {
				if was, err = t.state(e.Part); err != nil {
					return after, err
				}
			}
			p = after.add(e.Part, was)
		}
		e.Seq, e.Command, e.Recorded = p.now.Seq+1, c.ID, now
		if e.At.IsZero() {
			e.At = now
		}
		e.At = e.At.Truncate(time.Millisecond)
		if err := t.addEvent(e); err != nil {
			return after, err
		}
		p.now = parts.Apply(p.now, *e)
	}
	for i := range after.changed {
		if err := t.saveState(&after.changed[i].now, &after.changed[i].was); err != nil {
			return after, err
		}
	}
	if len(events) > 0 {
		t.s.latest.Store(max(t.s.latest.Load(), now.UnixMilli()))
	}
	return after, nil
}

// marksOf lists what the events of a command are of, nothing when that is its
// subject alone: so they are found by their marks, and the log needs no index
// by command.
func marksOf(c *Command, events []parts.Event) string {
	if !slices.ContainsFunc(events, func(e parts.Event) bool { return e.Part != c.Subject }) {
		return ""
	}
	marks := make([]string, len(events))
	for i, e := range events {
		marks[i] = string(e.Part)
	}
	slices.Sort(marks)
	return strings.Join(slices.Compact(marks), ",")
}
