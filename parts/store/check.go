package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"benchtally/parts"
)

// Books is what Check found.
type Books struct {
	Parts       int
	Events      int
	Differences []string // in plain words; empty when log and states agree
}

// Check replays the log and compares what it adds up to with the states. A
// kind of event this program does not know is an error.
func (s *Store) Check(ctx context.Context) (Books, error) {
	var books Books
	err := s.replay(ctx, func(want parts.State, events int) error {
		books.Parts++
		books.Events += events
		diff, err := s.differs(ctx, want)
		if diff != "" {
			books.Differences = append(books.Differences, diff)
		}
		return err
	})
	if err != nil {
		return books, err
	}
	var rows int
	if err := s.read.QueryRowContext(ctx, "SELECT count(*) FROM part_states").Scan(&rows); err != nil {
		return books, fmt.Errorf("count the states: %w", err)
	}
	if rows > books.Parts {
		books.Differences = append(books.Differences, fmt.Sprintf("%d states have no history", rows-books.Parts))
	}
	return books, nil
}

// differs compares a row with the one that the history would give.
func (s *Store) differs(ctx context.Context, want parts.State) (string, error) {
	args, err := stateArgs(want)
	if err != nil {
		return "", err
	}
	have := make([]any, len(args))
	to := make([]any, len(args))
	for i := range have {
		to[i] = &have[i]
	}
	err = s.read.QueryRowContext(ctx, s.bind(`SELECT kind, job, line, number, open, spare, in_assembly, label_due, seq, fold, state, part
FROM part_states WHERE part = ?`), string(want.Part)).Scan(to...)
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Sprintf("%s has a history and no state", want.Part), nil
	}
	if err != nil {
		return "", fmt.Errorf("read the state of %s: %w", want.Part, err)
	}
	for i := range args {
		if fmt.Sprint(have[i]) != fmt.Sprint(args[i]) {
			return fmt.Sprintf("%s: its history gives %v, its state says %v", want.Part, args[i], have[i]), nil
		}
	}
	return "", nil
}

// replay folds the history of every mark and calls each with the result.
func (s *Store) replay(ctx context.Context, each func(parts.State, int) error) error {
	rows, err := s.read.QueryContext(ctx, eventColumns+"ORDER BY part, seq")
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	defer rows.Close()
	var state parts.State
	events := 0
	for rows.Next() {
		e, err := scanEvent(rows)
		if err != nil {
			return err
		}
		if !slices.Contains(parts.EventKinds, e.Kind) {
			return fmt.Errorf("event %d of %s is of the kind %q, which this program does not know", e.Seq, e.Part, e.Kind)
		}
		if e.Part != state.Part && events > 0 {
			if err := each(state, events); err != nil {
				return err
			}
			state, events = parts.State{}, 0
		}
		if e.Seq != state.Seq+1 {
			return fmt.Errorf("the history of %s has a gap: event %d follows %d", e.Part, e.Seq, state.Seq)
		}
		state = parts.Apply(state, e)
		events++
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	if events > 0 {
		return each(state, events)
	}
	return nil
}

// Rebuild makes every state again from the log.
func (s *Store) Rebuild(ctx context.Context) error {
	return s.run(ctx, true, func(t *tx) error { return s.rebuildIn(t) })
}

// rebuild is Rebuild before the writer runs.
func (s *Store) rebuild(ctx context.Context) error {
	t, err := s.begin(ctx)
	if err != nil {
		return err
	}
	defer t.sql.Rollback()
	if err := s.rebuildIn(t); err != nil {
		return err
	}
	return t.sql.Commit()
}

func (s *Store) rebuildIn(t *tx) error {
	if err := t.exec("DELETE FROM part_states"); err != nil {
		return fmt.Errorf("clear the states: %w", err)
	}
	return s.replay(t.ctx, func(state parts.State, _ int) error {
		return t.saveState(state, 0)
	})
}

// Late is a scan that came too late to be judged by itself.
type Late struct {
	Command parts.CommandID
	Kind    string
	Subject parts.ID
	Request json.RawMessage
	Problem *parts.Problem
}

// LateScans lists what waits for a person to look at.
func (s *Store) LateScans(ctx context.Context) ([]Late, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT id, kind, subject, request, answer FROM commands
WHERE outcome = 'parked' AND settled = 0 ORDER BY recorded`)
	if err != nil {
		return nil, fmt.Errorf("read the late scans: %w", err)
	}
	defer rows.Close()
	var out []Late
	for rows.Next() {
		l := Late{Problem: new(parts.Problem)}
		var id []byte
		var request, answer string
		if err := rows.Scan(&id, &l.Kind, &l.Subject, &request, &answer); err != nil {
			return nil, fmt.Errorf("read a late scan: %w", err)
		}
		copy(l.Command[:], id)
		l.Request = json.RawMessage(request)
		if err := json.Unmarshal([]byte(answer), l.Problem); err != nil {
			return nil, fmt.Errorf("read late scan %s: %w", l.Command, err)
		}
		out = append(out, l)
	}
	return out, rows.Err()
}

// Settle takes a late scan off the list: a person has looked at it.
func (s *Store) Settle(ctx context.Context, id parts.CommandID) error {
	return s.run(ctx, false, func(t *tx) error {
		return t.exec("UPDATE commands SET settled = 1 WHERE id = ?", id[:])
	})
}
