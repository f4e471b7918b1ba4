package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"benchtally/parts"
	"benchtally/parts/floor"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// MakeJob makes a job of a previewed list: its lines, and a mark for each of
// its parts, spares, test pieces, assemblies and tickets. A list with any
// trouble makes nothing.
func (b *Bench) MakeJob(ctx context.Context, id parts.CommandID, name string, p Preview) (parts.Job, error) {
	name = strings.TrimSpace(name)
	switch {
	case name == "" || len([]rune(name)) > 80:
		return parts.Job{}, parts.Problemf(parts.Invalid, "job-name", "The job needs a name of at most 80 characters.").Next("Write what people call it.")
	case len(p.List.Troubles) > 0:
		t := p.List.Troubles[0]
		return parts.Job{}, parts.Problemf(parts.Invalid, "list-troubled", "The list has %d problems, so nothing was imported. The first: %s", len(p.List.Troubles), t.String()).
			Next("Put them right in the list and import it again.")
	case len(p.Lines) == 0:
		return parts.Job{}, parts.Problemf(parts.Invalid, "list-empty", "The list has no lines.").Next("Choose a list with a heading row and at least one line.")
	}
	lines := jobLines(p)
	c, err := hashed(store.Command{ID: id, Kind: "list"}, []any{name, lines})
	if err != nil {
		return parts.Job{}, err
	}
	c.Request = ""
	return b.store.CreateJob(ctx, c, store.NewJob{Name: name, Code: codeOf(name), Lines: lines}, func(lines []parts.Line, marks []parts.ID) []parts.Event {
		return firstEvents(lines, marks, p)
	})
}

// jobLines are the lines of the list, then its assemblies.
func jobLines(p Preview) []parts.Line {
	var lines []parts.Line
	for _, l := range p.Lines {
		lines = append(lines, parts.Line{
			Kind: parts.Single, Name: l.Name, Quantity: l.Quantity, Spares: l.Spares, Tests: l.Tests, PerBlank: l.PerBlank,
			Length: l.Length, Width: l.Width, Thick: l.Thickness, Material: l.Material, Notes: l.Notes,
			Pattern: l.Pattern, Hand: l.Hand, Grain: l.Grain, Each: l.Each, Steps: l.Steps.ID,
		})
	}
	at := func(assembly int) int64 { return int64(len(p.Lines) + assembly + 1) } // as store.NewJob counts
	for i, a := range p.Assemblies {
		line := parts.Line{Kind: parts.Assembly, Name: a.Name, Quantity: a.Count, Each: a.Each, Steps: a.Steps.ID}
		if a.Into >= 0 {
			line.Into = at(a.Into)
		}
		lines = append(lines, line)
		for _, take := range a.Takes {
			lines[take.Line].Into = at(i)
		}
	}
	return lines
}

// firstEvents bring every piece into the books. The marks come in the order
// of the lines; of each line the spares follow the pieces that are needed, and
// the test pieces follow the spares.
func firstEvents(lines []parts.Line, marks []parts.ID, p Preview) []parts.Event {
	var events []parts.Event
	listed := func(id parts.ID, b parts.Birth) {
		events = append(events, parts.Event{Part: id, Kind: parts.Listed, Step: -1, Detail: parts.Detail{Birth: &b}})
	}
	for i, l := range lines {
		steps := p.stepsOf(i)
		for n := range l.Pieces() {
			listed(marks[0], parts.Birth{Kind: l.Kind, Job: l.Job, Line: l.ID, Number: n + 1, Spare: n >= l.Quantity,
				Test: n >= l.Quantity+l.Spares, Steps: l.Steps, First: parts.NextWork(steps, 0)})
			marks = marks[1:]
		}
		listed(l.Ticket, parts.Birth{Kind: parts.Ticket, Job: l.Job, Line: l.ID})
	}
	return events
}

// stepsOf gives the steps of the job's line i.
func (p Preview) stepsOf(i int) []parts.Step {
	if i < len(p.Lines) {
		return p.Lines[i].Steps.Steps
	}
	return p.Assemblies[i-len(p.Lines)].Steps.Steps
}

