package bench

import (
	"context"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/store"
)

func by(s parts.Scan) rework.By { return rework.By{Person: s.By, Station: s.Station, At: s.At} }

// Plug records that a hole was off and has a plug in it.
func (b *Bench) Plug(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "plug", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Plug(v, r.Note, by(scan))
	})
}

// Hold stops a part or an assembly for a reason.
func (b *Bench) Hold(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "hold", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Hold(v, scan.Reason, by(scan))
	})
}

// Release lets a held part or assembly go on.
func (b *Bench) Release(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "release", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Release(v, by(scan))
	})
}

// TakeApart undoes a joint that is only dry or screwed.
func (b *Bench) TakeApart(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "take-apart", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.TakeApart(v, by(scan))
	})
}

// Remake scraps a part for a reason: the spare that the request names takes
// its place, or a new part with a mark of its own starts over.
func (b *Bench) Remake(ctx context.Context, r Request) (Answer, error) {
	c, err := b.command(ctx, "remake", &r)
	if err != nil {
		return Answer{}, err
	}
	var spare parts.ID
	if r.Spare != "" {
		if spare, err = parts.ParseMark(r.Spare); err != nil {
			return Answer{}, err
		}
	}
	a, err := b.store.Replace(ctx, c, func(v parts.View, fresh parts.ID, person int64) (store.Decision, error) {
		scan := r.scan(v, person)
		events, err := rework.Remake(v, spare, fresh, scan.Reason, by(scan))
		return store.Decision{Events: events, Answer: answering(c, v, events)}, err
	})
	return finish(c, a, err)
}

// Freely is how long the last thing can be taken back without a reason.
const Freely = rework.Freely

// UndoRequest asks to take a command back.
type UndoRequest struct {
	ID      parts.CommandID `json:"-"`
	Command parts.CommandID `json:"command"` // the one to take back
	By      string          `json:"by,omitempty"`
	Reason  string          `json:"reason,omitempty"` // needed when it was not just now
}

// Undo takes back the last thing that was done to one or many parts.
func (b *Bench) Undo(ctx context.Context, r UndoRequest) (Answer, error) {
	c, err := hashed(store.Command{ID: r.ID, Kind: "undo", By: r.By}, r)
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.Undo(ctx, c, r.Command, func(v parts.View, done []parts.Trace, person int64) (store.Decision, error) {
		events, err := rework.Undo(r.Command, done, v.Name, person, r.Reason, v.Now)
		return store.Decision{Events: events, Answer: func(after map[parts.ID]parts.State) any {
			s := after[events[0].Part]
			return Answer{Outcome: "recorded", Command: c.ID.String(), Mark: s.Part, Name: v.Name(s), Did: "undone",
				Count: len(events), At: v.Now, State: StateOf(s, v.Now), Next: nextOf(v.Routing(s), s)}
		}}, err
	})
	return finish(c, a, err)
}
