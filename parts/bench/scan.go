package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"benchtally/parts"
	"benchtally/parts/place"
	"benchtally/parts/routing"
	"benchtally/parts/store"
)

// Request is what a phone or a program asks for with a mark.
type Request struct {
	ID       parts.CommandID `json:"-"`
	Mark     string          `json:"mark"`
	Station  parts.Station   `json:"station,omitempty"`
	Step     int             `json:"step,omitempty"`
	Count    int             `json:"count,omitempty"`
	Blanks   int             `json:"blanks,omitempty"`  // in place of Count: how many blanks
	Parts    []string        `json:"parts,omitempty"`   // for a dry fit: what lies on the bench
	Checked  bool            `json:"checked,omitempty"` // the first piece of the setup is good
	At       time.Time       `json:"at,omitzero"`       // when it was done; zero for now
	Sent     time.Time       `json:"-"`                 // the device's clock at sending; zero when it is trusted
	By       string          `json:"by,omitempty"`
	Override bool            `json:"override,omitempty"`
	Reason   string          `json:"reason,omitempty"`
	Note     string          `json:"note,omitempty"`
	Spare    string          `json:"spare,omitempty"`   // for a remake: the spare that takes the place
	Instead  string          `json:"instead,omitempty"` // for pieces that were lost: "spare", "remake" or "short"
	Part     string          `json:"part,omitempty"`    // for a doubt: the piece that was off
	Cart     string          `json:"cart,omitempty"`    // for loading: the cart; "" for none
	Defect   string          `json:"defect,omitempty"`  // key of a defect of the catalogue
	Spot     string          `json:"spot,omitempty"`    // where the defect is
	Coats    []int           `json:"coats,omitempty"`   // numbers of the coats to be repeated
	Side     []parts.Face    `json:"side,omitempty"`    // the faces that the repeated coats go on
	Photo    string          `json:"photo,omitempty"`   // name of a picture of the defect
	Batch    int64           `json:"batch,omitempty"`   // for a coat: the batch that it is of; 0 for the open one
	Off      int             `json:"-"`                 // seconds that the device's clock was off
}

// Answer is what a request led to.
type Answer struct {
	Outcome   string          `json:"outcome"` // "recorded", "already" or "parked"
	Command   string          `json:"command"`
	Mark      parts.ID        `json:"mark"`
	Name      string          `json:"name"`
	Kind      parts.EventKind `json:"kind,omitempty"`    // what kind of thing was recorded
	Did       string          `json:"did,omitempty"`     // what was recorded: "plane"
	Station   parts.Station   `json:"station,omitempty"` // where
	Count     int             `json:"count,omitempty"`   // how many parts it moved
	At        time.Time       `json:"at,omitzero"`
	Filled    []string        `json:"filled,omitempty"` // steps before it that nobody recorded
	State     string          `json:"state,omitempty"`
	Next      *Next           `json:"next,omitempty"`
	New       parts.ID        `json:"new,omitempty"`        // the part that takes a scrapped one's place
	Behind    int             `json:"behind,omitempty"`     // of a ticket: how many stay where they were
	BehindAt  int             `json:"behind_at,omitempty"`  // number of the step before which they stay
	Check     string          `json:"check,omitempty"`      // what was to be checked on the first piece, and nobody said it was
	CheckStep int             `json:"check_step,omitempty"` // number of the step whose setup that is
	Off       int             `json:"clock_off,omitempty"`  // seconds that the device's clock was off; corrected
	Batch     int64           `json:"batch,omitempty"`      // of a coat: the batch that it is of
	Doubts    []string        `json:"doubts,omitempty"`     // what a person should know of that batch all the same
	Labels    int             `json:"labels,omitempty"`     // how many labels wait to be printed because of it
	Label     string          `json:"label,omitempty"`      // where the label sits from now on, in words; "" when that stays as it was
	Said      *Said           `json:"said,omitempty"`       // Doubts and Label for pages in any language; nil when there are none
	Problem   *parts.Problem  `json:"-"`
	Repeat    bool            `json:"-"`
}

// Said is what an answer says in sentences that can be translated.
type Said struct {
	Doubts []*parts.Problem `json:"doubts,omitempty"`
	Label  place.Words      `json:"label,omitempty"`
}

// clockSlack is how far a device's clock may be off before it is corrected.
const clockSlack = 5 * time.Second

