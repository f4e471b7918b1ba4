package main

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// teller does the deeds of a story in a shop whose clock it sets.
type teller struct {
	*bench.Bench
	job   string // its code
	setTo func(time.Time)
	done  map[string]parts.CommandID // the last that was done to each thing, for undo
}

// tell does one deed at a time. What is refused must be what the story expects.
func (t *teller) tell(ctx context.Context, d deed, at time.Time) error {
	told := at
	if later, ok := d.said("told"); ok {
		delay, err := lastingOf(strings.TrimSuffix(later, " later"))
		if err != nil {
			return err
		}
		told = at.Add(delay)
	}
	t.setTo(told)
	a, err := t.do(ctx, d, at)
	if err == nil && a.Problem != nil {
		err = a.Problem
	}
	switch p := parts.AsProblem(err); {
	case d.refused != "" && p == nil && err == nil:
		return fmt.Errorf("line %d: %s was done, and should have been refused with %q", d.line, d.what, d.refused)
	case d.refused != "" && p != nil && p.Code == d.refused:
		return nil
	case err != nil:
		return fmt.Errorf("line %d: %s: %w", d.line, d.what, err)
	}
	return nil
}

// do turns a deed into a request of the bench.
func (t *teller) do(ctx context.Context, d deed, at time.Time) (bench.Answer, error) {
	if done, err := t.finishes(ctx, d); done || err != nil {
		return bench.Answer{}, err
	}
	switch d.verb {
	case "cart":
		return t.AddCart(ctx, newID(), d.what, d.who)
	case "deliver":
		return t.Deliver(ctx, bench.JobRequest{ID: newID(), Job: t.job, By: d.who})
	case "undo":
		return t.Undo(ctx, bench.UndoRequest{ID: newID(), Command: t.done[d.what], By: d.who, Reason: d.why})
	case "print":
		return bench.Answer{}, t.print(ctx, d)
	case "newer":
		return bench.Answer{}, t.newer(ctx, d)
	case "reading":
		return bench.Answer{}, t.reading(ctx, d, at)
	}
	r, err := t.request(ctx, d, at)
	if err != nil {
		return bench.Answer{}, err
	}
	t.done[d.what] = r.ID
	do := map[string]func(context.Context, bench.Request) (bench.Answer, error){
		"": t.Scan, "plug": t.Plug, "mend": t.Mend, "hold": t.Hold, "release": t.Release, "remake": t.Remake, "scrap": t.Scrap,
		"lost": t.Lost, "apart": t.TakeApart, "doubt": t.Doubt, "clear": t.Clear, "check": t.CheckFirst, "skip": t.Skip,
		"load": t.Load, "unload": t.Load, "return": t.Return,
	}[d.verb]
	if do == nil {
		return bench.Answer{}, fmt.Errorf("the story has no verb %q", d.verb)
	}
	return do(ctx, r)
}

// request reads what is said after the semicolons.
func (t *teller) request(ctx context.Context, d deed, at time.Time) (bench.Request, error) {
	pieces, err := t.Job(ctx, t.job)
	if err != nil {
		return bench.Request{}, err
	}
	r := bench.Request{ID: newID(), Station: parts.Station(d.station), At: at, By: d.who, Reason: d.why, Note: d.why, Count: d.count}
	if d.blanks {
		r.Blanks, r.Count = d.count, 0
	}
	_, r.Checked = d.said("checked")
	_, r.Override = d.said("early")
	r.Spot, _ = d.said("spot")
	r.Defect, _ = d.said("defect")
	r.Instead, _ = d.said("instead")
	if side, ok := d.said("side"); ok {
		r.Side = []parts.Face{parts.Face(side)}
	}
	if r.Mark, err = t.mark(ctx, pieces, d.what); err != nil {
		return r, err
	}
	for word, to := range map[string]*string{"because": &r.Part, "on": &r.Cart, "spare": &r.Spare} {
		if name, ok := d.said(word); ok {
			if *to, err = t.mark(ctx, pieces, name); err != nil {
				return r, err
			}
		}
	}
	if names, ok := d.said("with"); ok {
		for _, name := range strings.Split(names, " & ") {
			mark, err := t.mark(ctx, pieces, name)
			if err != nil {
				return r, err
			}
			r.Parts = append(r.Parts, mark)
		}
	}
	return r, t.stepsOf(ctx, d, &r)
}

