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
	Request string    // what was asked, as JSON, for the list of late scans
}

// Answer is what a command led to. It is stored with the command, so that a
// repeat gets the same one.
type Answer struct {
	Outcome string         // "recorded", "already", "refused" or "parked"
	Problem *parts.Problem // why, when it was not recorded
	Said    string         // what the decision answered, when it was recorded
	Result  any            // the same as a value, when it was recorded just now
	Repeat  bool           // it was asked before
}

// Decision is what decide makes of a view: events, and the answer to keep
// once they are applied. After has the new states of the events' parts.
type Decision struct {
	Events []parts.Event
	Answer func(after After) any
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

const findCommand = `SELECT hash, outcome, answer FROM commands WHERE id = ?`

const insertCommand = `INSERT INTO commands (id, hash, kind, subject, outcome, code, answer, request, by_person, at, recorded, marks, settled)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 0)`

// command runs one command in the writer: once, whatever the number of times
// it arrives.
func (s *Store) command(ctx context.Context, c Command, alone bool, decide func(t *tx, person int64) (Decision, error)) (Answer, error) {
	var answer Answer
	err := s.hand(ctx, &work{alone: alone, about: &c, do: func(t *tx) error {
		return t.once(&c, &answer, decide)
	}})
	if err != nil {
		return Answer{}, err
	}
	s.tally.command(answer)
	return answer, nil
}

// once decides a command that is new, and gives the answer that it has by the
// time of the commit.
func (t *tx) once(c *Command, answer *Answer, decide func(t *tx, person int64) (Decision, error)) error {
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
	t.now, t.seen = t.s.Now(), parts.View{}
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
func (t *tx) answered(c *Command) (Answer, bool, error) {
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
		a.Said = said
		return a, true, nil
	}
	a.Problem = new(parts.Problem)
	if err := json.Unmarshal([]byte(said), a.Problem); err != nil {
		return a, true, fmt.Errorf("read the answer to command %s: %w", c.ID, err)
	}
	return a, true, nil
}

// keep stores the command with its answer, and the marks of its events.
func (t *tx) keep(c *Command, a *Answer, person int64, marks string) error {
	what, code := a.Result, ""
	if a.Problem != nil {
		what, code = a.Problem, a.Problem.Code
	}
	var said string
	if err := jsontext.Use(what, "", func(text []byte) { said = string(text) }); err != nil {
		return fmt.Errorf("write the answer to %s: %w", c.ID, err)
	}
	if a.Problem == nil {
		a.Said = said
	}
	at := c.At
	if at.IsZero() {
		at = t.now
	}
	err := t.write(insertCommand, c.ID[:], c.Hash[:], c.Kind, string(c.Subject), a.Outcome, code, said, c.Request,
		person, at.UnixMilli(), t.now.UnixMilli(), marks)
	if err != nil {
		return fmt.Errorf("keep command %s: %w", c.ID, err)
	}
	return nil
}
