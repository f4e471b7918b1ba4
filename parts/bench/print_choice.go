package bench

import (
	"cmp"
	"context"
	"slices"
	"time"

	"benchtally/parts"
)

// jobToPrint is the job of a request; without one, that of its marks.
func (b *Bench) jobToPrint(ctx context.Context, r PrintRequest) (JobPieces, error) {
	if r.Job != "" || len(r.Marks) == 0 {
		return b.Job(ctx, r.Job)
	}
	var first parts.Job
	for i, m := range r.Marks {
		id, err := parts.ParseMark(m)
		if err != nil {
			return JobPieces{}, err
		}
		v, err := b.store.Look(ctx, id)
		if err != nil {
			return JobPieces{}, err
		}
		switch {
		case v.Subject.Job == 0:
			return JobPieces{}, parts.Problemf(parts.Refused, "label-none", "%s is a cart, and has a tag of its own.", string(id)).
				Next("Print the tag from the carts' page.")
		case i == 0:
			if first, err = b.store.JobByID(ctx, v.Subject.Job); err != nil {
				return JobPieces{}, err
			}
		case v.Subject.Job != first.ID:
			return JobPieces{}, parts.Problemf(parts.Refused, "marks-mixed", "%s is not of %s, as %s is.", string(id), first.Name, r.Marks[0]).
				Next("Print the labels of each job by themselves: leave its marks out and send the rest.")
		}
	}
	return b.Job(ctx, first.Code)
}

// chosen gives the pieces that a request prints: in the order of the list, and
// what waits in the order in which the parts will come.
func (b *Bench) chosen(ctx context.Context, job JobPieces, r PrintRequest, set parts.Settings) ([]parts.State, error) {
	if r.What != "labels" && r.What != "tickets" {
		return nil, parts.Problemf(parts.Invalid, "print-what", "%q cannot be printed.", r.What).Next("Print labels or tickets.")
	}
	wanted, err := wantedMarks(job, r)
	if err != nil {
		return nil, err
	}
	var out []parts.State
	for _, s := range job.States {
		if (s.Kind == parts.Ticket) != (r.What == "tickets") || s.Scrapped || len(wanted) > 0 && !wanted[s.Part] || !job.matches(r, s) {
			continue
		}
		if r.Remade {
			lately, err := b.remadeLately(ctx, s, set)
			if err != nil {
				return nil, err
			}
			if !lately {
				continue
			}
		}
		out = append(out, s)
	}
	if len(out) == 0 {
		return nil, parts.Problemf(parts.Refused, "print-nothing", "There is nothing of that kind to print in %s.", job.Job.Name).
			Next("Look at the job's page for what it has.")
	}
	if r.Due {
		return out, b.asTheyCome(ctx, job, out)
	}
	return out, nil
}

// wantedMarks are the marks that a request names. A label that was asked for
// and cannot be printed is said, not left out: somebody waits for it. What
// waited and was printed meanwhile is no such case.
func wantedMarks(job JobPieces, r PrintRequest) (map[parts.ID]bool, error) {
	wanted := map[parts.ID]bool{}
	for _, m := range r.Marks {
		id, err := parts.ParseMark(m)
		if err != nil {
			return nil, err
		}
		wanted[id] = true
		i := slices.IndexFunc(job.States, func(s parts.State) bool { return s.Part == id })
		switch {
		case i < 0:
			return nil, parts.Problemf(parts.Refused, "mark-elsewhere", "%s is not of %s.", string(id), job.Job.Name).
				Next("Leave it out here, and print it with its own job.")
		case r.Due:
		case job.States[i].Scrapped:
			return nil, parts.Problemf(parts.Refused, "label-void", "%s is scrapped, so its label is void.", string(id)).
				Next("Take the label off. If another part takes its place, print that one's.")
		case (job.States[i].Kind == parts.Ticket) != (r.What == "tickets"):
			return nil, parts.Problemf(parts.Refused, "print-other", "%s does not belong to the %s.", string(id), r.What).
				Next("Tickets stand for a whole line, labels for one piece: print them apart.")
		}
	}
	return wanted, nil
}

