package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// ColourGroup names lines of a job whose pieces will stand side by side.
type ColourGroup struct {
	ID    int64
	Job   int64
	Name  string
	Lines []int64
}

// ColourGroups gives the colour groups of a job; of all jobs for 0.
func (s *Store) ColourGroups(ctx context.Context, job int64) ([]ColourGroup, error) {
	return colourGroups(reader{s, ctx}, job)
}

func colourGroups(q querier, job int64) ([]ColourGroup, error) {
	rows, err := q.query("SELECT id, job, name, lines FROM colour_groups WHERE job = ? OR ? = 0 ORDER BY job, name", job, job)
	if err != nil {
		return nil, fmt.Errorf("read the colour groups: %w", err)
	}
	defer rows.Close()
	var out []ColourGroup
	for rows.Next() {
		var g ColourGroup
		var lines string
		if err := rows.Scan(&g.ID, &g.Job, &g.Name, &lines); err != nil {
			return nil, fmt.Errorf("read a colour group: %w", err)
		}
		if err := json.Unmarshal([]byte(lines), &g.Lines); err != nil {
			return nil, fmt.Errorf("read colour group %d: %w", g.ID, err)
		}
		out = append(out, g)
	}
	return out, rows.Err()
}

const insertGroup = `INSERT INTO colour_groups (job, name, lines) VALUES (?, ?, ?)
ON CONFLICT (job, name) DO UPDATE SET lines = excluded.lines`

// SaveColourGroup keeps a colour group under its name; one without lines is
// taken away.
func (s *Store) SaveColourGroup(ctx context.Context, g ColourGroup) error {
	return s.run(ctx, true, func(t *tx) error {
		lines, err := json.Marshal(g.Lines)
		switch {
		case err != nil:
		case len(g.Lines) == 0:
			err = t.exec("DELETE FROM colour_groups WHERE job = ? AND name = ?", g.Job, g.Name)
		default:
			err = t.exec(insertGroup, g.Job, g.Name, string(lines))
		}
		if err != nil {
			return fmt.Errorf("keep colour group %s: %w", g.Name, err)
		}
		return nil
	})
}

// Coats is what a decision about coats asks for: the mixes that the steps
// name, the coats of those that name none, the pieces that get them, and when.
type Coats struct {
	Mixes  []string
	Coats  []string
	Pieces []parts.State
	At     time.Time
}

// ChangeCoats is Change with the pots at hand. They are read when decide asks
// for them, so a step that coats nothing costs nothing.
func (s *Store) ChangeCoats(ctx context.Context, c Command, decide func(v parts.View, pots func(Coats) (finish.Pots, error), person int64) (Decision, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		v, err := t.view(c.Subject)
		if err != nil {
			return Decision{}, err
		}
		return decide(v, func(want Coats) (finish.Pots, error) { return s.pots(t, want) }, person)
	})
}

// LookPots reads what a decision about coats would look at now.
func (s *Store) LookPots(ctx context.Context, want Coats) (finish.Pots, error) {
	return s.pots(reader{s, ctx}, want)
}

// pots reads what a decision about coats may look at. A shop without a mix
// for them has nothing to look at.
func (s *Store) pots(t querier, want Coats) (finish.Pots, error) {
	p := finish.Pots{Mixes: map[string]finish.Mix{}, Shop: finish.Shop{Lines: map[int64]parts.Line{}, Routings: map[int64]parts.Routing{}}}
	if err := s.mixesFor(t, want, p.Mixes); err != nil || len(p.Mixes) == 0 {
		return p, err
	}
	var numbers []int64
	for _, key := range slices.Sorted(maps.Keys(p.Mixes)) {
		open, err := scanBatches(t, want.At, "WHERE mix = ? AND (closed = 0 OR closed > ?)", key, want.At.UnixMilli())
		if err != nil {
			return p, err
		}
		for _, b := range open {
			numbers = append(numbers, b.Number)
		}
		p.Batches = append(p.Batches, open...)
	}
	if err := s.beside(t, want.Pieces, &p); err != nil {
		return p, err
	}
	for _, c := range p.Before {
		if !slices.Contains(numbers, c.Batch) {
			numbers = append(numbers, c.Batch)
			past, err := batchesByNumber(t, want.At, []int64{c.Batch})
			if err != nil {
				return p, err
			}
			p.Batches = append(p.Batches, past...)
		}
	}
	var err error
	p.Record, err = setting(t, "batches")
	return p, err
}

