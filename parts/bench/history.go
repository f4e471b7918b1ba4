package bench

import (
	"context"
	"fmt"
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/rework"
)

func isSpare(s parts.State) bool { return rework.IsSpare(s) }

// Moment is one thing in the life of a part, as a sentence.
type Moment struct {
	Say      string // a format, and the key of its translations
	Args     []any
	Count    int  // of how many pieces a ticket tells it; 0 for one by itself
	Gone     bool // it was taken back
	At       time.Time
	Recorded time.Time
	By       string
	Station  parts.Station
	Place    string        // the station as people say it; "" for none
	After    time.Duration // since what was done to it before; zero for the first and for short times
	Late     time.Duration // how much later the server heard of it; zero for at once
	Why      string        // a person's reason
	Event    parts.Event
}

// Text is the English sentence.
func (m Moment) Text() string {
	text := fmt.Sprintf(m.Say, m.Args...)
	if m.Count > 0 {
		text = fmt.Sprintf("%d × %s", m.Count, text)
	}
	if m.Gone {
		text += ", taken back"
	}
	return text
}

// worthTelling is the shortest time between two things that a history tells.
const worthTelling = 5 * time.Minute

// life tells the life of a part or an assembly, newest first, and gives the
// last thing done to it when that can be taken back.
func (b *Bench) life(ctx context.Context, p Piece) ([]Moment, *parts.Event, error) {
	events, err := b.store.Events(ctx, p.State.Part)
	if err != nil {
		return nil, nil, err
	}
	return b.tell(ctx, p, events)
}

// lifeOfTicket tells what was done with a ticket.
func (b *Bench) lifeOfTicket(ctx context.Context, p Piece) ([]Moment, *parts.Event, error) {
	all, err := b.store.EventsOfLine(ctx, p.State.Line)
	if err != nil {
		return nil, nil, err
	}
	var events []parts.Event
	counts := map[parts.CommandID]int{}
	gone := map[parts.CommandID]bool{}
	last := map[parts.ID]parts.CommandID{}
	for _, e := range all {
		if e.Kind == parts.Reverted {
			gone[last[e.Part]] = true
		}
		if e.Kind != parts.Printed && e.Kind != parts.LabelWaits {
			last[e.Part] = e.Command
		}
		if e.Detail.Ticket != p.State.Part {
			continue
		}
		if counts[e.Command]++; counts[e.Command] == 1 {
			events = append(events, e)
		}
	}
	moments, undo, err := b.tell(ctx, p, events)
	for i, m := range moments {
		moments[i].Count, moments[i].Gone = counts[m.Event.Command], gone[m.Event.Command]
	}
	if undo != nil && last[undo.Part] != undo.Command {
		undo = nil
	}
	return moments, undo, err
}

// tell makes sentences of events.
func (b *Bench) tell(ctx context.Context, p Piece, events []parts.Event) ([]Moment, *parts.Event, error) {
	names, err := b.store.People(ctx)
	if err != nil {
		return nil, nil, err
	}
	if slices.ContainsFunc(events, func(e parts.Event) bool { return e.Kind == parts.Rerouted }) {
		if p.View.Routings, err = b.routings(ctx); err != nil { // the steps it followed before too
			return nil, nil, err
		}
	}
	var moments []Moment
	var last *parts.Event
	var before time.Time
	state := parts.State{}
	for i, e := range events {
		state = parts.Apply(state, e)
		m := Moment{At: e.At, Recorded: e.Recorded, By: names[e.By], Station: e.Station, Why: e.Detail.Note, Event: e}
		if e.Detail.Override != "" {
			m.Why = e.Detail.Override
		}
		m.Say, m.Args = sentence(p, state, e)
		if st, err := b.Station(ctx, e.Station); err == nil {
			m.Place = st.Name
		}
		if late := e.Recorded.Sub(e.At); late >= worthTelling {
			m.Late = late
		}
		switch took := e.At.Sub(before); {
		case e.Kind == parts.Printed || e.Kind == parts.LabelWaits:
		case !before.IsZero() && took >= worthTelling:
			m.After, before = took, e.At
		default:
			before = e.At
		}
		moments = append(moments, m)
		switch e.Kind {
		case parts.Printed, parts.LabelWaits:
		case parts.Listed, parts.Reverted, parts.Fitted, parts.Freed:
			last = nil // of a fitted part the assembly's page takes it back
		default:
			last = &events[i]
		}
	}
	slices.Reverse(moments)
	return moments, last, nil
}

// plainSentences are those that say the same of every event of a kind.
var plainSentences = map[parts.EventKind]string{
	parts.Rerouted: "Follows other steps from here on", parts.TakenApart: "Taken apart", parts.Doubted: "To be looked at",
	parts.Cleared: "Looked at, and good", parts.Skipped: "Steps left out", parts.Delivered: "Delivered", parts.Held: "Held",
	parts.Released: "Released", parts.LabelWaits: "Label to be printed", parts.Reverted: "Taken back",
}

