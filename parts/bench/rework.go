package bench

import (
	"context"
	"slices"
	"strings"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

func by(s parts.Scan) rework.By { return rework.By{Person: s.By, Station: s.Station, At: s.At} }

// Plug records that a hole was off and has a plug in it.
func (b *Bench) Plug(ctx context.Context, r Request) (Answer, error) {
	if r.Defect == "" {
		r.Defect = rework.HoleOff
	}
	f, err := b.flaw(ctx, r)
	if err != nil {
		return Answer{}, err
	}
	return b.do(ctx, "plug", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Plug(v, f, by(scan))
	})
}

// Mend begins the repair of a defect of the catalogue, on a part or an
// assembly.
func (b *Bench) Mend(ctx context.Context, r Request) (Answer, error) {
	f, err := b.flaw(ctx, r)
	if err != nil {
		return Answer{}, err
	}
	return b.do(ctx, "mend", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Mend(v, f, by(scan))
	})
}

// Return records that a delivered piece came back, with its defect.
func (b *Bench) Return(ctx context.Context, r Request) (Answer, error) {
	f, err := b.flaw(ctx, r)
	if err != nil {
		return Answer{}, err
	}
	return b.do(ctx, "return", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Return(v, f, by(scan))
	})
}

// flaw finds the defect that a request names and reads what is said of it.
func (b *Bench) flaw(ctx context.Context, r Request) (rework.Flaw, error) {
	all, err := b.store.Defects(ctx)
	if err != nil {
		return rework.Flaw{}, err
	}
	i := slices.IndexFunc(all, func(d parts.Defect) bool { return d.Key == r.Defect })
	if i < 0 {
		var keys []string
		for _, d := range all {
			keys = append(keys, d.Key)
		}
		return rework.Flaw{}, parts.Problemf(parts.Invalid, "defect-unknown", "The shop knows no defect %q.", r.Defect).
			Next("Choose one of the catalogue: %s.", strings.Join(keys, ", ")).Fact("defects", keys)
	}
	if r.Photo != "" {
		if _, err := b.store.Photo(ctx, r.Photo); err != nil {
			return rework.Flaw{}, err
		}
	}
	return rework.Flaw{Defect: all[i], Spot: r.Spot, Note: r.Note, Coats: r.Coats, Side: r.Side, Photo: r.Photo, Override: r.Override}, nil
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
		if p := v.Late(v.Subject, scan.At); p != nil {
			return nil, p
		}
		return rework.TakeApart(v, by(scan))
	})
}

// Remake scraps a part for a reason: the spare that the request names takes
// its place, or a new part with a mark of its own starts over. A glued
// assembly is remade with all that is in it, and what was scrapped for good is
// made after all.
func (b *Bench) Remake(ctx context.Context, r Request) (Answer, error) {
	var spare parts.ID
	if r.Spare != "" {
		var err error
		if spare, err = parts.ParseMark(r.Spare); err != nil {
			return Answer{}, err
		}
	}
	return b.doFresh(ctx, "remake", r, func(v parts.View, scan parts.Scan, fresh func() parts.ID) ([]parts.Event, error) {
		return rework.Remake(v, spare, fresh, scan.Reason, by(scan))
	})
}

// Scrap takes a part or an assembly out for good, and nothing takes its place.
func (b *Bench) Scrap(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "scrap", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Scrap(v, scan.Reason, by(scan))
	})
}

// Lost scraps counted pieces of a ticket that did not come out of a step:
// Request.Instead says what is done about them.
func (b *Bench) Lost(ctx context.Context, r Request) (Answer, error) {
	return b.doFresh(ctx, "lost", r, func(v parts.View, scan parts.Scan, fresh func() parts.ID) ([]parts.Event, error) {
		return rework.Lost(v, scan.Step, scan.Count, rework.Instead(r.Instead), fresh, scan.Reason, by(scan))
	})
}

// doFresh is do for verbs that may start something over under a new mark.
func (b *Bench) doFresh(ctx context.Context, kind string, r Request,
	decide func(parts.View, parts.Scan, func() parts.ID) ([]parts.Event, error)) (Answer, error) {
	c, err := b.command(ctx, kind, &r)
	if err != nil {
		return Answer{}, err
	}
	sits, err := b.seats(ctx)
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.Replace(ctx, c, func(v parts.View, fresh func() parts.ID, person int64) (store.Decision, error) {
		events, err := decide(v, r.scan(v, person), fresh)
		return store.Decision{Events: r.told(events), Answer: answering(r.ID, sits, events, 0, nil)}, err
	})
	return outcome(c, a, err)
}

// Doubt says that a ticket's setup was at fault: Request.Part is the piece
// that showed it, and those made since the last good one are to be looked at.
func (b *Bench) Doubt(ctx context.Context, r Request) (Answer, error) {
	off, err := parts.ParseMark(r.Part)
	if err != nil {
		return Answer{}, err
	}
	return b.do(ctx, "doubt", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Doubt(v, off, by(scan))
	})
}

// Clear says that what was to be looked at is good.
func (b *Bench) Clear(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "clear", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return rework.Clear(v, by(scan))
	})
}

// CheckFirst records that the first piece of a ticket's setup is good.
func (b *Bench) CheckFirst(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "check", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return routing.CheckFirst(v, scan)
	})
}

// Skip leaves steps out: what was bought or finished before goes on at
// Request.Step.
func (b *Bench) Skip(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "skip", r, func(v parts.View, scan parts.Scan) ([]parts.Event, error) {
		return routing.Skip(v, scan.Step, scan.Reason, scan)
	})
}

// ClampsAreOff is what was done when a wait in clamps was ended.
const ClampsAreOff = "clamps off"

// ClampsOff records that the clamps are off. Nobody has to say it.
func (b *Bench) ClampsOff(ctx context.Context, r Request) (Answer, error) {
	return b.do(ctx, "clamps-off", r, routing.ClampsOff)
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
		giveBack(events, done)
		return store.Decision{Events: events, Answer: func(after store.After) any {
			s := after.Of(events[0].Part)
			return Answer{Outcome: "recorded", Command: c.ID.String(), Mark: s.Part, Name: v.Name(s), Did: "undone",
				Count: len(events), At: v.Now, State: StateOf(s, v.Now), Next: nextOf(v.Routing(s), s)}
		}}, err
	})
	return outcome(c, a, err)
}
