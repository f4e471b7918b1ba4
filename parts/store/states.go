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

const readState = `SELECT state FROM part_states WHERE part = ?`

const insertState = `INSERT INTO part_states (kind, job, line, number, open, spare, in_assembly, label_due, cart, seq, fold, state, part)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

const updateState = `UPDATE part_states SET kind = ?, job = ?, line = ?, number = ?, open = ?, spare = ?, in_assembly = ?,
label_due = ?, cart = ?, seq = ?, fold = ?, state = ? WHERE part = ?`

const moveState = `UPDATE part_states SET seq = ?, fold = ?, state = ? WHERE part = ?`

// indexed are the columns of a state that serve queries.
func indexed(s parts.State) []any {
	open := !s.Kind.Counts() && (!s.Finished || s.Mending()) && !s.Scrapped && s.In == "" || s.Short()
	return []any{string(s.Kind), s.Job, s.Line, s.Number, flag(open), flag(s.Spare), string(s.In), flag(s.WantsLabel()), string(s.Cart)}
}

// stateArgs are the columns of a state, in the order of the statements above.
func stateArgs(s parts.State) ([]any, error) {
	data, err := json.Marshal(s)
	if err != nil {
		return nil, fmt.Errorf("write the state of %s: %w", s.Part, err)
	}
	return append(indexed(s), s.Seq, parts.FoldVersion, string(data), string(s.Part)), nil
}

func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}

// saveState writes the row of a state that was before, the zero State when it
// is new. A scan mostly leaves the columns of the indexes as they are, and
// then does not touch them.
func (t *tx) saveState(s, before parts.State) error {
	args, err := stateArgs(s)
	if err != nil {
		return err
	}
	query := updateState
	switch {
	case before.Seq == 0:
		query = insertState
	case slices.Equal(indexed(s), indexed(before)):
		query, args = moveState, args[len(args)-4:]
	}
	if err := t.exec(query, args...); err != nil {
		return fmt.Errorf("save the state of %s: %w", s.Part, err)
	}
	return nil
}

// state reads one state; the zero State when there is no such mark.
func (t *tx) state(id parts.ID) (parts.State, error) {
	if s, ok := t.seen[id]; ok {
		return s, nil
	}
	var data string
	err := t.row(readState, []any{string(id)}, &data)
	if errors.Is(err, sql.ErrNoRows) {
		return parts.State{}, nil
	}
	if err != nil {
		return parts.State{}, fmt.Errorf("read the state of %s: %w", id, err)
	}
	return decodeState(data)
}

func decodeState(data string) (parts.State, error) {
	var s parts.State
	if err := json.Unmarshal([]byte(data), &s); err != nil {
		return s, fmt.Errorf("read a state: %w", err)
	}
	return s, nil
}

// scanStates reads rows of one column, state, to the end and closes them.
func scanStates(rows *sql.Rows) ([]parts.State, error) {
	defer rows.Close()
	var states []parts.State
	for rows.Next() {
		var data string
		if err := rows.Scan(&data); err != nil {
			return nil, fmt.Errorf("read a state: %w", err)
		}
		s, err := decodeState(data)
		if err != nil {
			return nil, err
		}
		states = append(states, s)
	}
	return states, rows.Err()
}

// states reads the states a condition names.
func (s *Store) states(ctx context.Context, condition string, args ...any) ([]parts.State, error) {
	rows, err := s.read.QueryContext(ctx, s.bind("SELECT state FROM part_states WHERE "+condition), args...)
	if err != nil {
		return nil, fmt.Errorf("read states: %w", err)
	}
	return scanStates(rows)
}

// StatesOfJob gives every part, assembly and ticket of a job, by line and number.
func (s *Store) StatesOfJob(ctx context.Context, job int64) ([]parts.State, error) {
	return s.states(ctx, "job = ? ORDER BY line, number, part", job)
}

// LabelsDue gives the parts whose label waits to be printed, by job.
func (s *Store) LabelsDue(ctx context.Context) ([]parts.State, error) {
	return s.states(ctx, "label_due = 1 ORDER BY job, line, number")
}

// Tickets gives the tickets of the jobs that are not done, by their marks.
func (s *Store) Tickets(ctx context.Context) (map[parts.ID]parts.State, error) {
	all, err := s.states(ctx, "kind = 'ticket' AND job IN (SELECT job FROM part_states WHERE open = 1)")
	if err != nil {
		return nil, err
	}
	byMark := map[parts.ID]parts.State{}
	for _, t := range all {
		byMark[t.Part] = t
	}
	return byMark, nil
}