// codeOf makes a short code for addresses and commands from a job's name.
func codeOf(name string) string {
	var code strings.Builder
	for _, r := range norm.NFD.String(strings.ToUpper(name)) {
		switch {
		case r < 128 && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			code.WriteRune(r)
		case code.Len() > 0 && !unicode.Is(unicode.Mn, r) && !strings.HasSuffix(code.String(), "-"):
			code.WriteByte('-')
		}
	}
	out := strings.Trim(code.String(), "-")
	if len(out) > 24 {
		out = strings.Trim(out[:24], "-")
	}
	if out == "" {
		return "JOB"
	}
	return out
}

// Jobs gives every job, newest first.
func (b *Bench) Jobs(ctx context.Context) ([]parts.Job, error) { return b.store.Jobs(ctx) }

// JobPieces is a job with everything it has.
type JobPieces struct {
	Job      parts.Job
	Lines    []parts.Line
	States   []parts.State // in the order of lines and numbers, tickets too
	Routings map[int64]parts.Routing
	Stations map[parts.Station]string // as people say them
}

// Job gives a job with its lines and pieces.
func (b *Bench) Job(ctx context.Context, code string) (JobPieces, error) {
	j, err := b.store.Job(ctx, code)
	if err != nil {
		return JobPieces{}, err
	}
	out := JobPieces{Job: j}
	if out.Lines, err = b.store.Lines(ctx, j.ID); err != nil {
		return out, err
	}
	if out.States, err = b.store.StatesOfJob(ctx, j.ID); err != nil {
		return out, err
	}
	if out.States, err = b.judged(ctx, out.States, b.Now()); err != nil {
		return out, err
	}
	if out.Routings, err = b.routings(ctx); err != nil {
		return out, err
	}
	stations, err := b.store.Stations(ctx)
	out.Stations = map[parts.Station]string{}
	for _, st := range stations {
		out.Stations[st.Key] = st.Name
	}
	return out, err
}

// LineOf gives the line of a piece of the job.
func (j JobPieces) LineOf(s parts.State) parts.Line {
	i := slices.IndexFunc(j.Lines, func(l parts.Line) bool { return l.ID == s.Line })
	if i < 0 {
		return parts.Line{}
	}
	return j.Lines[i]
}

// StepsOf is the version of the steps that a line's pieces follow.
func (j JobPieces) StepsOf(l parts.Line) int64 {
	for _, s := range j.States {
		if s.Line == l.ID && s.Kind != parts.Ticket && !s.Scrapped {
			return s.Steps
		}
	}
	return l.Steps
}

// Complete says of each assembly's line how many complete sets of finished
// parts there are.
func (j JobPieces) Complete(now time.Time) map[int64]int {
	lines := map[int64]parts.Line{}
	for _, l := range j.Lines {
		lines[l.ID] = l
	}
	return floor.Complete(lines, j.States, now)
}

func (b *Bench) routings(ctx context.Context) (map[int64]parts.Routing, error) {
	all, err := b.store.AllRoutings(ctx)
	if err != nil {
		return nil, err
	}
	out := make(map[int64]parts.Routing, len(all))
	for _, r := range all {
		out[r.ID] = r
	}
	return out, nil
}

// Routings gives the newest version of every list of steps.
func (b *Bench) Routings(ctx context.Context) ([]parts.Routing, error) { return b.store.Routings(ctx) }

// SaveRouting keeps edited steps as a new version. Parts under way keep the
// version they follow.
func (b *Bench) SaveRouting(ctx context.Context, r parts.Routing) (parts.Routing, error) {
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return r, err
	}
	r.Name = strings.TrimSpace(r.Name)
	if r.Steps, err = b.checkProducts(ctx, r.Steps); err != nil {
		return r, err
	}
	if err := routing.CheckSteps(r, stations); err != nil {
		return r, err
	}
	if err := b.checkMixes(ctx, r.Steps); err != nil {
		return r, err
	}
	if r.Key == "" {
		r.Key = strings.ToLower(codeOf(r.Name))
		all, err := b.store.Routings(ctx)
		if err != nil {
			return r, err
		}
		for n := 2; slices.ContainsFunc(all, func(o parts.Routing) bool { return o.Key == r.Key }); n++ {
			r.Key = fmt.Sprintf("%s-%d", strings.ToLower(codeOf(r.Name)), n)
		}
	}
	return b.store.SaveRouting(ctx, r)
}
