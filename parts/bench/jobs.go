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

// ChangeSteps is Reroute for those who only want to know whether it went well.
func (b *Bench) ChangeSteps(ctx context.Context, r JobRequest) error {
	_, err := b.Reroute(ctx, r)
	return err
}

// Reroute lets the pieces of a line follow other steps, or the newest version
// of theirs: what is under way is moved over.
func (b *Bench) Reroute(ctx context.Context, r JobRequest) (Answer, error) {
	all, err := b.store.Routings(ctx)
	if err != nil {
		return Answer{}, err
	}
	return b.doJob(ctx, "change-steps", r, func(v parts.View, person int64) ([]parts.Event, error) {
		var keys []string
		for _, steps := range all {
			if steps.Key == r.Steps {
				return routing.Reroute(v, r.Line, steps, r.OnAt, person)
			}
			keys = append(keys, steps.Key)
		}
		return nil, parts.Problemf(parts.Invalid, "steps-unknown", "There are no steps %q.", r.Steps).Next("Choose steps from the list.").Fact("steps", keys)
	})
}

// TakeBackJob takes a job back that was listed by mistake.
func (b *Bench) TakeBackJob(ctx context.Context, r JobRequest) error {
	_, err := b.doJob(ctx, "take-back-job", r, func(v parts.View, person int64) ([]parts.Event, error) {
		return rework.TakeBackJob(v, rework.By{Person: person, At: v.Now})
	})
	return err
}

// Deliver hands over what is finished of a job.
func (b *Bench) Deliver(ctx context.Context, r JobRequest) (Answer, error) {
	return b.doJob(ctx, "deliver", r, func(v parts.View, person int64) ([]parts.Event, error) {
		return rework.Deliver(v, rework.By{Person: person, At: v.Now})
	})
}

// doJob runs one request about a job through the store's door. Its answer has
// no mark: it names the job, and counts the pieces.
func (b *Bench) doJob(ctx context.Context, kind string, r JobRequest, decide func(parts.View, int64) ([]parts.Event, error)) (Answer, error) {
	job, err := b.store.Job(ctx, r.Job)
	if err != nil {
		return Answer{}, err
	}
	r.Job = job.Code // a repeat may write it in other letters
	c, err := hashed(store.Command{ID: r.ID, Kind: kind, By: r.By}, r)
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.ChangeJob(ctx, c, job.ID, func(v parts.View, person int64) (store.Decision, error) {
		events, err := decide(v, person)
		return store.Decision{Events: events, Answer: func(store.After) any {
			return Answer{Outcome: "recorded", Command: c.ID.String(), Name: job.Name, Did: string(events[0].Kind), Count: len(events), At: v.Now}
		}}, err
	})
	return outcome(c, a, err)
}