// mixesFor reads the mixes that are named, and those of coats. That the shop
// has none at all is remembered: most scans of a coat then read nothing. On
// PostgreSQL another server may have written the first one.
func (s *Store) mixesFor(t querier, want Coats, into map[string]finish.Mix) error {
	if s.mixless.Load() && !s.postgres {
		return nil
	}
	all, err := contents[finish.Mix](t, "mixes", "SELECT content FROM mixes ORDER BY key")
	if err != nil {
		return err
	}
	if _, writes := t.(*tx); writes && len(all) == 0 {
		s.mixless.Store(true) // only the writer adds one, so nobody has since
	}
	for _, m := range all {
		if slices.Contains(want.Mixes, m.Key) || slices.ContainsFunc(want.Coats, m.For) {
			into[m.Key] = m
		}
	}
	return nil
}

// setting reads a setting that is on or off.
func setting(q querier, key string) (bool, error) {
	rows, err := q.query("SELECT value FROM settings WHERE key = ? AND value = '1'", key)
	if err != nil {
		return false, fmt.Errorf("read the setting %s: %w", key, err)
	}
	defer rows.Close()
	return rows.Next(), rows.Err()
}

// beside reads the jobs of pieces: their lines and steps, the colour groups
// that the pieces are in, and what all of those got so far.
func (s *Store) beside(t querier, pieces []parts.State, p *finish.Pots) error {
	got := map[parts.ID]bool{}
	var jobs []int64
	for _, piece := range pieces {
		if !slices.Contains(jobs, piece.Job) {
			jobs = append(jobs, piece.Job)
			if err := s.jobLines(t, piece.Job, p); err != nil {
				return err
			}
		}
		got[piece.Part] = true
		p.Before = append(p.Before, coated(p.Shop.Lines[piece.Line], piece)...)
	}
	for _, job := range jobs {
		groups, err := colourGroups(t, job)
		if err != nil {
			return err
		}
		for _, g := range groups {
			if !slices.ContainsFunc(pieces, func(s parts.State) bool { return slices.Contains(g.Lines, s.Line) }) {
				continue
			}
			if err := groupOf(t, g, got, p); err != nil {
				return err
			}
		}
	}
	return nil
}

// jobLines reads the lines of a job with their steps.
func (s *Store) jobLines(t querier, job int64, p *finish.Pots) error {
	lines, err := readLines(t, "WHERE job = ?", job)
	if err != nil {
		return err
	}
	for _, l := range lines {
		p.Shop.Lines[l.ID] = l
		if _, known := p.Shop.Routings[l.Steps]; known || l.Steps == 0 {
			continue
		}
		if p.Shop.Routings[l.Steps], err = s.routing(t, l.Steps); err != nil {
			return err
		}
	}
	return nil
}

// groupOf reads the pieces of a colour group and what they got.
func groupOf(t querier, g ColourGroup, got map[parts.ID]bool, p *finish.Pots) error {
	group := finish.Group{Name: g.Name}
	for _, line := range g.Lines {
		rows, err := t.query(readLine, line)
		if err != nil {
			return fmt.Errorf("read line %d: %w", line, err)
		}
		states, err := scanStates(rows)
		if err != nil {
			return err
		}
		for _, st := range states {
			if st.Scrapped || st.Spare {
				continue
			}
			group.Parts = append(group.Parts, st.Part)
			if !got[st.Part] {
				got[st.Part] = true
				p.Before = append(p.Before, coated(p.Shop.Lines[line], st)...)
			}
		}
	}
	p.Groups = append(p.Groups, group)
	return nil
}

// coated is what a piece got, by its state.
func coated(l parts.Line, s parts.State) []finish.Coated {
	var out []finish.Coated
	for _, c := range s.Laid {
		out = append(out, finish.Coated{Part: s.Part, Name: parts.PieceName(l, s), Coat: c.Coat, N: c.N, Faces: c.Faces, Batch: c.Batch})
	}
	return out
}
