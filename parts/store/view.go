package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"
	"sync"
	"time"

	"benchtally/parts"
)

// known keeps the rows that never change once they are committed.
type known struct {
	mu       sync.RWMutex
	lines    map[int64]parts.Line
	routings map[int64]parts.Routing
	single   map[singleKey]words
}

// singleKey is the line and the steps of a piece.
type singleKey struct{ line, steps int64 }

// words are what a view needs to speak of its states.
type words struct {
	lines    map[int64]parts.Line
	routings map[int64]parts.Routing
}

// querier is what reads: the writer's transaction or a reading connection.
type querier interface {
	query(query string, args ...any) (*sql.Rows, error)
}

// looker reads a view: from the database, or from what the writer remembers.
type looker interface {
	querier
	state(id parts.ID) (parts.State, error)
	spares(of parts.State) ([]parts.State, error)
}

// reader reads outside the writer.
type reader struct {
	s   *Store
	ctx context.Context
}

func (r reader) query(query string, args ...any) (*sql.Rows, error) {
	return r.s.read.QueryContext(r.ctx, r.s.bind(query), args...)
}

func (r reader) state(id parts.ID) (parts.State, error) {
	found, err := readStates(r, readState, string(id))
	if err != nil || len(found) == 0 {
		return parts.State{}, err
	}
	return found[0], nil
}

func (r reader) spares(of parts.State) ([]parts.State, error) {
	all, err := readStates(r, readSpares, of.Line)
	return slices.DeleteFunc(all, func(s parts.State) bool { return s.Part == of.Part }), err
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

// view reads what a decision of the writer may look at.
func (t *tx) view(id parts.ID) (parts.View, error) {
	v, err := t.s.view(t, id, t.now)
	if err != nil {
		return v, err
	}
	t.seen = t.s.judged(v)
	return t.seen, nil
}

// view reads what a decision about one mark may look at.
func (s *Store) view(q looker, id parts.ID, now time.Time) (parts.View, error) {
	v := parts.View{Now: now}
	var err error
	if v.Subject, err = q.state(id); err != nil {
		return v, fmt.Errorf("look at %s: %w", id, err)
	}
	if v.Subject.Part == "" {
		return v, unknownMark(id)
	}
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
	readSpares = `SELECT state FROM part_states WHERE line = ? AND spare = 1 ORDER BY line, number, part`
	readLine   = `SELECT state FROM part_states WHERE line = ? AND kind <> 'ticket' ORDER BY line, number, part`
	readKit    = `SELECT state FROM part_states WHERE in_assembly = '' AND line IN (SELECT id FROM lines WHERE into_line = ?) ORDER BY line, number, part`
	readCart   = `SELECT state FROM part_states WHERE cart = ? AND cart <> '' ORDER BY line, number, part`
	readInside = `WITH RECURSIVE inside(part) AS (
SELECT part FROM part_states WHERE in_assembly = ? AND in_assembly <> ''
UNION ALL SELECT p.part FROM part_states p JOIN inside i ON p.in_assembly = i.part AND p.in_assembly <> '')
SELECT state FROM part_states WHERE part IN (SELECT part FROM inside) ORDER BY line, number, part`
)

// company reads the states that count beside the subject's own.
func (s *Store) company(q looker, v *parts.View) (err error) {
	sub := v.Subject
	switch {
	case sub.Kind == parts.Ticket:
		v.Group, err = readStates(q, readLine, sub.Line)
	case sub.Kind == parts.Cart:
		v.Group, err = readStates(q, readCart, string(sub.Part))
	case sub.Kind == parts.Assembly && len(sub.Parts) == 0:
		v.Group, err = readStates(q, readKit, sub.Line)
	case sub.Kind == parts.Assembly:
		v.Group, err = readStates(q, readInside, string(sub.Part))
	default:
		v.Group, err = q.spares(sub)
	}
	if err != nil {
		return fmt.Errorf("look around %s: %w", sub.Part, err)
	}
	return nil
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
	if key := (singleKey{v.Subject.Line, v.Subject.Steps}); key.line != 0 && ofOneKind(v, key) {
		w, err := s.wordsOf(q, key)
		v.Lines, v.Routings = w.lines, w.routings
		return err
	}
	v.Lines, v.Routings = map[int64]parts.Line{}, map[int64]parts.Routing{}
	if err := s.explainOne(q, v, &v.Subject); err != nil {
		return err
	}
	for i := range v.Group {
		if err := s.explainOne(q, v, &v.Group[i]); err != nil {
			return err
		}
	}
	return nil
}

// ofOneKind reports whether the states of a view have one line and its steps.
func ofOneKind(v *parts.View, key singleKey) bool {
	for i := range v.Group {
		if (singleKey{v.Group[i].Line, v.Group[i].Steps}) != key {
			return false
		}
	}
	return true
}

// wordsOf gives what explains views of one line and its steps. They share it.
func (s *Store) wordsOf(q querier, key singleKey) (words, error) {
	s.known.mu.RLock()
	w, ok := s.known.single[key]
	s.known.mu.RUnlock()
	if ok {
		return w, nil
	}
	v := parts.View{Lines: map[int64]parts.Line{}, Routings: map[int64]parts.Routing{}}
	if err := s.explainOne(q, &v, &parts.State{Line: key.line, Steps: key.steps}); err != nil {
		return w, err
	}
	w = words{v.Lines, v.Routings}
	s.known.mu.Lock()
	defer s.known.mu.Unlock()
	if s.known.single == nil {
		s.known.single = map[singleKey]words{}
	}
	s.known.single[key] = w
	return w, nil
}

// explainOne adds the line and the steps that one state names.
func (s *Store) explainOne(q querier, v *parts.View, st *parts.State) error {
	if st.Line == 0 {
		return nil // a view of many has no subject
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
	return nil
}
