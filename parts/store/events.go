package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"benchtally/parts"
)

const insertEvent = `INSERT INTO events (part, seq, kind, command, station, by_person, at, recorded, step, detail, batch, used)
VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`

const eventColumns = `SELECT part, seq, kind, command, station, by_person, at, recorded, step, detail FROM events `

// addEvent adds a line to the log.
func (t *tx) addEvent(e *parts.Event) error {
	detail, err := e.Detail.AppendJSON(nil)
	if err != nil {
		return fmt.Errorf("write the detail of an event of %s: %w", e.Part, err)
	}
	if len(detail) == len("{}") {
		detail = nil
	}
	err = t.write(insertEvent, string(e.Part), e.Seq, string(e.Kind), e.Command[:], string(e.Station), e.By,
		e.At.UnixMilli(), e.Recorded.UnixMilli(), e.Step, string(detail), e.Detail.Batch, e.Detail.Used)
	if err != nil {
		return fmt.Errorf("append %s to %s: %w", e.Kind, e.Part, err)
	}
	return nil
}

// scanEvents reads rows of eventColumns to the end and closes them.
func scanEvents(rows *sql.Rows) ([]parts.Event, error) {
	defer rows.Close()
	var events []parts.Event
	for rows.Next() {
		e, err := scanEvent(rows)
		if err != nil {
			return nil, err
		}
		events = append(events, e)
	}
	return events, rows.Err()
}

// scanEvent reads one row of eventColumns, and what more comes after them.
func scanEvent(rows *sql.Rows, more ...any) (parts.Event, error) {
	var e parts.Event
	var part, kind, station, detail string
	var command []byte
	var at, recorded int64
	columns := []any{&part, &e.Seq, &kind, &command, &station, &e.By, &at, &recorded, &e.Step, &detail}
	if err := rows.Scan(append(columns, more...)...); err != nil {
		return e, fmt.Errorf("read an event: %w", err)
	}
	e.Part, e.Kind, e.Station = parts.ID(part), parts.EventKind(kind), parts.Station(station)
	copy(e.Command[:], command)
	e.At, e.Recorded = time.UnixMilli(at).UTC(), time.UnixMilli(recorded).UTC()
	if detail != "" {
		if err := json.Unmarshal([]byte(detail), &e.Detail); err != nil {
			return e, fmt.Errorf("read event %d of %s: %w", e.Seq, e.Part, err)
		}
	}
	return e, nil
}

// Events is the whole history of one mark, oldest first. For a ticket it is
// what was done with the ticket, by its parts.
func (s *Store) Events(ctx context.Context, id parts.ID) ([]parts.Event, error) {
	rows, err := s.read.QueryContext(ctx, s.bind(eventColumns+"WHERE part = ? ORDER BY seq"), string(id))
	if err != nil {
		return nil, fmt.Errorf("read the events of %s: %w", id, err)
	}
	return scanEvents(rows)
}

// EventsOfLine is the history of every part of a line, in the order of the log.
func (s *Store) EventsOfLine(ctx context.Context, line int64) ([]parts.Event, error) {
	rows, err := s.read.QueryContext(ctx, s.bind(eventColumns+
		"WHERE part IN (SELECT part FROM part_states WHERE line = ?) ORDER BY id"), line)
	if err != nil {
		return nil, fmt.Errorf("read the events of line %d: %w", line, err)
	}
	return scanEvents(rows)
}
