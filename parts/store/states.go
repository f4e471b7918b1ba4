package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"

	"benchtally/parts"
)

const readState = `SELECT state FROM part_states WHERE part = ?`

const insertState = `INSERT INTO part_states (kind, job, line, number, open, spare, in_assembly, label_due, cart, seq, fold, state, part)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

const updateState = `UPDATE part_states SET kind = ?, job = ?, line = ?, number = ?, open = ?, spare = ?, in_assembly = ?,
label_due = ?, cart = ?, seq = ?, fold = ?, state = ? WHERE part = ?`

const moveState = `UPDATE part_states SET seq = ?, fold = ?, state = ? WHERE part = ?`

// indexed are the columns of a state that serve queries.
type indexed struct {
	kind                  parts.Kind
	job, line             int64
	number                int
	open, spare, labelDue bool
	in, cart              parts.ID
}

func indexedOf(s *parts.State) indexed {
	open := !s.Kind.Counts() && (!s.Finished || s.Mending()) && !s.Scrapped && s.In == "" || s.Short()
	return indexed{s.Kind, s.Job, s.Line, s.Number, open, s.Spare, s.WantsLabel(), s.In, s.Cart}
}

// stateArgs are the columns of a state, in the order of the statements above.
func stateArgs(s *parts.State, text *[]byte) ([]any, error) {
	moved, err := movedArgs(s, text)
	i := indexedOf(s)
	return append([]any{string(i.kind), i.job, i.line, i.number, flag(i.open), flag(i.spare), string(i.in), flag(i.labelDue), string(i.cart)}, moved...), err
}

// stateRoom is what the length of a state's text is a multiple of, by spaces at
// its end: most parts never need more. A row that stays as long as it was is
// written where it is; one that grew a little may push others off its page.
const stateRoom = 512

var blank = strings.Repeat(" ", stateRoom)

// movedArgs are the columns that every event changes, and the mark. text is
// room to write in.
func movedArgs(s *parts.State, text *[]byte) ([]any, error) {
	data, err := s.AppendJSON((*text)[:0])
	if err != nil {
		return nil, fmt.Errorf("write the state of %s: %w", s.Part, err)
	}
	if over := len(data) % stateRoom; over > 0 {
		data = append(data, blank[over:]...)
	}
	*text = data
	return []any{s.Seq, parts.FoldVersion, string(data), string(s.Part)}, nil
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
func (t *tx) saveState(s, before *parts.State) error {
	query, columns := updateState, stateArgs
	switch {
	case before.Seq == 0:
		query = insertState
	case indexedOf(s) == indexedOf(before):
		query, columns = moveState, movedArgs
	}
	args, err := columns(s, &t.s.memory.text)
	if err != nil {
		return err
	}
	if err := t.write(query, args...); err != nil {
		return fmt.Errorf("save the state of %s: %w", s.Part, err)
	}
	t.s.memory.saved(s, before)
	return nil
}

// state gives one state; the zero State when there is no such mark.
func (t *tx) state(id parts.ID) (parts.State, error) {
	if s, ok := t.s.memory.states[id]; ok {
		return s, nil
	}
	found, err := readStates(t, readState, string(id))
	if err != nil || len(found) == 0 {
		return parts.State{}, err
	}
	t.s.memory.keep(&found[0])
	return found[0], nil
}

// spares gives the other spares of a mark's line.
func (t *tx) spares(of parts.State) ([]parts.State, error) {
	ids, known := t.s.memory.spares[of.Line]
	if !known {
		all, err := readStates(t, readSpares, of.Line)
		if err != nil {
			return nil, err
		}
		for _, s := range all {
			ids = append(ids, s.Part)
		}
		t.s.memory.spares[of.Line] = ids
	}
	var others []parts.State
	for _, id := range ids {
		if id == of.Part {
			continue
		}
		s, err := t.state(id)
		if err != nil {
			return nil, err
		}
		others = append(others, s)
	}
	return others, nil
}

// readStates reads the states that a query for them finds.
func readStates(q querier, query string, args ...any) ([]parts.State, error) {
	rows, err := q.query(query, args...)
	if err != nil {
		return nil, fmt.Errorf("read states: %w", err)
	}
	return scanStates(rows)
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
	return readStates(reader{s, ctx}, "SELECT state FROM part_states WHERE "+condition, args...)
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
