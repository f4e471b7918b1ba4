package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"benchtally/parts"
)

// Command is what a person or a program asked for.
type Command struct {
	ID      parts.CommandID
	Hash    [32]byte // of what was asked, to tell a repeat from a reused id
	Kind    string   // "scan", "plug", "undo"
	Subject parts.ID
	By      string    // a person's name; "" when nobody said
	At      time.Time // when it happened; zero for now
	Request []byte    // what was asked, as JSON, for the list of late scans
}

// Answer is what a command led to. It is stored with the command, so that a
// repeat gets the same one.
type Answer struct {
	Outcome string          // "recorded", "already", "refused" or "parked"
	Problem *parts.Problem  // why, when it was not recorded
	Said    json.RawMessage // what the decision answered, when it was recorded
	Result  any             // the same as a value, when it was recorded just now
	Repeat  bool            // it was asked before
}

// Decision is what decide makes of a view: events, and the answer to keep
// once they are applied. After has the new states of the events' parts.
type Decision struct {
	Events []parts.Event
	Answer func(after map[parts.ID]parts.State) any
}

// Change is the one door through which a part's history is written. In one
// transaction it reads the view of the command's subject, asks decide what
// happens, and writes the events, the new states and the command with its
// answer; a refusal is stored too. decide gets the person's id and must not
// call the store. An error is a fault, or a Problem that was not stored
// because the command itself made no sense.
func (s *Store) Change(ctx context.Context, c Command, decide func(v parts.View, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		v, err := t.view(c.Subject)
		if err != nil {
			return Decision{}, err
		}
		return decide(v, person)
	})
}

// Replace is Change with new marks at hand, for what starts over: each call
// of fresh gives one that was never used.
func (s *Store) Replace(ctx context.Context, c Command, decide func(v parts.View, fresh func() parts.ID, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		v, err := t.view(c.Subject)
		if err != nil {
			return Decision{}, err
		}
		serial, err := t.serial()
		if err != nil {
			return Decision{}, err
		}
		next := serial
		fresh := func() (id parts.ID) {
			id, next = parts.NextMark(next)
			return id
		}
		d, err := decide(v, fresh, person)
		if err != nil || next == serial {
			return d, err
		}
		return d, t.saveSerial(next)
	})
}

// ChangeJob is Change for everything of a job at once: the view's group is
// all its parts, assemblies and tickets.
func (s *Store) ChangeJob(ctx context.Context, c Command, job int64, decide func(v parts.View, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, true, func(t *tx, person int64) (Decision, error) {
		rows, err := t.query("SELECT state FROM part_states WHERE job = ? ORDER BY line, number, part", job)
		if err != nil {
			return Decision{}, fmt.Errorf("read job %d: %w", job, err)
		}
		v := parts.View{Now: t.now, Lines: map[int64]parts.Line{}, Routings: map[int64]parts.Routing{}}
		if v.Group, err = scanStates(rows); err != nil {
			return Decision{}, err
		}
		if err := s.explain(t, &v); err != nil {
			return Decision{}, err
		}
		return decide(s.judged(v), person)
	})
}

// Undo takes the command target back. decide gets the share of every part.
func (s *Store) Undo(ctx context.Context, c Command, target parts.CommandID,
	decide func(v parts.View, done []parts.Trace, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		done, err := t.traces(target)
		if err != nil {
			return Decision{}, err
		}
		v := parts.View{Now: t.now, Lines: map[int64]parts.Line{}, Routings: map[int64]parts.Routing{}}
		for _, d := range done {
			v.Group = append(v.Group, d.Now)
		}
		if err := s.explain(t, &v); err != nil {
			return Decision{}, err
		}
		return decide(v, done, person)
	})
}

const findCommand = `SELECT hash, outcome, answer FROM commands WHERE id = ?`

const insertCommand = `INSERT INTO commands (id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, settled)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)`

// command runs one command in the writer: once, whatever the number of times
// it arrives.
func (s *Store) command(ctx context.Context, c Command, alone bool, decide func(t *tx, person int64) (Decision, error)) (Answer, error) {
	var answer Answer
	err := s.hand(ctx, &work{alone: alone, about: &c, do: func(t *tx) error {
		return t.once(c, &answer, decide)
	}})
	if err != nil {
		return Answer{}, err
	}
	s.tally.command(answer)
	return answer, nil
}

// once decides a command that is new, and gives the answer that it has by the
// time of the commit.
func (t *tx) once(c Command, answer *Answer, decide func(t *tx, person int64) (Decision, error)) error {
	before, found, err := t.answered(c)
	if *answer = before; err != nil || found {
		return err
	}
	t.now = t.s.Now()
	person, err := t.person(c.By)
	if err != nil {
		return err
	}
	d, err := decide(t, person)
	switch p := parts.AsProblem(err); {
	case p != nil:
		*answer = Answer{Outcome: outcomeOf(p), Problem: p}
	case err != nil:
		return err
	default:
		after, err := t.record(c, d.Events, t.now)
		if err != nil {
			return err
		}
		*answer = Answer{Outcome: "recorded", Result: d.Answer(after)}
	}
	if m := &t.s.memory; m.looked {
		m.since[c.ID] = true
	}
	return t.keep(c, answer, person)
}