// matches reports whether a piece is what the request chooses by line, by the
// station of its next step and by what waits.
func (j JobPieces) matches(r PrintRequest, s parts.State) bool {
	if r.Due && !s.WantsLabel() || r.Remade && s.Replaces == "" {
		return false
	}
	if s.In != "" && len(r.Marks) == 0 { // glued in: nobody reads its label any more
		return false
	}
	if r.Station != "" && j.stationOf(s) != r.Station {
		return false
	}
	return r.Line == 0 || j.belongs(s.Line, r.Line)
}

// stationOf is where a piece is wanted next: at its next step, or at the first
// one of the assembly it is ready for. "" when nothing is left to do, or when
// it is in an assembly.
func (j JobPieces) stationOf(s parts.State) parts.Station {
	if next := nextOf(j.Routings[s.Steps], s); next != nil {
		return next.Station
	}
	into := slices.IndexFunc(j.Lines, func(l parts.Line) bool { return l.ID == j.LineOf(s).Into })
	if into < 0 || s.In != "" {
		return ""
	}
	steps := j.Routings[j.StepsOf(j.Lines[into])].Steps
	if first := parts.NextWork(steps, 0); first < len(steps) {
		return steps[first].Station
	}
	return ""
}

// Waiting are the stations at which something of the job comes next, in the
// order in which its pieces have them.
func (j JobPieces) Waiting() []parts.StationRow {
	var out []parts.StationRow
	for _, s := range j.States {
		key := j.stationOf(s)
		if s.Kind.Counts() || s.Scrapped || key == "" || slices.ContainsFunc(out, func(r parts.StationRow) bool { return r.Key == key }) {
			continue
		}
		out = append(out, parts.StationRow{Key: key, Name: j.Stations[key]})
	}
	return out
}

// belongs reports whether a line is another one, or goes into it.
func (j JobPieces) belongs(line, to int64) bool {
	for range j.Lines { // no line goes into more than all of them
		if line == to {
			return true
		}
		i := slices.IndexFunc(j.Lines, func(l parts.Line) bool { return l.ID == line })
		if i < 0 || j.Lines[i].Into == 0 {
			return false
		}
		line = j.Lines[i].Into
	}
	return false
}

// remadeLately reports whether a piece took the place of another since
// yesterday.
func (b *Bench) remadeLately(ctx context.Context, s parts.State, set parts.Settings) (bool, error) {
	if s.Replaces == "" {
		return false, nil
	}
	events, err := b.store.Events(ctx, s.Part)
	var at time.Time
	for _, e := range events {
		if e.Kind == parts.TookPlace || e.Kind == parts.Listed && e.Detail.Birth != nil && e.Detail.Birth.Replaces != "" {
			at = e.At
		}
	}
	return !at.Before(yesterday(b.Now(), set)), err
}

// RemadeJob counts the pieces of a job that took the place of another since
// yesterday.
type RemadeJob struct {
	Job   parts.Job
	Count int
}

// RemadeLately lists the jobs in which something was remade since yesterday.
func (b *Bench) RemadeLately(ctx context.Context) ([]RemadeJob, error) {
	set, err := b.store.Settings(ctx)
	if err != nil {
		return nil, err
	}
	shop, err := b.shop(ctx)
	if err != nil {
		return nil, err
	}
	count := map[int64]int{}
	for _, s := range shop.States {
		lately, err := b.remadeLately(ctx, s, set)
		if err != nil {
			return nil, err
		}
		if lately && !s.Scrapped && !s.Kind.Counts() {
			count[s.Job]++
		}
	}
	var out []RemadeJob
	for _, j := range shop.Jobs {
		if n := count[j.ID]; n > 0 {
			out = append(out, RemadeJob{Job: j, Count: n})
		}
	}
	return out, nil
}

// yesterday is when the day before began in the shop.
func yesterday(now time.Time, set parts.Settings) time.Time {
	now = now.In(set.Location())
	return time.Date(now.Year(), now.Month(), now.Day()-1, 0, 0, 0, 0, now.Location())
}

// asTheyCome sorts pieces of a job by the station at which they are wanted
// next, in the order of the floor, then by line and number: so a sheet is
// peeled from its first label to its last. What has no step left comes last.
func (b *Bench) asTheyCome(ctx context.Context, job JobPieces, states []parts.State) error {
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return err
	}
	at := map[parts.Station]int{"": len(stations)}
	for i, st := range stations {
		at[st.Key] = i
	}
	slices.SortStableFunc(states, func(a, b parts.State) int { return cmp.Compare(at[job.stationOf(a)], at[job.stationOf(b)]) })
	return nil
}
