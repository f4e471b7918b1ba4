package store

import (
	"context"
	"encoding/json"
	"fmt"

	"benchtally/parts"
)

// lineRow is a row of lines.
type lineRow struct {
	ID           int64 `gorm:"primaryKey"`
	Job          int64
	Number       int
	Kind         string
	Name         string
	Quantity     int
	Spares       int
	Tests        int
	PerBlank     int
	Length       int64
	LengthToSuit int
	Width        int64
	WidthToSuit  int
	Thick        int64
	ThickToSuit  int
	Material     string
	Notes        string
	Pattern      string
	Hand         string
	Grain        string
	IntoLine     int64
	Each         int
	Steps        int64
	Ticket       string
}

func (lineRow) TableName() string { return "lines" }

func (r lineRow) line() parts.Line {
	return parts.Line{
		ID: r.ID, Job: r.Job, Number: r.Number, Kind: parts.Kind(r.Kind), Name: r.Name,
		Quantity: r.Quantity, Spares: r.Spares, Tests: r.Tests, PerBlank: r.PerBlank,
		Length: size(r.Length, r.LengthToSuit), Width: size(r.Width, r.WidthToSuit), Thick: size(r.Thick, r.ThickToSuit),
		Material: r.Material, Notes: r.Notes, Pattern: r.Pattern, Hand: parts.Hand(r.Hand), Grain: parts.Grain(r.Grain), Into: r.IntoLine, Each: r.Each, Steps: r.Steps, Ticket: parts.ID(r.Ticket),
	}
}

func size(l int64, toSuit int) parts.Size {
	return parts.Size{Length: parts.Length(l), ToSuit: toSuit == 1}
}

func toLineRow(l parts.Line) lineRow {
	return lineRow{
		ID: l.ID, Job: l.Job, Number: l.Number, Kind: string(l.Kind), Name: l.Name,
		Quantity: l.Quantity, Spares: l.Spares, Tests: l.Tests, PerBlank: l.PerBlank,
		Length: int64(l.Length.Length), LengthToSuit: flag(l.Length.ToSuit),
		Width: int64(l.Width.Length), WidthToSuit: flag(l.Width.ToSuit),
		Thick: int64(l.Thick.Length), ThickToSuit: flag(l.Thick.ToSuit),
		Material: l.Material, Notes: l.Notes, Pattern: l.Pattern, Hand: string(l.Hand), Grain: string(l.Grain), IntoLine: l.Into, Each: l.Each, Steps: l.Steps, Ticket: string(l.Ticket),
	}
}

const lineColumns = `SELECT id, job, number, kind, name, quantity, spares, tests, per_blank, length, length_to_suit, width, width_to_suit,
thick, thick_to_suit, material, notes, pattern, hand, grain, into_line, each, steps, ticket FROM lines `

// readLines reads the lines a condition names.
func readLines(q querier, condition string, args ...any) ([]parts.Line, error) {
	rows, err := q.query(lineColumns+condition, args...)
	if err != nil {
		return nil, fmt.Errorf("read lines: %w", err)
	}
	defer rows.Close()
	var lines []parts.Line
	for rows.Next() {
		var r lineRow
		if err := rows.Scan(&r.ID, &r.Job, &r.Number, &r.Kind, &r.Name, &r.Quantity, &r.Spares, &r.Tests, &r.PerBlank, &r.Length, &r.LengthToSuit,
			&r.Width, &r.WidthToSuit, &r.Thick, &r.ThickToSuit, &r.Material, &r.Notes, &r.Pattern, &r.Hand, &r.Grain, &r.IntoLine, &r.Each, &r.Steps, &r.Ticket); err != nil {
			return nil, fmt.Errorf("read a line: %w", err)
		}
		lines = append(lines, r.line())
	}
	return lines, rows.Err()
}

// line reads one line, from memory when it was read before.
func (s *Store) line(q querier, id int64) (parts.Line, error) {
	s.known.mu.RLock()
	l, ok := s.known.lines[id]
	s.known.mu.RUnlock()
	if ok {
		return l, nil
	}
	found, err := readLines(q, "WHERE id = ?", id)
	if err != nil {
		return l, err
	}
	if len(found) == 0 {
		return l, fmt.Errorf("line %d is not in the database", id)
	}
	s.known.mu.Lock()
	defer s.known.mu.Unlock()
	if s.known.lines == nil {
		s.known.lines = map[int64]parts.Line{}
	}
	s.known.lines[id] = found[0]
	return found[0], nil
}