func outcomeOf(p *parts.Problem) string {
	switch p.Sort {
	case parts.Already, parts.Parked:
		return string(p.Sort)
	}
	return "refused"
}

// answered finds the answer to a command that came before.
func (t *tx) answered(c Command) (Answer, bool, error) {
	if fresh, err := t.surelyNew(c.ID); fresh || err != nil {
		return Answer{}, false, err
	}
	var hash []byte
	var a Answer
	var said string
	err := t.row(findCommand, []any{c.ID[:]}, &hash, &a.Outcome, &said)
	if errors.Is(err, sql.ErrNoRows) {
		return a, false, nil
	}
	if err != nil {
		return a, false, fmt.Errorf("look for command %s: %w", c.ID, err)
	}
	if !bytes.Equal(hash, c.Hash[:]) {
		return a, true, parts.Problemf(parts.Invalid, "id-reused", "The id %s was used for something else.", c.ID).
			Next("Send a new UUID with each new request.")
	}
	a.Repeat = true
	if a.Outcome == "recorded" {
		a.Said = json.RawMessage(said)
		return a, true, nil
	}
	a.Problem = new(parts.Problem)
	if err := json.Unmarshal([]byte(said), a.Problem); err != nil {
		return a, true, fmt.Errorf("read the answer to command %s: %w", c.ID, err)
	}
	return a, true, nil
}

// keep stores the command with its answer.
func (t *tx) keep(c Command, a *Answer, person int64) error {
	what, code := a.Result, ""
	if a.Problem != nil {
		what, code = a.Problem, a.Problem.Code
	}
	said, err := json.Marshal(what)
	if err != nil {
		return fmt.Errorf("write the answer to %s: %w", c.ID, err)
	}
	if a.Problem == nil {
		a.Said = said
	}
	at := c.At
	if at.IsZero() {
		at = t.now
	}
	err = t.write(insertCommand, c.ID[:], c.Hash[:], c.Kind, string(c.Subject), a.Outcome, code, string(said), string(c.Request),
		person, at.UnixMilli(), t.now.UnixMilli())
	if err != nil {
		return fmt.Errorf("keep command %s: %w", c.ID, err)
	}
	return nil
}

// record numbers the events, writes them and saves the states they lead to.
func (t *tx) record(c Command, events []parts.Event, now time.Time) (map[parts.ID]parts.State, error) {
	after := map[parts.ID]parts.State{}
	var before []parts.State // in the order of their first events
	var order []parts.ID
	fresh, err := t.fresh(events)
	if err != nil {
		return nil, err
	}
	for i := range events {
		e := &events[i]
		s, seen := after[e.Part]
		if !seen && fresh[e.Part] {
			before, order = append(before, s), append(order, e.Part)
		} else if !seen {
			var err error
			if s, err = t.state(e.Part); err != nil {
				return nil, err
			}
			before, order = append(before, s), append(order, e.Part)
		}
		e.Seq, e.Command, e.Recorded = s.Seq+1, c.ID, now
		if e.At.IsZero() {
			e.At = now
		}
		e.At = e.At.Truncate(time.Millisecond)
		if err := t.addEvent(e); err != nil {
			return nil, err
		}
		after[e.Part] = parts.Apply(s, *e)
	}
	for i, id := range order {
		if err := t.saveState(after[id], before[i]); err != nil {
			return nil, err
		}
	}
	if len(events) > 0 {
		t.s.latest.Store(max(t.s.latest.Load(), now.UnixMilli()))
	}
	return after, nil
}

// traces gives each part's share in a command.
func (t *tx) traces(target parts.CommandID) ([]parts.Trace, error) {
	rows, err := t.query(eventColumns+"WHERE command = ? ORDER BY part, seq", target[:])
	if err != nil {
		return nil, fmt.Errorf("read command %s: %w", target, err)
	}
	events, err := scanEvents(rows)
	if err != nil {
		return nil, err
	}
	var out []parts.Trace
	for _, e := range events {
		if n := len(out); n > 0 && out[n-1].Now.Part == e.Part {
			out[n-1].Done = append(out[n-1].Done, e)
			continue
		}
		trace, err := t.trace(e)
		if err != nil {
			return nil, err
		}
		trace.Done = []parts.Event{e}
		out = append(out, trace)
	}
	return out, nil
}

// trace reads the history of a part around its first event of a command.
func (t *tx) trace(first parts.Event) (parts.Trace, error) {
	rows, err := t.query(eventColumns+"WHERE part = ? ORDER BY seq", string(first.Part))
	if err != nil {
		return parts.Trace{}, fmt.Errorf("read the events of %s: %w", first.Part, err)
	}
	all, err := scanEvents(rows)
	if err != nil {
		return parts.Trace{}, err
	}
	trace := parts.Trace{Before: all[:first.Seq-1], Last: all[0]}
	for _, e := range all {
		switch {
		case e.Kind != parts.Printed && e.Kind != parts.LabelWaits:
			trace.Last = e
		case e.Seq > first.Seq && e.Command != first.Command:
			trace.Since = append(trace.Since, e)
		}
	}
	trace.Now, err = t.state(first.Part)
	return trace, err
}
