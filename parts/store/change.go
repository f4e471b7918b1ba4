package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/jsontext"
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
	Answer func(after After) any
}

// After has the states that a command led to, until the answer is composed.
type After struct {
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
		v := parts.View{Now: t.now}
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
		v := parts.View{Now: t.now}
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

const insertCommand = `INSERT INTO commands (id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, marks, settled)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)`

// findMarks finds what a command did something to.
const findMarks = `SELECT subject, marks FROM commands WHERE id = ?`

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
	*answer = Answer{}
	fresh, err := t.surelyNew(c.ID)
	if err != nil {
		return err
	}
	if !fresh {
		var found bool
		if *answer, found, err = t.answered(c); err != nil || found {
			return err
		}
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
		t.s.memory.reuse(after.changed)
	}
	if m := &t.s.memory; m.looked {
		m.since[c.ID] = true
	}
	return t.keep(c, answer, person, marksOf(c, d.Events))
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

// marksOf lists what the events of a command are of, ” when that is its
// subject alone: so they are found by their marks, and the log needs no index
// by command.
func marksOf(c Command, events []parts.Event) string {
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

// keep stores the command with its answer, and the marks of its events.
func (t *tx) keep(c Command, a *Answer, person int64, marks string) error {
	what, code := a.Result, ""
	if a.Problem != nil {
		what, code = a.Problem, a.Problem.Code
	}
	said, err := jsontext.Marshal(what)
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
		person, at.UnixMilli(), t.now.UnixMilli(), marks)
	if err != nil {
		return fmt.Errorf("keep command %s: %w", c.ID, err)
	}
	return nil
}

// record numbers the events, writes them and saves the states they lead to.
func (t *tx) record(c Command, events []parts.Event, now time.Time) (after After, err error) {
	fresh, err := t.fresh(events)
	if err != nil {
		return after, err
	}
	after.changed = t.s.memory.changed[:0]
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

// traces gives each part's share in a command, by their marks.
func (t *tx) traces(target parts.CommandID) ([]parts.Trace, error) {
	var subject, listed string
	err := t.row(findMarks, []any{target[:]}, &subject, &listed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read command %s: %w", target, err)
	}
	marks := []string{subject}
	if listed != "" {
		marks = strings.Split(listed, ",")
	}
	slices.Sort(marks)
	var out []parts.Trace
	for _, mark := range marks {
		trace, err := t.trace(parts.ID(mark), target)
		if err != nil {
			return nil, err
		}
		if len(trace.Done) > 0 {
			out = append(out, trace)
		}
	}
	return out, nil
}

// trace reads the history of a part around a command. Done is empty when the
// command did nothing to it.
func (t *tx) trace(mark parts.ID, target parts.CommandID) (parts.Trace, error) {
	rows, err := t.query(eventColumns+"WHERE part = ? ORDER BY seq", string(mark))
	if err != nil {
		return parts.Trace{}, fmt.Errorf("read the events of %s: %w", mark, err)
	}
	all, err := scanEvents(rows)
	if err != nil || len(all) == 0 {
		return parts.Trace{}, err
	}
	trace := parts.Trace{Last: all[0]}
	for i, e := range all {
		if e.Command == target {
			if len(trace.Done) == 0 {
				trace.Before = all[:i]
			}
			trace.Done = append(trace.Done, e)
		}
		switch {
		case e.Kind != parts.Printed && e.Kind != parts.LabelWaits:
			trace.Last = e
		case len(trace.Done) > 0 && e.Command != target:
			trace.Since = append(trace.Since, e)
		}
	}
	trace.Now, err = t.state(mark)
	return trace, err
}
