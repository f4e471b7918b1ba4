package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"benchtally/parts"
)

// Order is a print order: everything its PDF is drawn from. The same order
// gives the same bytes for ever.
type Order struct {
	ID      int64
	Job     int64
	What    string // "labels", "tickets"
	Content json.RawMessage
	Spoiled bool
	Marks   []parts.ID
	Made    time.Time
}

// Copies says which copy of each mark's label an order prints.
type Copies map[parts.ID]int

// Print keeps a print order and records the prints. key is what the order
// shows, without the numbers of its copies: when an order with the same key
// was made before, is not spoiled and is not asked for again, that one is
// given and nothing is recorded. compose writes the content for the copies.
func (s *Store) Print(ctx context.Context, c Command, o Order, key []byte, marks []parts.ID, again bool,
	compose func(Copies) (json.RawMessage, error)) (Order, error) {
	hash := sha256.Sum256(key)
	a, err := s.command(ctx, c, true, func(t *tx, person int64) (Decision, error) {
		if !again {
			if found, err := t.sameOrder(hash[:]); err != nil || found != 0 {
				return Decision{Answer: answering(found)}, err
			}
		}
		copies, events, err := t.prints(marks, person)
		if err != nil {
			return Decision{}, err
		}
		content, err := compose(copies)
		if err != nil {
			return Decision{}, err
		}
		list, err := json.Marshal(marks)
		if err != nil {
			return Decision{}, fmt.Errorf("write a print order: %w", err)
		}
		var id int64
		err = t.row("INSERT INTO print_orders (job, what, hash, content, marks, created, spoiled) VALUES (?, ?, ?, ?, ?, ?, 0) RETURNING id",
			[]any{o.Job, o.What, hash[:], string(content), string(list), s.Now().UnixMilli()}, &id)
		if err != nil {
			return Decision{}, fmt.Errorf("keep a print order: %w", err)
		}
		return Decision{Events: events, Answer: answering(id)}, nil
	})
	if err != nil {
		return Order{}, err
	}
	if a.Problem != nil {
		return Order{}, a.Problem
	}
	var id int64
	if err := decodeAnswer(a, &id); err != nil {
		return Order{}, err
	}
	return s.Order(ctx, id)
}

func answering(id int64) func(After) any {
	return func(After) any { return id }
}

func decodeAnswer(a Answer, to any) error {
	if err := json.Unmarshal([]byte(a.Said), to); err != nil {
		return fmt.Errorf("read a stored answer: %w", err)
	}
	return nil
}

func (t *tx) sameOrder(hash []byte) (int64, error) {
	var id int64
	err := t.row("SELECT id FROM print_orders WHERE hash = ? AND spoiled = 0 ORDER BY id DESC LIMIT 1", []any{hash}, &id)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, nil
	}
	return id, err
}

// prints numbers the copies and gives the events of printing them.
func (t *tx) prints(marks []parts.ID, person int64) (Copies, []parts.Event, error) {
	copies := Copies{}
	var events []parts.Event
	for _, id := range marks {
		st, err := t.state(id)
		if err != nil {
			return nil, nil, err
		}
		if st.Seq == 0 {
			return nil, nil, unknownMark(id)
		}
		copies[id] = st.Copies + 1
		events = append(events, parts.Event{Part: id, Kind: parts.Printed, By: person, Step: -1, Detail: parts.Detail{Copy: st.Copies + 1}})
	}
	return copies, events, nil
}

// Order gives one print order.
func (s *Store) Order(ctx context.Context, id int64) (Order, error) {
	o := Order{ID: id}
	var content, marks string
	var made int64
	err := s.read.QueryRowContext(ctx, s.bind("SELECT job, what, content, spoiled, marks, created FROM print_orders WHERE id = ?"), id).
		Scan(&o.Job, &o.What, &content, &o.Spoiled, &marks, &made)
	if errors.Is(err, sql.ErrNoRows) {
		return o, parts.Problemf(parts.Missing, "order-unknown", "There is no print order %d.", int(id)).Next("Print it again from the job's page.")
	}
	if err != nil {
		return o, fmt.Errorf("read print order %d: %w", id, err)
	}
	o.Content, o.Made = json.RawMessage(content), time.UnixMilli(made).UTC()
	if err := json.Unmarshal([]byte(marks), &o.Marks); err != nil {
		return o, fmt.Errorf("read the marks of print order %d: %w", id, err)
	}
	return o, nil
}

