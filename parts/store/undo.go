package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
)

// Undo takes the command target back. decide gets the share of every part.
func (s *Store) Undo(ctx context.Context, c Command, target parts.CommandID,
	decide func(v parts.View, done []parts.Trace, person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		done, err := t.traces(target)
		if err != nil {
			return Decision{}, err
		}
		v := parts.View{Now: t.now}
		for _, d := range done {
			v.Group = append(v.Group, d.Now)
		}
		if err := s.explain(t, &v); err != nil {
			return Decision{}, err
		}
		return decide(v, done, person)
	})
}

// findMarks finds what a command did something to.
const findMarks = `SELECT subject, marks FROM commands WHERE id = ?`

// traces gives each part's share in a command, by their marks.
func (t *tx) traces(target parts.CommandID) ([]parts.Trace, error) {
	var subject, listed string
	err := t.row(findMarks, []any{target[:]}, &subject, &listed)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read command %s: %w", target, err)
	}
	marks := []string{subject}
	if listed != "" {
		marks = strings.Split(listed, ",")
	}
	slices.Sort(marks)
	var out []parts.Trace
	for _, mark := range marks {
		trace, err := t.trace(parts.ID(mark), target)
		if err != nil {
			return nil, err
		}
		if len(trace.Done) > 0 {
			out = append(out, trace)
		}
	}
	return out, nil
}

// trace reads the history of a part around a command. Done is empty when the
// command did nothing to it.
func (t *tx) trace(mark parts.ID, target parts.CommandID) (parts.Trace, error) {
	rows, err := t.query(eventColumns+"WHERE part = ? ORDER BY seq", string(mark))
	if err != nil {
		return parts.Trace{}, fmt.Errorf("read the events of %s: %w", mark, err)
	}
	all, err := scanEvents(rows)
	if err != nil || len(all) == 0 {
		return parts.Trace{}, err
	}
	trace := parts.Trace{Last: all[0]}
	for i, e := range all {
		if e.Command == target {
			if len(trace.Done) == 0 {
				trace.Before = all[:i]
			}
			trace.Done = append(trace.Done, e)
		}
		switch {
		case e.Kind != parts.Printed && e.Kind != parts.LabelWaits:
			trace.Last = e
		case len(trace.Done) > 0 && e.Command != target:
			trace.Since = append(trace.Since, e)
		}
	}
	trace.Now, err = t.state(mark)
	return trace, err
}
