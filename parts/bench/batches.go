package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/finish"
	"benchtally/parts/store"
)

// BatchRequest says that a batch was mixed by the dosing list of a size.
type BatchRequest struct {
	ID      parts.CommandID   `json:"-"`
	Mix     string            `json:"mix"`
	Size    finish.Volume     `json:"size"`
	Exact   bool              `json:"exact,omitempty"`   // Size is what a list came to, not what was asked for
	Measure string            `json:"measure,omitempty"` // key of what it was dosed with
	Recipe  string            `json:"recipe,omitempty"`  // of the list that was followed; "" for no matter
	Jar     finish.Volume     `json:"jar,omitempty"`     // set aside for touching up
	Lots    map[string]string `json:"lots,omitempty"`    // of ingredients, where a lot is written
	At      time.Time         `json:"at,omitzero"`       // when it was mixed; zero for now
	By      string            `json:"by,omitempty"`
}

// MixIt records that a batch was mixed, and takes what it took off the cans on
// the shelf.
func (b *Bench) MixIt(ctx context.Context, r BatchRequest) (finish.Batch, error) {
	ms, err := b.measureFor(ctx, r.Measure, r.Size)
	if err != nil {
		return finish.Batch{}, err
	}
	c, err := hashed(store.Command{ID: r.ID, Kind: "mix", By: r.By, At: r.At}, r)
	if err != nil {
		return finish.Batch{}, err
	}
	a, err := b.store.AddBatch(ctx, c, r.Mix, func(m finish.Mix, shelf []store.Can, person int64, now time.Time) (finish.Batch, []store.Can, error) {
		return r.decide(m, ms, shelf, person, now)
	})
	if err != nil {
		return finish.Batch{}, err
	}
	if a.Problem != nil {
		return finish.Batch{}, a.Problem
	}
	var number int64
	if err := json.Unmarshal([]byte(a.Said), &number); err != nil {
		return finish.Batch{}, fmt.Errorf("read the answer to %s: %w", r.ID, err)
	}
	return b.store.Batch(ctx, number)
}

// decide makes the batch, and says what is left in the cans that it took from.
func (r BatchRequest) decide(m finish.Mix, ms finish.Measure, shelf []store.Can, person int64, now time.Time) (finish.Batch, []store.Can, error) {
	if r.Recipe != "" && r.Recipe != m.Recipe() {
		return finish.Batch{}, nil, parts.Problemf(parts.Stale, "mix-stale", "%s was changed since that list was shown: it is %s.", m.Name, m.Recipe()).
			Next("Look at the list again before you mix.")
	}
	d, p := doseOf(m, ms, r.Size, r.Exact)
	if p != nil {
		return finish.Batch{}, nil, p
	}
	at := r.At
	if at.IsZero() {
		at = now
	}
	if at.After(now) {
		return finish.Batch{}, nil, parts.Problemf(parts.Invalid, "at-in-future", "That batch was mixed at %s, and it is only %s.", at, now).Next("Leave the time out for now.")
	}
	from, left := r.from(d, shelf)
	batch, p := finish.Mixed(m, d, from, r.Jar, person, at.UTC().Truncate(time.Millisecond))
	if p != nil {
		return batch, nil, p
	}
	return batch, left, nil
}

// from says which cans a dosing came out of, the one opened first first, and
// what is left in those. A lot that is written goes before that of the can.
func (r BatchRequest) from(d finish.Dosing, shelf []store.Can) (from []finish.Container, left []store.Can) {
	slices.SortStableFunc(shelf, func(a, b store.Can) int { return a.Opened.Compare(b.Opened) })
	plain := make([]finish.Can, len(shelf))
	for i, c := range shelf {
		plain[i] = c.Can
	}
	after, _ := finish.Used(d, plain)
	named := map[string]bool{}
	for i, c := range after {
		if c.Left == shelf[i].Left {
			continue
		}
		shelf[i].Left = c.Left
		left = append(left, shelf[i])
		can := c.Container
		if lot := strings.TrimSpace(r.Lots[can.Name]); lot != "" {
			can.Lot = lot
		}
		named[can.Name] = true
		from = append(from, can)
	}
	for _, portion := range d.Portions {
		if lot := strings.TrimSpace(r.Lots[portion.Name]); lot != "" && !named[portion.Name] {
			from = append(from, finish.Container{Name: portion.Name, Lot: lot})
		}
	}
	return from, left
}

// Batches gives the batches that are open, or were within the last month.
func (b *Bench) Batches(ctx context.Context) ([]finish.Batch, error) {
	return b.store.Batches(ctx, b.Now().AddDate(0, -1, 0))
}

// BatchLook is a batch with what got it.
type BatchLook struct {
	finish.Batch
	MixedBy string
	Got     []BatchGot
	Usable  *parts.Problem // why it may not go on wood any more; nil when it may
	Doubts  []*parts.Problem
	Of      finish.Mix
}