// LabelOrders gives the newest print orders of labels with nothing but their
// content and whether they were spoiled.
func (s *Store) LabelOrders(ctx context.Context, most int) ([]Order, error) {
	rows, err := s.read.QueryContext(ctx, s.bind("SELECT id, content, spoiled FROM print_orders WHERE what = 'labels' ORDER BY id DESC LIMIT ?"), most)
	if err != nil {
		return nil, fmt.Errorf("read print orders: %w", err)
	}
	defer rows.Close()
	var out []Order
	for rows.Next() {
		var o Order
		var content string
		if err := rows.Scan(&o.ID, &content, &o.Spoiled); err != nil {
			return nil, fmt.Errorf("read a print order: %w", err)
		}
		o.Content = json.RawMessage(content)
		out = append(out, o)
	}
	return out, rows.Err()
}

// Orders gives the newest print orders, without their content.
func (s *Store) Orders(ctx context.Context, most int) ([]Order, error) {
	rows, err := s.read.QueryContext(ctx, s.bind("SELECT id, job, what, spoiled, marks, created FROM print_orders ORDER BY id DESC LIMIT ?"), most)
	if err != nil {
		return nil, fmt.Errorf("read print orders: %w", err)
	}
	defer rows.Close()
	var out []Order
	for rows.Next() {
		var o Order
		var marks string
		var made int64
		if err := rows.Scan(&o.ID, &o.Job, &o.What, &o.Spoiled, &marks, &made); err != nil {
			return nil, fmt.Errorf("read a print order: %w", err)
		}
		if err := json.Unmarshal([]byte(marks), &o.Marks); err != nil {
			return nil, fmt.Errorf("read the marks of print order %d: %w", o.ID, err)
		}
		o.Made = time.UnixMilli(made).UTC()
		out = append(out, o)
	}
	return out, rows.Err()
}

// Spoil says that an order's sheet was spoiled, or only the labels of some of
// its marks: they wait again. A sheet of which some labels are good stays as
// it is.
func (s *Store) Spoil(ctx context.Context, c Command, id int64, some []parts.ID) error {
	a, err := s.command(ctx, c, true, func(t *tx, person int64) (Decision, error) {
		var list string
		err := t.row("SELECT marks FROM print_orders WHERE id = ? AND spoiled = 0", []any{id}, &list)
		if errors.Is(err, sql.ErrNoRows) {
			return Decision{}, parts.Problemf(parts.Already, "spoiled-already", "That sheet is marked as spoiled already.").Next("Print its labels again.")
		}
		if err != nil {
			return Decision{}, fmt.Errorf("read print order %d: %w", id, err)
		}
		var marks []parts.ID
		if err := json.Unmarshal([]byte(list), &marks); err != nil {
			return Decision{}, fmt.Errorf("read print order %d: %w", id, err)
		}
		chosen, err := spoiledOf(marks, some)
		if err != nil {
			return Decision{}, err
		}
		events, err := t.waitAgain(chosen, person)
		if err == nil && len(chosen) == len(marks) {
			err = t.exec("UPDATE print_orders SET spoiled = 1 WHERE id = ?", id)
		}
		return Decision{Events: events, Answer: answering(id)}, err
	})
	if err == nil && a.Problem != nil {
		return a.Problem
	}
	return err
}

// spoiledOf are the marks of an order that are named; all of them for none.
func spoiledOf(all, some []parts.ID) ([]parts.ID, error) {
	if len(some) == 0 {
		return all, nil
	}
	var out []parts.ID
	for _, id := range some {
		if !slices.Contains(all, id) {
			return nil, parts.Problemf(parts.Refused, "mark-off-sheet", "The label of %s is not on that sheet.", string(id)).
				Next("Look at the sheet's page for what is on it.")
		}
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	return out, nil
}

// waitAgain queues the labels of the marks that still need one.
func (t *tx) waitAgain(marks []parts.ID, person int64) ([]parts.Event, error) {
	var events []parts.Event
	for _, id := range marks {
		st, err := t.state(id)
		if err != nil {
			return nil, err
		}
		if !st.Scrapped && st.Kind != parts.Ticket {
			events = append(events, parts.Event{Part: id, Kind: parts.LabelWaits, By: person, Step: -1})
		}
	}
	return events, nil
}
