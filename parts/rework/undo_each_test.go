package rework_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
)

// Whatever was done, undoing it at once leaves every mark as it was. A mark
// that was made by it stays, and is void.

// undoable is something that was done.
type undoable struct {
	name string
	v    parts.View
	deed func(parts.View) ([]parts.Event, error)
}

func carted(s *parts.State) { s.Cart = "K1" }

func TestWorkThatIsUndoneIsNothing(t *testing.T) {
	scan := parts.Scan{Station: "bore", At: noon, By: 3}
	two := []parts.State{at(1, 7, carted), at(2, 7)}
	loose := []parts.State{stile(1, carted), stile(2)}
	pieces := front(0)
	kit := func(v parts.View) parts.View {
		v.Needs = []parts.Line{v.Lines[3]}
		return v
	}
	newer := func(v parts.View) parts.Routing {
		r := v.Routings[railSteps]
		r.ID = 99
		return r
	}
	for _, tt := range []undoable{
		{"a scan", shop(at(1, 7, carted)), func(v parts.View) ([]parts.Event, error) { return routing.Advance(v, scan) }},
		{"a scan of a ticket with the check of its first piece", shop(stileTicket, append(two, stileTicket)...), func(v parts.View) ([]parts.Event, error) {
			v.Group = v.Group[:2]
			s := scan
			s.Checked = true
			return routing.Advance(v, s)
		}},
		{"a check", shop(stileTicket, two...), func(v parts.View) ([]parts.Event, error) { return routing.CheckFirst(v, scan) }},
		{"a dry fit", kit(shop(pieces, loose...)), func(v parts.View) ([]parts.Event, error) {
			return routing.Advance(v, parts.Scan{Station: "glue", At: noon})
		}},
		{"clamps on, from before the dry fit", kit(shop(pieces, loose...)), func(v parts.View) ([]parts.Event, error) {
			return routing.Advance(v, parts.Scan{Station: "glue", Step: 2, At: noon})
		}},
		{"loading a cart", shop(stileTicket, two...), func(v parts.View) ([]parts.Event, error) { return routing.Load(v, "K2", scan) }},
		{"emptying it", shop(parts.State{Part: "K1", Kind: parts.Cart}, two[0]), func(v parts.View) ([]parts.Event, error) { return routing.Load(v, "", scan) }},
		{"leaving steps out", shop(stileTicket, two...), func(v parts.View) ([]parts.Event, error) { return routing.Skip(v, 9, "bought", scan) }},
		{"other steps", shop(stileTicket, two...), func(v parts.View) ([]parts.Event, error) { return routing.Reroute(v, 3, newer(v), 0, 3) }},
	} {
		t.Run(tt.name, func(t *testing.T) { doThenUndo(t, tt) })
	}
}

func TestReworkThatIsUndoneIsNothing(t *testing.T) {
	flaw := func(key string) rework.Flaw { return rework.Flaw{Defect: defect(key), Note: "seen"} }
	two := []parts.State{at(1, 7, carted), at(2, 7)}
	back, inside := benchBack(frSand)
	dry, dryInside := benchBack(1)
	for _, tt := range []undoable{
		{"a plug", shop(stile(1)), func(v parts.View) ([]parts.Event, error) { return rework.Plug(v, flaw("hole-off"), by) }},
		{"a defect that ended a doubt", shop(stile(1, inDoubt)), func(v parts.View) ([]parts.Event, error) { return rework.Mend(v, flaw("dent"), by) }},
		{"a return", shop(wrapped("F1", delivered)), func(v parts.View) ([]parts.Event, error) { return rework.Return(v, flaw("dent"), by) }},
		{"a delivery", shop(parts.State{}, wrapped("F1", carted), wrapped("F2")), func(v parts.View) ([]parts.Event, error) { return rework.Deliver(v, by) }},
		{"a doubt", shop(stileTicket, bored(9, parts.WasDone, 1, off), stile(1), stileTicket), func(v parts.View) ([]parts.Event, error) { return rework.Doubt(v, "S9", by) }},
		{"clearing it", shop(stileTicket, stile(1, inDoubt), stile(2, inDoubt)), func(v parts.View) ([]parts.Event, error) { return rework.Clear(v, by) }},
		{"a hold", shop(stile(1)), func(v parts.View) ([]parts.Event, error) { return rework.Hold(v, "a knot", by) }},
		{"a release", shop(stile(1, held)), func(v parts.View) ([]parts.Event, error) { return rework.Release(v, by) }},
		{"taking apart", shop(dry, dryInside...), func(v parts.View) ([]parts.Event, error) { return rework.TakeApart(v, by) }},
		{"a remake of what was held", shop(stile(1, held, carted)), func(v parts.View) ([]parts.Event, error) { return rework.Remake(v, "", fresh("NEW"), "split", by) }},
		{"a spare that took the place", shop(stile(1), stile(5)), func(v parts.View) ([]parts.Event, error) { return rework.Remake(v, "S5", fresh("NEW"), "split", by) }},
		{"a remake of an assembly with all that is in it", shop(back, inside...), func(v parts.View) ([]parts.Event, error) { return rework.Remake(v, "", fresh("NEW"), "split", by) }},
		{"made after all", shop(stile(1, scrapped)), func(v parts.View) ([]parts.Event, error) { return rework.Remake(v, "", fresh("NEW"), "", by) }},
		{"a scrapping", shop(back, inside...), func(v parts.View) ([]parts.Event, error) { return rework.Scrap(v, "split", by) }},
		{"pieces that were lost", shop(stileTicket, append(two, stile(5))...), func(v parts.View) ([]parts.Event, error) {
			return rework.Lost(v, 8, 1, rework.UseSpares, fresh("NEW"), "split", by)
		}},
		{"a job that was taken back", shop(parts.State{}, stileTicket, at(1, 0)), func(v parts.View) ([]parts.Event, error) { return rework.TakeBackJob(v, by) }},
	} {
		t.Run(tt.name, func(t *testing.T) { doThenUndo(t, tt) })
	}
}