// stepsOf finds the numbers of the steps that a deed names.
func (t *teller) stepsOf(ctx context.Context, d deed, r *bench.Request) error {
	p, err := t.Look(ctx, r.Mark)
	if err != nil {
		return err
	}
	number := func(name string) (int, error) {
		if name == "nothing is left" {
			return len(p.Steps) + 1, nil
		}
		i := slices.IndexFunc(p.Steps, func(s parts.Step) bool { return s.Name == name })
		if i < 0 {
			return 0, fmt.Errorf("line %d: %s has no step %q", d.line, d.what, name)
		}
		return parts.StepNumber(i, false), nil
	}
	if name, ok := d.said("step"); ok {
		if r.Step, err = number(name); err != nil {
			return err
		}
	}
	if names, ok := d.said("coats"); ok {
		for _, name := range strings.Split(names, " & ") {
			n, err := number(name)
			if err != nil {
				return err
			}
			r.Coats = append(r.Coats, n)
		}
	}
	return nil
}

// mark finds a line's ticket, a cart, or a piece by its name; of several that
// had the name, the one that is not scrapped, or else the last.
func (t *teller) mark(ctx context.Context, job bench.JobPieces, name string) (string, error) {
	carts, err := t.Carts(ctx)
	if err != nil {
		return "", err
	}
	for _, c := range carts {
		if c.Name == name {
			return string(c.Part), nil
		}
	}
	found := ""
	for _, s := range job.States {
		l := job.LineOf(s)
		called := parts.PieceName(l, s)
		one := l.Pieces() == 1 && s.Kind != parts.Ticket
		if called != name && strings.TrimSuffix(strings.TrimSuffix(called, " (spare)"), " (test piece)") != name ||
			l.Name == name && s.Kind != parts.Ticket && !one || s.Kind == parts.Ticket && l.Pieces() == 1 {
			continue
		}
		if !s.Scrapped {
			return string(s.Part), nil
		}
		found = string(s.Part)
	}
	if found == "" {
		return "", fmt.Errorf("the story has no %q", name)
	}
	return found, nil
}

// newer makes a newer version of a line's steps, with one more before the
// first at a station, and moves the line over to it.
func (t *teller) newer(ctx context.Context, d deed) error {
	job, err := t.Job(ctx, t.job)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(job.Lines, func(l parts.Line) bool { return l.Name == d.what })
	if i < 0 {
		return fmt.Errorf("line %d: the job has no line %q", d.line, d.what)
	}
	r := job.Routings[job.Lines[i].Steps]
	name, _ := d.said("step")
	at, _ := d.said("at")
	before := slices.IndexFunc(r.Steps, func(s parts.Step) bool { return string(s.Station) == at })
	if before < 0 {
		return fmt.Errorf("line %d: %s does nothing at %q", d.line, d.what, at)
	}
	r.Steps = slices.Insert(slices.Clone(r.Steps), before, parts.Step{Name: name, Station: parts.Station(at)})
	if r, err = t.SaveRouting(ctx, r); err != nil {
		return err
	}
	return t.ChangeSteps(ctx, bench.JobRequest{ID: newID(), Job: t.job, Line: job.Lines[i].ID, Steps: r.Key, By: d.who})
}

// reading tells the air of the shop: "reading 14 55" is 14 °C and 55 %. Of one
// place it says where: "on Cart 1".
func (t *teller) reading(ctx context.Context, d deed, at time.Time) error {
	text := d.what
	if d.count > 0 {
		text = fmt.Sprint(d.count, " ", d.what)
	}
	r := bench.Reading{At: at}
	if _, err := fmt.Sscan(text, &r.Celsius, &r.Humidity); err != nil {
		return fmt.Errorf("line %d: a reading is a temperature and a humidity: %w", d.line, err)
	}
	if name, ok := d.said("on"); ok {
		job, err := t.Job(ctx, t.job)
		if err != nil {
			return err
		}
		if r.Place, err = t.mark(ctx, job, name); err != nil {
			return err
		}
	}
	_, err := t.AddReadings(ctx, d.who, bench.FromPerson, []bench.Reading{r})
	return err
}

// print prints what waits, or all tickets or labels.
func (t *teller) print(ctx context.Context, d deed) error {
	_, due := d.said("due")
	_, err := t.Print(ctx, bench.PrintRequest{ID: newID(), Job: t.job, What: d.what, Due: due, By: d.who})
	return err
}
