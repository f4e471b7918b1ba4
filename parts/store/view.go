package store

import (
	"context"
	"database/sql"
	"fmt"
	"sync"
	"time"

	"benchtally/parts"
)

// known keeps the rows that never change once they are committed.
type known struct {
	mu       sync.RWMutex
	lines    map[int64]parts.Line
	routings map[int64]parts.Routing
}

// querier is what reads: the writer's transaction or a reading connection.
type querier interface {
	query(query string, args ...any) (*sql.Rows, error)
}

// reader reads outside the writer.
type reader struct {
	s   *Store
	ctx context.Context
}

func (r reader) query(query string, args ...any) (*sql.Rows, error) {
	return r.s.read.QueryContext(r.ctx, r.s.bind(query), args...)
}

// Look gives the view of one mark, as a decision would see it.
func (s *Store) Look(ctx context.Context, id parts.ID) (parts.View, error) {
	if s.postgres { // another server may have put in readings
		if _, err := s.AirVersion(ctx); err != nil {
			return parts.View{}, err
		}
	}
	v, err := s.view(reader{s, ctx}, id, s.Now())
	return s.judged(v), err
}

// view reads what a decision of the writer may look at, and remembers it.
func (t *tx) view(id parts.ID) (parts.View, error) {
	v, err := t.s.view(t, id, t.now)
	if err != nil {
		return v, err
	}
	t.seen = make(map[parts.ID]parts.State, 1+len(v.Group))
	for _, s := range append(v.Group, v.Subject) {
		t.seen[s.Part] = s
	}
	return t.s.judged(v), nil
}

// view reads what a decision about one mark may look at.
func (s *Store) view(q querier, id parts.ID, now time.Time) (parts.View, error) {
	v := parts.View{Now: now, Lines: map[int64]parts.Line{}, Routings: map[int64]parts.Routing{}}
	found, err := q.query(readState, string(id))
	if err != nil {
		return v, fmt.Errorf("look at %s: %w", id, err)
	}
	states, err := scanStates(found)
	if err != nil {
		return v, err
	}
	if len(states) == 0 {
		return v, unknownMark(id)
	}
	v.Subject = states[0]
	if err := s.company(q, &v); err != nil {
		return v, err
	}
	return v, s.explain(q, &v)
}

func unknownMark(id parts.ID) error {
	return parts.Problemf(parts.Missing, "mark-unknown", "No part of this shop has the mark %s.", id).
		Next("Look at the label again: perhaps a character was misread, or it is from another shop.").Fact("mark", id)
}

// What counts beside a part, a ticket, a cart, an assembly before its dry fit
// and one after it, with what is inside its assemblies. Each is found by an index, whatever the size of the shop: a partial
// index is used only where the query says its condition.
const (
	readSpares = `SELECT state FROM part_states WHERE line = ? AND spare = 1 AND part <> ? ORDER BY line, number, part`
	readLine   = `SELECT state FROM part_states WHERE line = ? AND kind <> 'ticket' ORDER BY line, number, part`
	readKit    = `SELECT state FROM part_states WHERE in_assembly = '' AND line IN (SELECT id FROM lines WHERE into_line = ?) ORDER BY line, number, part`
	readCart   = `SELECT state FROM part_states WHERE cart = ? AND cart <> '' ORDER BY line, number, part`
	readInside = `WITH RECURSIVE inside(part) AS (
SELECT part FROM part_states WHERE in_assembly = ? AND in_assembly <> ''
UNION ALL SELECT p.part FROM part_states p JOIN inside i ON p.in_assembly = i.part AND p.in_assembly <> '')
SELECT state FROM part_states WHERE part IN (SELECT part FROM inside) ORDER BY line, number, part`
)

// company reads the states that count beside the subject's own.
func (s *Store) company(q querier, v *parts.View) error {
	sub := v.Subject
	query, args := readSpares, []any{sub.Line, string(sub.Part)}
	switch {
	case sub.Kind == parts.Ticket:
		query, args = readLine, []any{sub.Line}
	case sub.Kind == parts.Cart:
		query, args = readCart, []any{string(sub.Part)}
	case sub.Kind == parts.Assembly && len(sub.Parts) == 0:
		query, args = readKit, []any{sub.Line}
	case sub.Kind == parts.Assembly:
		query, args = readInside, []any{string(sub.Part)}
	}
	rows, err := q.query(query, args...)
	if err != nil {
		return fmt.Errorf("look around %s: %w", sub.Part, err)
	}
	v.Group, err = scanStates(rows)
	return err
}

// explain adds the lines and steps that the view's states name.
func (s *Store) explain(q querier, v *parts.View) error {
	if v.Subject.Kind == parts.Assembly {
		needs, err := s.linesInto(q, v.Subject.Line)
		if err != nil {
			return err
		}
		v.Needs = needs
	}
	for _, st := range append([]parts.State{v.Subject}, v.Group...) {
		if st.Line == 0 {
			continue // a view of many has no subject
		}
		if _, ok := v.Lines[st.Line]; !ok {
			line, err := s.line(q, st.Line)
			if err != nil {
				return err
			}
			v.Lines[st.Line] = line
		}
		if _, ok := v.Routings[st.Steps]; !ok && st.Steps != 0 {
			r, err := s.routing(q, st.Steps)
			if err != nil {
				return err
			}
			v.Routings[st.Steps] = r
		}
	}
	return nil
}