// Scan records that the step at a station is done for a part, an assembly or
// the counted parts of a ticket.
func (b *Bench) Scan(ctx context.Context, r Request) (Answer, error) {
	if r.Station == "" && r.Step == 0 {
		return Answer{}, parts.Problemf(parts.Invalid, "station-missing", "The scan names no station and no step.").
			Next("Set the phone to a station: scan its placard.")
	}
	c, err := b.command(ctx, "scan", &r)
	if err != nil {
		return Answer{}, err
	}
	sits, err := b.seats(ctx)
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.ChangeCoats(ctx, c, func(v parts.View, pots pots, person int64) (store.Decision, error) {
		scan := r.scan(v, person)
		events, err := routing.Advance(v, scan)
		if err != nil {
			return store.Decision{}, err
		}
		coats, err := lay(v, scan, r.Batch, events, pots)
		if p := parts.AsProblem(err); p != nil && r.At.IsZero() {
			putOnBefore(v, scan, r.Batch, pots, p)
		}
		if err != nil {
			return store.Decision{}, err
		}
		events = withLabels(v, sits, events)
		return store.Decision{Events: r.told(events), Answer: answering(r.ID, sits, events, coats.pot.Number, coats.doubts)}, nil
	})
	return outcome(c, a, err)
}

// do runs one request about a mark through the store's door.
func (b *Bench) do(ctx context.Context, kind string, r Request, decide func(parts.View, parts.Scan) ([]parts.Event, error)) (Answer, error) {
	c, err := b.command(ctx, kind, &r)
	if err != nil {
		return Answer{}, err
	}
	sits, err := b.seats(ctx)
	if err != nil {
		return Answer{}, err
	}
	a, err := b.store.Change(ctx, c, func(v parts.View, person int64) (store.Decision, error) {
		events, err := decide(v, r.scan(v, person))
		if err == nil {
			events = withLabels(v, sits, events)
		}
		return store.Decision{Events: r.told(events), Answer: answering(r.ID, sits, events, 0, nil)}, err
	})
	return outcome(c, a, err)
}

// told notes on the events that the device's clock was off.
func (r Request) told(events []parts.Event) []parts.Event {
	for i := range events {
		events[i].Detail.ClockOff = r.Off
	}
	return events
}

// command reads the mark, checks the words and sets the clock of a request.
func (b *Bench) command(ctx context.Context, kind string, r *Request) (store.Command, error) {
	id, err := parts.ParseMark(r.Mark)
	if err != nil {
		return store.Command{}, err
	}
	if r.Station != "" {
		if _, err := b.Station(ctx, r.Station); err != nil {
			return store.Command{}, err
		}
	}
	r.Mark = string(id)
	for _, t := range []struct{ name, text string }{{"by", r.By}, {"reason", r.Reason}, {"note", r.Note}, {"spot", r.Spot}, {"photo", r.Photo}} {
		if utf8.RuneCountInString(t.text) > 200 || !utf8.ValidString(t.text) || strings.ContainsRune(t.text, 0) {
			return store.Command{}, parts.Problemf(parts.Invalid, "text-unfit", "What %q says is longer than 200 characters or not plain text.", t.name).Next("Shorten it.")
		}
	}
	for i, mark := range r.Parts {
		id, err := parts.ParseMark(mark)
		if err != nil {
			return store.Command{}, err
		}
		r.Parts[i] = string(id)
	}
	if r.Step < 0 || r.Count < 0 || r.Blanks < 0 || r.Batch < 0 {
		return store.Command{}, parts.Problemf(parts.Invalid, "number-negative", "A step or a count is below zero.").Next("Leave it out, or send one from 1 up.")
	}
	c, err := hashed(store.Command{ID: r.ID, Kind: kind, Subject: id, By: r.By}, r)
	if err != nil {
		return c, err
	}
	c.At, r.Off, err = b.happened(*r)
	r.At = c.At
	return c, err
}

// happened is when a request's deed happened, by the shop's clock. A device
// says what its clock shows at sending, so that a wrong clock is noticed: off
// is by how many seconds it is ahead.
func (b *Bench) happened(r Request) (at time.Time, off int, err error) {
	now := b.store.Now()
	if ahead := r.Sent.Sub(now); !r.Sent.IsZero() && ahead.Abs() > clockSlack {
		off = int(ahead.Seconds())
	}
	if r.At.IsZero() {
		return time.Time{}, off, nil
	}
	at = r.At
	if off != 0 {
		at = at.Add(now.Sub(r.Sent))
	}
	switch {
	case at.After(now.Add(clockSlack)):
		return at, off, parts.Problemf(parts.Invalid, "at-in-future", "This scan says that it was made at %s, and it is only %s.", r.At, now).
			Next("Set the device's clock, or send its present time as sent with the scan.")
	case at.After(now):
		at = now
	case at.Before(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)):
		return at, off, parts.Problemf(parts.Invalid, "at-unlikely", "This scan says that it was made at %s.", r.At).Next("Set the device's clock.")
	}
	return at.UTC().Truncate(time.Millisecond), off, nil
}