func doThenUndo(t *testing.T, tt undoable) {
	events, err := tt.deed(tt.v)
	require.NoError(t, err)
	before := map[parts.ID]parts.State{}
	for _, s := range append([]parts.State{tt.v.Subject}, tt.v.Group...) {
		before[s.Part] = s
	}
	after, done := record(events, before)
	undone, err := rework.Undo(parts.CommandID{9}, done, tt.v.Name, 3, "", noon.Add(time.Minute))
	require.NoError(t, err)
	require.Len(t, undone, len(after), "one for each mark")
	for _, e := range undone {
		s := after[e.Part]
		e.Seq = s.Seq + 1
		back := parts.Apply(s, e)
		was, known := before[e.Part]
		if !known {
			assert.Equal(t, []bool{true, true, false}, []bool{back.Scrapped, back.Void, back.LabelDue}, "a mark is never taken back")
			continue
		}
		was.Seq = back.Seq
		assert.Equal(t, was, back)
	}
}

// record writes events on top of states, as command 9, and gives what the
// store would give to take it back.
func record(events []parts.Event, before map[parts.ID]parts.State) (map[parts.ID]parts.State, []parts.Trace) {
	after := map[parts.ID]parts.State{}
	last := map[parts.ID]parts.Event{}
	var order []parts.ID
	for _, e := range events {
		e.Command, e.Recorded = parts.CommandID{9}, noon
		s, seen := after[e.Part]
		if !seen {
			s = before[e.Part]
			order = append(order, e.Part)
		}
		e.Seq = s.Seq + 1
		after[e.Part] = parts.Apply(s, e)
		if e.Kind != parts.LabelWaits {
			last[e.Part] = e
		}
	}
	var done []parts.Trace
	for _, id := range order {
		d := parts.Trace{Now: after[id], Last: last[id]}
		if was, known := before[id]; known { // a history that adds up to the state before
			d.Before = []parts.Event{{Part: id, Seq: was.Seq, Kind: parts.Reverted, Detail: parts.Detail{Back: &was}}}
		}
		done = append(done, d)
	}
	return after, done
}

func TestLaterAnUndoSaysWhy(t *testing.T) {
	s := stile(1)
	events, err := rework.Hold(shop(s), "a knot", by)
	require.NoError(t, err)
	_, done := record(events, map[parts.ID]parts.State{s.Part: s})
	tests := []struct {
		name   string
		after  time.Duration
		reason string
		code   string
	}{
		{"ten minutes later", 10 * time.Minute, "", ""},
		{"a second more", 10*time.Minute + time.Second, "", "undo-reason"},
		{"a second more, and blanks", 10*time.Minute + time.Second, " ", "undo-reason"},
		{"a day later with a reason", 24 * time.Hour, "wrong stile", ""},
		{"a clock that stepped back", -time.Hour, "", ""},
	}
	for _, tt := range tests {
		_, err := rework.Undo(parts.CommandID{9}, done, shop(s).Name, 3, tt.reason, noon.Add(tt.after))
		assert.Equal(t, tt.code, parts.CodeOf(err), tt.name)
	}
}
