package bench

import (
	"context"
	"slices"

	"benchtally/parts"
	"benchtally/parts/place"
)

// DueJob is the labels of one job that wait to be printed.
type DueJob struct {
	Job    parts.Job
	Count  int
	Places []DuePlace // in the order of the floor
}

// DuePlace is the labels that will be wanted at one station.
type DuePlace struct {
	Station parts.StationRow // the zero row for what has no step left
	Labels  []DueLabel
}

// DueLabel is one label that waits.
type DueLabel struct {
	Mark  parts.ID
	Name  string
	Place place.Words // where it sits now, and where it goes later
	Tag   bool        // it hangs
}

// LabelQueue gives what waits to be printed: by job, then by the station of
// the next step in the order of the floor, then by line and number.
func (b *Bench) LabelQueue(ctx context.Context) ([]DueJob, error) {
	due, err := b.store.LabelsDue(ctx)
	if err != nil {
		return nil, err
	}
	size, err := b.labelSize(ctx)
	if err != nil {
		return nil, err
	}
	var out []DueJob
	for len(due) > 0 {
		n := slices.IndexFunc(due, func(s parts.State) bool { return s.Job != due[0].Job })
		if n < 0 {
			n = len(due)
		}
		j, err := b.dueJob(ctx, due[:n], size)
		if err != nil {
			return nil, err
		}
		out, due = append(out, j), due[n:]
	}
	return out, nil
}

// dueJob gives what waits of one job.
func (b *Bench) dueJob(ctx context.Context, states []parts.State, size place.Size2D) (DueJob, error) {
	row, err := b.store.JobByID(ctx, states[0].Job)
	if err != nil {
		return DueJob{}, err
	}
	job, err := b.Job(ctx, row.Code)
	if err != nil {
		return DueJob{}, err
	}
	if err := b.asTheyCome(ctx, job, states); err != nil {
		return DueJob{}, err
	}
	out := DueJob{Job: row, Count: len(states)}
	for i, s := range states {
		here := job.stationOf(s)
		if i == 0 || here != job.stationOf(states[i-1]) {
			at := DuePlace{Station: parts.StationRow{Key: here}}
			if here != "" {
				if at.Station, err = b.Station(ctx, here); err != nil {
					return out, err
				}
			}
			out.Places = append(out.Places, at)
		}
		at := &out.Places[len(out.Places)-1]
		at.Labels = append(at.Labels, dueLabel(job, s, size))
	}
	return out, nil
}

func dueLabel(job JobPieces, s parts.State, size place.Size2D) DueLabel {
	l := job.LineOf(s)
	plan := place.Plan(l, job.Routings[s.Steps], size)
	return DueLabel{Mark: s.Part, Name: parts.PieceName(l, s), Place: labelWords(plan, s), Tag: place.Now(plan, s.Next).Place == place.Tag}
}
