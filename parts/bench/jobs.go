package bench

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// JobRequest asks for something about a whole job or one line of it.
type JobRequest struct {
	ID    parts.CommandID `json:"-"`
	Job   string          `json:"job"`
	Line  int64           `json:"line,omitempty"`
	Steps string          `json:"steps,omitempty"` // key of the steps a line is to follow
	OnAt  int             `json:"on_at,omitempty"` // number of the step at which what is under way goes on; 0 for the one of the same name
	By    string          `json:"by,omitempty"`
}

// ChangeSteps lets the pieces of a line follow other steps, or the newest
// version of theirs: what is under way is moved over.
func (b *Bench) ChangeSteps(ctx context.Context, r JobRequest) error {
	all, err := b.store.Routings(ctx)
	if err != nil {
		return err
	}
	return b.doJob(ctx, "change-steps", r, func(v parts.View, person int64) ([]parts.Event, error) {
		for _, steps := range all {
			if steps.Key == r.Steps {
				return routing.Reroute(v, r.Line, steps, r.OnAt, person)
			}
		}
		return nil, parts.Problemf(parts.Invalid, "steps-unknown", "There are no steps %q.", r.Steps).Next("Choose steps from the list.")
	})
}

// TakeBackJob takes a job back that was listed by mistake.
func (b *Bench) TakeBackJob(ctx context.Context, r JobRequest) error {
	return b.doJob(ctx, "take-back-job", r, func(v parts.View, person int64) ([]parts.Event, error) {
		return rework.TakeBackJob(v, rework.By{Person: person, At: v.Now})
	})
}

// Deliver hands over what is finished of a job.
func (b *Bench) Deliver(ctx context.Context, r JobRequest) error {
	return b.doJob(ctx, "deliver", r, func(v parts.View, person int64) ([]parts.Event, error) {
		return rework.Deliver(v, rework.By{Person: person, At: v.Now})
	})
}

// doJob runs one request about a job through the store's door.
func (b *Bench) doJob(ctx context.Context, kind string, r JobRequest, decide func(parts.View, int64) ([]parts.Event, error)) error {
	job, err := b.store.Job(ctx, r.Job)
	if err != nil {
		return err
	}
	c, err := hashed(store.Command{ID: r.ID, Kind: kind, By: r.By}, r)
	if err != nil {
		return err
	}
	a, err := b.store.ChangeJob(ctx, c, job.ID, func(v parts.View, person int64) (store.Decision, error) {
		events, err := decide(v, person)
		return store.Decision{Events: events, Answer: func(map[parts.ID]parts.State) any { return len(events) }}, err
	})
	if err == nil && a.Outcome == "refused" {
		return a.Problem
	}
	return err
}