func (r Request) scan(v parts.View, person int64) parts.Scan {
	at := r.At
	if at.IsZero() {
		at = v.Now
	}
	scan := parts.Scan{Station: r.Station, Step: r.Step, Count: r.Count, Blanks: r.Blanks, Checked: r.Checked, At: at, By: person,
		Override: r.Override, Reason: strings.TrimSpace(r.Reason)}
	for _, mark := range r.Parts {
		scan.Parts = append(scan.Parts, parts.ID(mark))
	}
	return scan
}

// answering composes the answer once the events are applied. batch is what was
// put on, and doubts are what a person should know of it.
func answering(command parts.CommandID, sits seats, events []parts.Event, batch int64, doubts []*parts.Problem) func(store.After) any {
	return func(after store.After) any {
		v := after.View
		a := Answer{Outcome: "recorded", Command: command.String(), Mark: v.Subject.Part, Name: v.Name(v.Subject), Count: 1, Batch: batch}
		for _, doubt := range doubts {
			a.Doubts = append(a.Doubts, doubt.Error())
		}
		s := v.Subject
		if st := after.Of(s.Part); st.Part != "" {
			s = st
		}
		if len(events) == 0 {
			return a
		}
		e := events[0]
		a.Kind, a.At, a.Station, a.Off = e.Kind, e.At, e.Station, e.Detail.ClockOff
		if v.Subject.Kind.Counts() {
			a.Count = counted(events, e.Kind)
			s = after.Of(e.Part)
			a.ask(*v, e, events)
		}
		a.Did, a.Filled = stepNames(*v, s, e)
		if e.Kind == parts.Scrapped || e.Kind == parts.Replaced {
			a.New = e.Detail.Other
		}
		a.State = StateOf(s, v.Now)
		a.Next = nextOf(v.Routing(s), s)
		a.Labels = counted(events, parts.LabelWaits)
		if at := movedTo(*v, sits, e, s); len(at)+len(doubts) > 0 {
			a.Label, a.Said = at.String(), &Said{Doubts: doubts, Label: at}
		}
		return a
	}
}

// counted is how many of the events are of the kind.
func counted(events []parts.Event, kind parts.EventKind) int {
	n := 0
	for _, e := range events {
		if e.Kind == kind {
			n++
		}
	}
	return n
}

// ask notes what a person should be asked after a ticket was moved on: about
// those that stayed behind, and about a first piece that nobody checked.
func (a *Answer) ask(v parts.View, e parts.Event, events []parts.Event) {
	if e.Kind != parts.Did || v.Subject.Kind != parts.Ticket {
		return
	}
	was := map[parts.ID]parts.State{}
	for _, s := range v.Group {
		was[s.Part] = s
	}
	first := was[e.Part]
	stood := 0
	for _, s := range v.Group {
		if s.Next == first.Next && s.Steps == first.Steps && s.In == "" && !s.Scrapped && s.Held == "" && !s.Mending() {
			stood++
		}
	}
	if a.Behind = max(0, stood-a.Count); a.Behind > 0 {
		a.BehindAt = parts.StepNumber(first.Next, false)
	}
	step := v.Routing(first).Steps[e.Step]
	checkedNow := counted(events, parts.Checked) > 0
	if step.Check != "" && !checkedNow && !routing.ChecksHold(v.Subject, e.Step, v.Now) {
		a.Check, a.CheckStep = step.Check, parts.StepNumber(e.Step, false)
	}
}

// stepNames are the name of an event's step and of those filled in before it.
func stepNames(v parts.View, s parts.State, e parts.Event) (did string, filled []string) {
	steps := v.Routing(s).Steps
	switch e.Kind {
	case parts.Mended:
		steps = s.Repair
	case parts.Did, parts.Confirmed, parts.Checked:
	case parts.Flawed, parts.Returned:
		return strings.ToLower(e.Detail.Called), nil
	default:
		return string(e.Kind), nil
	}
	for _, i := range e.Detail.Filled {
		if i < len(steps) && !steps[i].Wait() {
			filled = append(filled, steps[i].Name)
		}
	}
	if e.Step >= 0 && e.Step < len(steps) {
		did = steps[e.Step].Name
		if steps[e.Step].Wait() {
			did = ClampsAreOff
		}
	}
	return did, filled
}

// outcome turns the store's answer into the bench's.
func outcome(c store.Command, a store.Answer, err error) (Answer, error) {
	if err != nil {
		return Answer{}, err
	}
	if a.Outcome == "refused" {
		return Answer{}, a.Problem
	}
	if fresh, ok := a.Result.(Answer); ok {
		return fresh, nil
	}
	out := Answer{Outcome: a.Outcome, Command: c.ID.String(), Mark: c.Subject, Problem: a.Problem, Repeat: a.Repeat}
	if a.Outcome == "recorded" {
		if err := json.Unmarshal([]byte(a.Said), &out); err != nil {
			return out, fmt.Errorf("read the answer to %s: %w", c.ID, err)
		}
	}
	return out, nil
}
