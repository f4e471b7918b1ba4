package store

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"

	"benchtally/parts"
)

// mostRemembered bounds the states in memory: as many as people work on at a
// time in a large shop, a few kilobytes each.
const mostRemembered = 20_000

// memory is what the writer remembers of rows that it has read or written, so
// that a scan asks the database for little. Only the writer looks at it, in
// its transaction, and it is never ahead of that: a transaction that is rolled
// back empties it, as does one that somebody else committed, and whatever is
// written by another way than the door.
type memory struct {
	version int64 // of the file, by SQLite's count of others' commits
	states  map[parts.ID]parts.State
	spares  map[int64][]parts.ID // of a line, in the order of the view
	people  map[string]int64
	text    []byte    // room for a state under way
	changed []changed // room for what a command changes
	ahead   bool      // on PostgreSQL: something was forgotten that may be newer than what is there

	newest parts.CommandID // that was in the file when it was looked up
	looked bool
	since  map[parts.CommandID]bool // the commands that were kept after that
}

func (m *memory) forget() {
	m.states, m.spares, m.people = map[parts.ID]parts.State{}, map[int64][]parts.ID{}, map[string]int64{}
	m.looked = false
}

// surelyNew reports whether no command has the id, once the newest was looked up.
func (m *memory) surelyNew(id parts.CommandID) bool {
	return bytes.Compare(id[:], m.newest[:]) > 0 && !m.since[id]
}

const readNewest = `SELECT id FROM commands ORDER BY id DESC LIMIT 1`

// surelyNew reports whether no command has the id. Ids grow with the time at
// which a device makes them, so most are after all that the file had, and then
// only what came since may be the same.
func (t *tx) surelyNew(id parts.CommandID) (bool, error) {
	m := &t.s.memory
	if t.pipe != nil {
		return t.ahead && m.surelyNew(id), nil // the others were looked up together
	}
	if !m.looked || len(m.since) >= mostRemembered {
		newest := []byte{}
		if err := t.row(readNewest, nil, &newest); err != nil && !errors.Is(err, sql.ErrNoRows) {
			return false, fmt.Errorf("look for the newest command: %w", err)
		}
		m.newest, m.looked, m.since = parts.CommandID{}, true, map[parts.CommandID]bool{}
		copy(m.newest[:], newest)
	}
	return m.surelyNew(id), nil
}

const readVersion = `PRAGMA data_version`

// refresh empties the memory when somebody else may have written since.
func (t *tx) refresh() error {
	now, err := t.fileVersion()
	if m := &t.s.memory; err == nil && (m.states == nil || m.version != now) {
		m.forget()
		m.version = now
	}
	return err
}

// fileVersion counts what others committed to the file.
func (t *tx) fileVersion() (now int64, err error) {
	if p := t.s.raw[readVersion]; p != nil {
		err = p.scan(t.ctx, nil, []any{&now})
	} else {
		err = t.db.QueryRowContext(t.ctx, readVersion).Scan(&now)
	}
	if err != nil {
		return 0, fmt.Errorf("read the version of the file: %w", err)
	}
	return now, nil
}

// keep remembers a state.
func (m *memory) keep(s *parts.State) {
	if len(m.states) >= mostRemembered {
		clear(m.states)
		m.ahead = true
	}
	m.states[s.Part] = *s
}

// reuse keeps the room of what a command changed for the next one, unless it
// was large.
func (m *memory) reuse(room []changed) {
	if cap(room) <= 2*fewChanged {
		m.changed = room
	}
}

// keepUnknown remembers a state that was read, unless a newer one may be known.
func (m *memory) keepUnknown(s *parts.State) {
	if _, known := m.states[s.Part]; !known {
		m.keep(s)
	}
}

// saved remembers a state that was written in place of before.
func (m *memory) saved(s, before *parts.State) {
	m.keep(s)
	if s.Spare || before.Spare {
		delete(m.spares, s.Line)
		delete(m.spares, before.Line)
		m.ahead = true
	}
}
