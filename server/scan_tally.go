package server

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/setup"
)

// scanTally says how far the pieces are that share a setup: "31 of 48; 2 are
// still at the jointer". Where nothing is set they are those of one line.
type scanTally struct {
	Done  int         `json:"done"`
	Of    int         `json:"of"`
	Here  int         `json:"here"` // can be done next
	Away  []scanGroup `json:"away"`
	Setup string      `json:"setup,omitempty"` // how the machine is set, when several lines share it
}

// tally counts the pieces that share the setup of the step that was just done;
// nil when there is nothing to count.
func (s *Server) tally(ctx context.Context, a bench.Answer, step int) (*scanTally, error) {
	p, err := s.bench.Look(ctx, string(a.Mark))
	if err != nil || p.State.Kind == parts.Cart {
		return nil, err
	}
	index := doneAt(p, a, step)
	if index < 0 || p.State.Kind != parts.Ticket && p.Line.Ticket == "" {
		return nil, nil
	}
	count := setupCount{Server: s, step: p.Steps[index], line: p.Line, index: index}
	if err := count.read(ctx, p); err != nil {
		return nil, err
	}
	return count.tally(ctx, a.Station)
}

// setupCount goes through pieces for a step of a line.
type setupCount struct {
	*Server
	states   []parts.State
	lines    map[int64]parts.Line
	routings map[int64]parts.Routing

	step  parts.Step
	line  parts.Line
	index int

	set      parts.Settings
	patterns map[string]string
}

// read gets the pieces that may share the setup: those of the line, and where
// the machine is set for them, all of the job.
func (t *setupCount) read(ctx context.Context, p bench.Piece) error {
	if t.step.Sets == "" {
		if p.State.Kind != parts.Ticket {
			var err error
			if p, err = t.bench.Look(ctx, string(p.Line.Ticket)); err != nil {
				return err
			}
		}
		t.states, t.lines, t.routings = p.View.Group, p.View.Lines, p.View.Routings
		return nil
	}
	job, err := t.bench.Job(ctx, p.Job.Code)
	if err != nil {
		return err
	}
	t.states, t.routings, t.lines = job.States, job.Routings, map[int64]parts.Line{}
	for _, l := range job.Lines {
		t.lines[l.ID] = l
	}
	return t.nameSettings(ctx)
}

// nameSettings reads how settings of machines are written.
func (t *setupCount) nameSettings(ctx context.Context) error {
	var err error
	if t.set, err = t.bench.Settings(ctx); err != nil {
		return err
	}
	patterns, err := t.bench.Patterns(ctx)
	t.patterns = map[string]string{}
	for _, p := range patterns {
		t.patterns[p.Key] = p.Name
	}
	return err
}

// setting is to what the machine is set for the step on a line.
func (t *setupCount) setting(l parts.Line) string {
	return setup.Setting(t.step, l, t.set.Style(), t.patterns)
}

func (t *setupCount) tally(ctx context.Context, here parts.Station) (*scanTally, error) {
	out := &scanTally{Away: []scanGroup{}}
	for _, st := range t.states {
		index, wants := t.stepOf(st)
		if !wants {
			continue
		}
		if out.Of++; st.In != "" || st.Next > index {
			out.Done++
		} else if where, err := t.whereabouts(ctx, st); err != nil {
			return nil, err
		} else {
			out.add(where, here)
		}
		if st.Line != t.line.ID {
			out.Setup = capital(t.step.Name + ": " + t.setting(t.line))
		}
	}
	return out, nil
}

// stepOf is the index at which a piece has the step with the same setting, and
// whether it has it at all.
func (t *setupCount) stepOf(st parts.State) (int, bool) {
	if st.Kind.Counts() || st.Scrapped {
		return 0, false
	}
	if st.Line == t.line.ID {
		return t.index, true
	}
	line := t.lines[st.Line]
	if t.step.Sets == "" || t.setting(line) != t.setting(t.line) {
		return 0, false
	}
	for i, other := range t.routings[st.Steps].Steps {
		if other.Name == t.step.Name && other.Station == t.step.Station && other.Sets == t.step.Sets {
			return i, true
		}
	}
	return 0, false
}

// add counts a piece that has the step before it.
func (t *scanTally) add(where parts.StationRow, here parts.Station) {
	if where.Key == here {
		t.Here++
		return
	}
	for i := range t.Away {
		if t.Away[i].Where == where.Name {
			t.Away[i].Count++
			return
		}
	}
	t.Away = append(t.Away, scanGroup{Count: 1, Where: where.Name})
}

// whereabouts is where a piece is, as people say it: at a station, held, or in
// the middle of a wait.
func (t *setupCount) whereabouts(ctx context.Context, st parts.State) (parts.StationRow, error) {
	if stands := bench.StateOf(st, t.bench.Now()); stands != "ready" {
		return parts.StationRow{Name: stands}, nil
	}
	next, _ := parts.NextStep(t.routings[st.Steps], st)
	row, err := t.bench.Station(ctx, next.Step.Station)
	if parts.AsProblem(err) != nil {
		return parts.StationRow{Name: string(next.Step.Station)}, nil // the shop closed that station
	}
	return row, err
}

// doneAt is the index of the step that an answer tells of, -1 for a repair or
// anything else.
func doneAt(p bench.Piece, a bench.Answer, step int) int {
	if index, repair := parts.StepIndex(step); step > 0 && !repair && index < len(p.Steps) {
		return index
	}
	furthest := p.State.Next
	for _, st := range p.View.Group {
		if p.State.Kind == parts.Ticket && st.Line == p.State.Line {
			furthest = max(furthest, st.Next)
		}
	}
	for i := min(furthest, len(p.Steps)) - 1; i >= 0; i-- {
		if p.Steps[i].Name == a.Did && p.Steps[i].Station == a.Station {
			return i
		}
	}
	return -1
}