// linesInto gives the lines that go into an assembly's line.
func (s *Store) linesInto(q querier, into int64) ([]parts.Line, error) {
	return readLines(q, "WHERE into_line = ? ORDER BY number", into)
}

// Lines gives the lines of a job in the order of its list, its assemblies last.
func (s *Store) Lines(ctx context.Context, job int64) ([]parts.Line, error) {
	return readLines(reader{s, ctx}, "WHERE job = ? ORDER BY number", job)
}

// OpenLines gives the lines of the jobs that are not done.
func (s *Store) OpenLines(ctx context.Context) ([]parts.Line, error) {
	return readLines(reader{s, ctx}, "WHERE job IN ("+openJobs+") ORDER BY job, number")
}

const routingColumns = `SELECT id, key, version, name, for_kind, steps FROM routings `

// readRoutings reads the versions of steps a condition names.
func readRoutings(q querier, condition string, args ...any) ([]parts.Routing, error) {
	rows, err := q.query(routingColumns+condition, args...)
	if err != nil {
		return nil, fmt.Errorf("read steps: %w", err)
	}
	defer rows.Close()
	var out []parts.Routing
	for rows.Next() {
		var r parts.Routing
		var kind, steps string
		if err := rows.Scan(&r.ID, &r.Key, &r.Version, &r.Name, &kind, &steps); err != nil {
			return nil, fmt.Errorf("read steps: %w", err)
		}
		r.For = parts.Kind(kind)
		if err := json.Unmarshal([]byte(steps), &r.Steps); err != nil {
			return nil, fmt.Errorf("read steps %d: %w", r.ID, err)
		}
		out = append(out, r)
	}
	return out, rows.Err()
}

// routing reads one version of steps, from memory when it was read before.
func (s *Store) routing(q querier, id int64) (parts.Routing, error) {
	s.known.mu.RLock()
	r, ok := s.known.routings[id]
	s.known.mu.RUnlock()
	if ok {
		return r, nil
	}
	found, err := readRoutings(q, "WHERE id = ?", id)
	if err != nil {
		return r, err
	}
	if len(found) == 0 {
		return r, fmt.Errorf("steps %d are not in the database", id)
	}
	s.known.mu.Lock()
	defer s.known.mu.Unlock()
	if s.known.routings == nil {
		s.known.routings = map[int64]parts.Routing{}
	}
	s.known.routings[id] = found[0]
	return found[0], nil
}

// Routings gives the newest version of every list of steps.
func (s *Store) Routings(ctx context.Context) ([]parts.Routing, error) {
	return readRoutings(reader{s, ctx}, `WHERE NOT EXISTS (SELECT 1 FROM routings n WHERE n.key = routings.key AND n.version > routings.version) ORDER BY id`)
}

// AllRoutings gives every version of every list of steps.
func (s *Store) AllRoutings(ctx context.Context) ([]parts.Routing, error) {
	return readRoutings(reader{s, ctx}, "ORDER BY id")
}

// SaveRouting keeps r as the newest version of its list: parts under way keep
// the version they follow. An empty key makes a new list.
func (s *Store) SaveRouting(ctx context.Context, r parts.Routing) (parts.Routing, error) {
	err := s.run(ctx, true, func(t *tx) error {
		version := 0
		if err := t.row("SELECT coalesce(max(version), 0) FROM routings WHERE key = ?", []any{r.Key}, &version); err != nil {
			return fmt.Errorf("read the versions of %s: %w", r.Key, err)
		}
		r.Version = version + 1
		steps, err := json.Marshal(r.Steps)
		if err != nil {
			return fmt.Errorf("write steps: %w", err)
		}
		return t.row("INSERT INTO routings (key, version, name, for_kind, steps) VALUES (?, ?, ?, ?, ?) RETURNING id",
			[]any{r.Key, r.Version, r.Name, string(r.For), string(steps)}, &r.ID)
	})
	return r, err
}
