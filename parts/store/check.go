package store

import (
	"context"
	"encoding/json"
	"fmt"
	"runtime"
	"slices"

	"benchtally/parts"
)

// Books is what Check found.
type Books struct {
	Parts       int
	Events      int
	Differences []string // in plain words; empty when log and states agree
	Damage      []string // of the file: pages that are not what was written, or SQLite's words; then nothing else was looked at
}

// Check looks over the file, replays the log and compares what it adds up to
// with the states. A kind of event this program does not know is an error. It
// reads the log and the states in one statement, so scans may go on meanwhile.
func (s *Store) Check(ctx context.Context) (Books, error) {
	var books Books
	var err error
	if !s.postgres {
		if books.Damage, err = damage(ctx, s.read.DB, s.file, "PRAGMA integrity_check(20)"); err != nil || len(books.Damage) > 0 {
			return books, err
		}
	}
	return s.books(reader{s, ctx})
}

// books replays the log that q reads and compares it with the states.
func (s *Store) books(q querier) (Books, error) {
	var books Books
	err := s.replay(q, func(h history) error {
		books.Parts++
		books.Events += h.events
		diff, err := h.differs()
		if diff != "" {
			books.Differences = append(books.Differences, diff)
		}
		return err
	})
	if err != nil {
		return books, err
	}
	orphans, err := q.query("SELECT part FROM part_states WHERE part NOT IN (SELECT part FROM events)")
	if err != nil {
		return books, fmt.Errorf("count the states: %w", err)
	}
	defer orphans.Close()
	n := 0
	for orphans.Next() {
		n++
	}
	if n > 0 {
		books.Differences = append(books.Differences, fmt.Sprintf("%d states have no history", n))
	}
	return books, orphans.Err()
}

// history is what the log says of one mark, beside the row of its state.
type history struct {
	state  parts.State
	events int
	row    []any // columns of the state saved at the last event; nils for none
}

// logAndStates gives each event, the last of each mark with the saved state.
const logAndStates = `SELECT e.part, e.seq, e.kind, e.command, e.station, e.by_person, e.at, e.recorded, e.step, e.detail,
s.kind, s.job, s.line, s.number, s.open, s.spare, s.in_assembly, s.label_due, s.cart, s.seq, s.fold, s.state, s.part
FROM events e LEFT JOIN part_states s ON s.part = e.part AND s.seq = e.seq ORDER BY e.part, e.seq`

// stateColumns is how many columns of part_states there are.
const stateColumns = 13

// differs compares the saved row with the one that the history would give.
func (h history) differs() (string, error) {
	want, err := stateArgs(&h.state, new([]byte))
	if err != nil {
		return "", err
	}
	if h.row[stateColumns-1] == nil {
		return fmt.Sprintf("%s: no state goes with the last of its %d events", h.state.Part, h.events), nil
	}
	for i := range want {
		if fmt.Sprint(h.row[i]) != fmt.Sprint(want[i]) {
			return fmt.Sprintf("%s: its history gives %v, its state says %v", h.state.Part, want[i], h.row[i]), nil
		}
	}
	return "", nil
}

// eventsAtOnce are folded before others get the processor. Who scans while a
// backup is replayed would wait for the scheduler to take it away: up to ten
// milliseconds.
const eventsAtOnce = 16

// replay folds the history of every mark and calls each with the result.
func (s *Store) replay(q querier, each func(history) error) error {
	rows, err := q.query(logAndStates)
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	defer rows.Close()
	var h history
	for n := 1; rows.Next(); n++ {
		if n%eventsAtOnce == 0 {
			runtime.Gosched()
		}
		row := make([]any, stateColumns)
		to := make([]any, stateColumns)
		for i := range row {
			to[i] = &row[i]
		}
		e, err := scanEvent(rows, to...)
		if err != nil {
			return err
		}
		if e.Part != h.state.Part && h.events > 0 {
			if err := each(h); err != nil {
				return err
			}
			h = history{}
		}
		if err := h.add(e, row); err != nil {
			return err
		}
	}
	if err := rows.Err(); err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	if h.events > 0 {
		return each(h)
	}
	return nil
}

// add folds the next event of the history.
func (h *history) add(e parts.Event, row []any) error {
	if !slices.Contains(parts.EventKinds, e.Kind) {
		return fmt.Errorf("event %d of %s is of the kind %q, which this program does not know", e.Seq, e.Part, e.Kind)
	}
	if e.Seq != h.state.Seq+1 {
		return fmt.Errorf("the history of %s has a gap: event %d follows %d", e.Part, e.Seq, h.state.Seq)
	}
	h.state, h.row = parts.Apply(h.state, e), row
	h.events++
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
	defer t.end()
	if err := s.rebuildIn(t); err != nil {
		return err
	}
	return t.commit(nil)
}

func (s *Store) rebuildIn(t *tx) error {
	if err := t.exec("DELETE FROM part_states"); err != nil {
		return fmt.Errorf("clear the states: %w", err)
	}
	if err := t.exec(saveFold, parts.FoldVersion); err != nil {
		return fmt.Errorf("keep the fold of the states: %w", err)
	}
	return s.replay(reader{s, t.ctx}, func(h history) error { return t.saveState(&h.state, &parts.State{}) })
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
