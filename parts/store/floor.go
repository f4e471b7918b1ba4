package store

import (
	"context"
	"fmt"
	"strings"
	"sync"

	"benchtally/parts"
)

// floorCache keeps the states that the floor showed last: of thousands on the
// floor only the few that changed since are read and decoded again.
type floorCache struct {
	mu     sync.Mutex
	states map[parts.ID]parts.State
}

// forget has the next floor read whole.
func (c *floorCache) forget() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.states = nil
}

// mostAsked bounds the marks of one query: SQLite takes 32,766, and beyond a
// few thousand the floor is as cheap to read whole.
const mostAsked = 4000

const onTheFloor = ` FROM part_states WHERE in_assembly = '' AND kind NOT IN ('ticket', 'cart')
AND job IN (SELECT job FROM part_states WHERE open = 1) ORDER BY job, line, number`

// OnTheFloor gives what the floor shows: of every job that is not done, each
// part and assembly that is not inside another one.
func (s *Store) OnTheFloor(ctx context.Context) ([]parts.State, error) {
	s.floor.mu.Lock()
	defer s.floor.mu.Unlock()
	ids, changed, err := s.floorChanges(ctx)
	if err != nil {
		return nil, err
	}
	fresh, err := s.floorStates(ctx, changed)
	if err != nil {
		return nil, err
	}
	for _, st := range fresh {
		s.floor.states[st.Part] = st
	}
	out := make([]parts.State, 0, len(ids))
	kept := make(map[parts.ID]parts.State, len(ids))
	for _, id := range ids {
		// What left the floor between the two readings is left out.
		if st, ok := s.floor.states[id]; ok {
			out = append(out, st)
			kept[id] = st
		}
	}
	s.floor.states = kept
	return out, nil
}

// floorChanges gives the marks on the floor, and those whose state is not the
// one that was read last.
func (s *Store) floorChanges(ctx context.Context) (ids, changed []parts.ID, err error) {
	rows, err := s.read.QueryContext(ctx, "SELECT part, seq"+onTheFloor)
	if err != nil {
		return nil, nil, fmt.Errorf("read the floor: %w", err)
	}
	defer rows.Close()
	if s.floor.states == nil {
		s.floor.states = map[parts.ID]parts.State{}
	}
	for rows.Next() {
		var id parts.ID
		var seq int
		if err := rows.Scan(&id, &seq); err != nil {
			return nil, nil, fmt.Errorf("read the floor: %w", err)
		}
		ids = append(ids, id)
		if s.floor.states[id].Seq != seq {
			changed = append(changed, id)
		}
	}
	return ids, changed, rows.Err()
}

// floorStates reads the states of the changed marks.
func (s *Store) floorStates(ctx context.Context, changed []parts.ID) ([]parts.State, error) {
	switch {
	case len(changed) == 0:
		return nil, nil
	case len(changed) > mostAsked:
		rows, err := s.read.QueryContext(ctx, "SELECT state"+onTheFloor)
		if err != nil {
			return nil, fmt.Errorf("read the floor: %w", err)
		}
		return scanStates(rows)
	}
	args := make([]any, len(changed))
	for i, id := range changed {
		args[i] = string(id)
	}
	return s.states(ctx, "part IN (?"+strings.Repeat(", ?", len(args)-1)+")", args...)
}