// sentence says what an event was.
func sentence(p Piece, s parts.State, e parts.Event) (string, []any) {
	if plain, ok := plainSentences[e.Kind]; ok {
		return plain, nil
	}
	d := e.Detail
	switch e.Kind {
	case parts.Listed:
		if d.Birth != nil && d.Birth.Replaces != "" {
			return "Started over in place of %s", []any{d.Birth.Replaces}
		}
		return "On the cut list", nil
	case parts.Did, parts.Mended, parts.Confirmed, parts.Checked:
		return stepSentence(p, s, e)
	case parts.CheckFell:
		if d.Other == "" {
			return "The steps changed; the first piece has to be checked again", nil
		}
		return "The setup was at fault; it has to be checked again", nil
	case parts.Plugged:
		if d.Spot != "" {
			return "Plugged (%s); to be bored again", []any{d.Spot}
		}
		return "Plugged; to be bored again", nil
	case parts.Flawed, parts.Returned:
		return defectSentence(e)
	case parts.Printed:
		return "Label printed, copy %d", []any{d.Copy}
	}
	return otherSentence(e)
}

// stepSentence says what was recorded of a step.
func stepSentence(p Piece, s parts.State, e parts.Event) (string, []any) {
	did, filled := stepNames(p.View, stateFor(p, s), e)
	switch {
	case e.Kind == parts.Confirmed:
		return "%s recorded after all", []any{did}
	case e.Kind == parts.Checked:
		return "First piece checked: %s", []any{did}
	case did == ClampsAreOff:
		return "Clamps off", nil
	case e.Detail.Batch != 0 && len(filled) > 0:
		return "%s done with batch %d; not recorded before it: %s", []any{did, e.Detail.Batch, joined(filled)}
	case e.Detail.Batch != 0:
		return "%s done with batch %d", []any{did, e.Detail.Batch}
	case len(filled) > 0:
		return "%s done; not recorded before it: %s", []any{did, joined(filled)}
	}
	return "%s done", []any{did}
}

// otherSentence says what happened between a piece and another mark.
func otherSentence(e parts.Event) (string, []any) {
	d := e.Detail
	say := map[parts.EventKind]string{
		parts.Freed: "Came out of %s", parts.Fitted: "Fitted into %s", parts.Carted: "Put on cart %s",
		parts.Replaced: "%s takes its place after all", parts.Scrapped: "Scrapped; %s takes its place",
		parts.TookPlace: "Spare, takes the place of %s",
	}
	switch {
	case e.Kind == parts.Scrapped && d.Spare:
		return "Scrapped: a spare made up for it", nil
	case e.Kind == parts.Scrapped && d.Other == "":
		return "Scrapped; nothing takes its place", nil
	case e.Kind == parts.Carted && d.Other == "":
		return "Taken off the cart", nil
	case say[e.Kind] == "":
		return "%s", []any{e.Kind}
	}
	return say[e.Kind], []any{d.Other}
}

// defectSentence says what was wrong and how it is repaired.
func defectSentence(e parts.Event) (string, []any) {
	d := e.Detail
	var repair []string
	for _, s := range d.Repair {
		repair = append(repair, s.Name)
	}
	args := []any{d.Called, joined(repair)}
	if d.Spot != "" {
		args = []any{d.Called, d.Spot, joined(repair)}
	}
	switch back := e.Kind == parts.Returned; {
	case back && d.Spot != "":
		return "Came back from the client: %s (%s); to be repaired: %s", args
	case back:
		return "Came back from the client: %s; to be repaired: %s", args
	case d.Spot != "":
		return "%s (%s); to be repaired: %s", args
	}
	return "%s; to be repaired: %s", args
}

// stateFor gives the state whose steps an event is about; a ticket borrows
// the steps of its line.
func stateFor(p Piece, s parts.State) parts.State {
	if p.State.Kind == parts.Ticket {
		s.Steps = p.State.Steps
	}
	return s
}

func joined(names []string) string {
	out := ""
	for i, n := range names {
		if i > 0 {
			out += ", "
		}
		out += n
	}
	return out
}

// Events is the log of one mark, for programs.
func (b *Bench) Events(ctx context.Context, mark string) ([]parts.Event, error) {
	id, err := parts.ParseMark(mark)
	if err != nil {
		return nil, err
	}
	v, err := b.store.Look(ctx, id)
	if err != nil {
		return nil, err
	}
	if v.Subject.Kind != parts.Ticket {
		return b.store.Events(ctx, id)
	}
	all, err := b.store.EventsOfLine(ctx, v.Subject.Line)
	if err != nil {
		return nil, err
	}
	return slices.DeleteFunc(all, func(e parts.Event) bool { return e.Detail.Ticket != id && e.Part != id }), nil
}
