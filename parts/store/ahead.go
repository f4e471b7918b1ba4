package store

import (
	"slices"
	"strings"

	"github.com/jackc/pgx/v5"

	"benchtally/parts"
)

const (
	findAnswers = `SELECT id, hash, outcome, answer FROM commands WHERE id = ANY($1)`
	findPeople  = `SELECT name, id FROM people WHERE name = ANY($1)`
	// What single parts are decided by: themselves and the spares of their lines.
	findStates = `SELECT state FROM part_states WHERE part = ANY($1)`
	findSpares = `SELECT state FROM part_states WHERE spare = 1 AND line IN (SELECT line FROM part_states WHERE part = ANY($1))
ORDER BY line, number, part`
)

// readAhead adds to a batch what a group of commands will ask for and the
// writer does not remember.
func (t *tx) readAhead(b *pgx.Batch, group []*work) {
	m := &t.s.memory
	var names, marks []string
	for _, w := range group {
		if w.about == nil {
			continue
		}
		if name := strings.TrimSpace(w.about.By); m.people[name] == 0 {
			names = append(names, name)
		}
		mark := w.about.Subject
		if _, known := m.spares[m.states[mark].Line]; !known {
			marks = append(marks, string(mark))
		}
	}
	if len(names) > 0 {
		b.Queue(findPeople, names).Query(func(rows pgx.Rows) error {
			var name string
			var id int64
			_, err := pgx.ForEachRow(rows, []any{&name, &id}, func() error {
				m.people[name] = id
				return nil
			})
			return err
		})
	}
	if len(marks) == 0 {
		return
	}
	b.Queue(findStates, marks).Query(func(rows pgx.Rows) error {
		return eachState(rows, func(s parts.State) {
			m.keepUnknown(&s)
			if s.Line != 0 {
				m.spares[s.Line] = nil // until they are read
			}
		})
	})
	b.Queue(findSpares, marks).Query(func(rows pgx.Rows) error {
		return eachState(rows, func(s parts.State) {
			m.keepUnknown(&s)
			m.spares[s.Line] = append(m.spares[s.Line], s.Part)
		})
	})
}

// readAnswers adds to a batch the looking up of a group's commands.
func (t *tx) readAnswers(b *pgx.Batch, group []*work) {
	var ids [][]byte
	for _, w := range group {
		if w.about != nil {
			t.pipe.answers[w.about.ID] = nil
			ids = append(ids, w.about.ID[:])
		}
	}
	if len(ids) == 0 {
		return
	}
	b.Queue(findAnswers, ids).Query(func(rows pgx.Rows) error {
		var id []byte
		var k kept
		_, err := pgx.ForEachRow(rows, []any{&id, &k.hash, &k.outcome, &k.said}, func() error {
			t.pipe.answers[parts.CommandID(id)] = &kept{slices.Clone(k.hash), k.outcome, k.said}
			return nil
		})
		return err
	})
}

// fresh reads the states that events change together, when they are many and
// not remembered, on PostgreSQL. It gives the marks that have none yet.
func (t *tx) fresh(events []parts.Event) (map[parts.ID]bool, error) {
	if t.pipe == nil || len(events) < 2 {
		return nil, nil
	}
	fresh, marks := map[parts.ID]bool{}, []string{}
	for _, e := range events {
		if _, known := t.s.memory.states[e.Part]; !known && !fresh[e.Part] {
			fresh[e.Part], marks = true, append(marks, string(e.Part))
		}
	}
	if len(marks) < 2 {
		return nil, nil
	}
	found, err := readStates(t, findStates, marks)
	for _, s := range found {
		t.s.memory.keep(&s)
		delete(fresh, s.Part)
	}
	return fresh, err
}

func eachState(rows pgx.Rows, do func(parts.State)) error {
	var data string
	_, err := pgx.ForEachRow(rows, []any{&data}, func() error {
		s, err := decodeState(data)
		if err == nil {
			do(s)
		}
		return err
	})
	return err
}