// BatchGot is a piece that got a batch.
type BatchGot struct {
	Mark  parts.ID
	Name  string
	Job   parts.Job
	Coats []string // which, in words
}

// Batch looks at one batch.
func (b *Bench) Batch(ctx context.Context, number int64) (BatchLook, error) {
	batch, err := b.store.Batch(ctx, number)
	if err != nil {
		return BatchLook{}, err
	}
	out := BatchLook{Batch: batch, Usable: finish.Usable(batch, b.Now()), Doubts: finish.Doubts(batch.From, b.Now())}
	people, err := b.store.People(ctx)
	if err != nil {
		return out, err
	}
	out.MixedBy = people[batch.By]
	if out.Of, err = b.Mix(ctx, batch.Mix); err != nil {
		return out, err
	}
	out.Got, err = b.whatGot(ctx, number)
	return out, err
}

// whatGot names the pieces that got a batch.
func (b *Bench) whatGot(ctx context.Context, number int64) ([]BatchGot, error) {
	got, err := b.store.WhatGot(ctx, number)
	if err != nil {
		return nil, err
	}
	jobs, err := b.store.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	lines := map[int64]parts.Line{}
	var out []BatchGot
	for _, g := range got {
		if _, known := lines[g.State.Line]; !known {
			all, err := b.store.Lines(ctx, g.State.Job)
			if err != nil {
				return nil, err
			}
			for _, l := range all {
				lines[l.ID] = l
			}
		}
		one := BatchGot{Mark: g.State.Part, Name: parts.PieceName(lines[g.State.Line], g.State)}
		for _, j := range jobs {
			if j.ID == g.State.Job {
				one.Job = j
			}
		}
		for _, l := range g.State.Laid {
			if l.Batch == number {
				one.Coats = append(one.Coats, laidText(l))
			}
		}
		out = append(out, one)
	}
	return out, nil
}

// laidText says which coat it was.
func laidText(l parts.Laid) string {
	text := l.Coat
	if l.N > 0 {
		text = fmt.Sprintf("%s, coat %d", text, l.N)
	} else {
		text += " again"
	}
	if len(l.Faces) > 0 && len(l.Faces) < len(parts.Faces) {
		var names []string
		for _, f := range l.Faces {
			names = append(names, string(f))
		}
		text += ": " + joined(names)
	}
	return text
}

// BatchChange corrects a batch; what is nil stays.
type BatchChange struct {
	Left *finish.Volume // how much is really left
	Jar  *finish.Volume // set aside for touching up, out of what is left
	Open *bool
}

// ChangeBatch corrects how much is left of a batch, sets a jar aside, closes
// it or opens it again.
func (b *Bench) ChangeBatch(ctx context.Context, number int64, c BatchChange) error {
	return b.store.ChangeBatch(ctx, number, func(was finish.Batch) (finish.Batch, error) {
		now := was
		if c.Left != nil {
			now.Left = *c.Left
		}
		if c.Jar != nil {
			now.Left -= *c.Jar - now.Jar
			now.Jar = *c.Jar
		}
		switch {
		case now.Left > was.Volume || now.Jar > was.Volume || c.Left != nil && *c.Left < 0 || now.Jar < 0:
			return was, parts.Problemf(parts.Invalid, finish.CodeMoreThanLeft, "Batch %d was %s when it was mixed.", number, was.Volume.Format(parts.Style{})).
				Next("Write what is really left, from nothing to that.")
		case c.Jar != nil && *c.Jar > 0 && was.PotLife > 0:
			return was, parts.Problemf(parts.Refused, finish.CodeNoJar, "%s sets in its pot, so a jar of it is of no use.", was.Name).Next("Mix a little anew for touching up.")
		}
		if c.Open != nil {
			now.Open = *c.Open
		}
		return now, nil
	})
}

// Jars lists the jars for touching up that go along with the finished and
// delivered pieces of a job.
func (b *Bench) Jars(ctx context.Context, job JobPieces) ([]finish.Jar, error) {
	var pieces []parts.ID
	var got []finish.Coated
	var numbers []int64
	for _, s := range job.States {
		if s.Scrapped || s.In != "" || len(s.Laid) == 0 {
			continue
		}
		if s.Finished {
			pieces = append(pieces, s.Part)
		}
		for _, l := range s.Laid {
			got = append(got, finish.Coated{Part: s.Part, Coat: l.Coat, N: l.N, Batch: l.Batch})
			numbers = append(numbers, l.Batch)
		}
	}
	slices.Sort(numbers)
	batches, err := b.store.BatchesByNumber(ctx, slices.Compact(numbers))
	if err != nil {
		return nil, err
	}
	return finish.Jars(pieces, got, batches), nil
}
