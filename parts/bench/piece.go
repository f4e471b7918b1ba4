package bench

import (
	"context"
	"slices"
	"time"

	"benchtally/parts"
	"benchtally/parts/place"
	"benchtally/parts/routing"
	"benchtally/parts/safe"
)

// Next is the step that comes next, for programs and pages.
type Next struct {
	Step    int           `json:"step"` // the number by which a scan names it
	Name    string        `json:"name"`
	Station parts.Station `json:"station"`
	Ready   time.Time     `json:"ready_at,omitzero"` // not before then
}

// nextOf is nil when nothing is left to do.
func nextOf(r parts.Routing, s parts.State) *Next {
	c, ok := parts.NextStep(r, s)
	if !ok || s.In != "" {
		return nil
	}
	return &Next{Step: c.Number, Name: c.Step.Name, Station: c.Step.Station, Ready: c.Ready}
}

// StateOf says in one word or two how something stands at now: "ready",
// "resting", "in clamps", "setting", "drying", "held", "scrapped", "in
// assembly", "to be looked at", "finished" or "delivered".
func StateOf(s parts.State, now time.Time) string {
	switch w, waits := s.Waiting(now); {
	case s.Scrapped:
		return "scrapped"
	case s.Held != "":
		return "held"
	case s.In != "":
		return "in assembly"
	case waits:
		return string(w.Clock)
	case s.Doubt != "":
		return "to be looked at"
	case !s.Delivered.IsZero():
		return "delivered"
	case s.Finished && !s.Mending():
		return "finished"
	}
	return "ready"
}

// Piece is everything a page or a program shows of one mark.
type Piece struct {
	View    parts.View
	State   parts.State
	Line    parts.Line
	Job     parts.Job
	Name    string
	Steps   []parts.Step
	Strip   parts.Strip
	Stands  string // see StateOf
	Next    *Next
	Wait    *parts.Wait   // the clock that runs now; nil for none
	Ready   time.Time     // when the last of its clocks runs out
	Closes  time.Time     // by when the next coat has to be on; zero for none
	Kits    []routing.Kit // of an assembly before dry fit
	Spares  []parts.State // of the same line, free to take its place
	Last    *parts.Event  // what could be taken back; nil for nothing
	Newer   parts.ID      // what replaced it, at the end of the chain
	Label   place.Words   // where its label sits, and where it goes later; none for a ticket or a cart
	Rough   parts.Length  // of a ticket before its rough cuts: how long its blanks are cut; zero for not known
	Inside  string        // the name of the assembly it is in
	Moments []Moment      // its life, newest first
}

// Look shows one mark.
func (b *Bench) Look(ctx context.Context, mark string) (Piece, error) {
	id, err := parts.ParseMark(mark)
	if err != nil {
		return Piece{}, err
	}
	v, err := b.store.Look(ctx, id)
	if err != nil {
		return Piece{}, err
	}
	s := v.Subject
	if s.Kind.Counts() {
		s.Steps = stepsOfTicket(v)
	}
	p := Piece{View: v, State: s, Line: v.Lines[s.Line], Name: v.Name(s), Stands: StateOf(s, v.Now)}
	if s.Job != 0 { // a cart is of no job
		if p.Job, err = b.store.JobByID(ctx, s.Job); err != nil {
			return p, err
		}
	}
	if s.Kind.Counts() {
		return b.lookTicket(ctx, p)
	}
	r := v.Routing(s)
	p.Steps, p.Strip, p.Next = r.Steps, parts.StripOf(r, s, v.Now), nextOf(r, s)
	if w, runs := s.Waiting(v.Now); runs {
		p.Wait, p.Ready, p.Closes = &w, s.Ready(), s.Recoat(r, w)
	}
	if s.Kind == parts.Assembly && len(s.Parts) == 0 {
		p.Kits = routing.Kits(v, parts.Scan{At: v.Now})
	}
	p.Spares = spares(v)
	label, err := b.labelSize(ctx)
	if err != nil {
		return p, err
	}
	if s.In == "" && s.Delivered.IsZero() {
		p.Label = labelWords(place.Plan(p.Line, r, label), s)
	}
	return b.surround(ctx, p)
}

// stepsOfTicket is the version of the steps that a ticket's parts follow.
func stepsOfTicket(v parts.View) int64 {
	for _, s := range v.Group {
		if !s.Scrapped {
			return s.Steps
		}
	}
	return v.Lines[v.Subject.Line].Steps
}

// lookTicket fills in what a ticket stands for.
func (b *Bench) lookTicket(ctx context.Context, p Piece) (Piece, error) {
	r := p.View.Routings[p.State.Steps]
	p.Steps, p.Strip = r.Steps, ticketStrip(r, p.View)
	p.Stands = "finished"
	for _, s := range p.View.Group {
		if next := nextOf(p.View.Routing(s), s); next != nil && s.Held == "" {
			if p.Next == nil || next.Step < p.Next.Step {
				p.Next, p.Stands = next, StateOf(s, p.View.Now)
				p.Wait = nil
				if w, runs := s.Waiting(p.View.Now); runs {
					p.Wait, p.Ready, p.Closes = &w, s.Ready(), s.Recoat(p.View.Routing(s), w)
				}
			}
		}
	}
	if p.Next == nil && slices.ContainsFunc(p.View.Group, func(s parts.State) bool { return s.Held != "" && !s.Scrapped }) {
		p.Stands = "held"
	}
	if s := p.State; s.Kind == parts.Ticket && p.Line.Kind == parts.Single && p.Next != nil && p.Next.Step <= 2 {
		p.Rough = safe.BlankLength(p.Line, r, max(1, p.Line.PerBlank), safe.Usual())
	}
	var err error
	p.Moments, p.Last, err = b.lifeOfTicket(ctx, p)
	return p, err
}

// ticketStrip is the picture of the part of a ticket that is furthest behind.
func ticketStrip(r parts.Routing, v parts.View) parts.Strip {
	var last *parts.State
	for i, s := range v.Group {
		if !s.Scrapped && (last == nil || s.Next < last.Next) {
			last = &v.Group[i]
		}
	}
	if last == nil {
		return parts.StripOf(r, parts.State{}, v.Now)
	}
	return parts.StripOf(r, *last, v.Now)
}

// surround adds what other rows say about a part.
func (b *Bench) surround(ctx context.Context, p Piece) (Piece, error) {
	var err error
	if p.Moments, p.Last, err = b.life(ctx, p); err != nil {
		return p, err
	}
	if p.State.In != "" {
		in, err := b.store.Look(ctx, p.State.In)
		if err != nil {
			return p, err
		}
		p.Inside = in.Name(in.Subject)
	}
	for next := p.State.ReplacedBy; next != ""; {
		p.Newer = next
		v, err := b.store.Look(ctx, next)
		if err != nil {
			return p, err
		}
		next = v.Subject.ReplacedBy
	}
	return p, nil
}

// Unclamp is what a page offers of a piece that is in clamps.
type Unclamp struct {
	Until  time.Time // when they may come off
	Reason string    // the ready-made reason to take them off now; "" when the time is over
}

// Unclamp says whether somebody may say of a piece that its clamps are off;
// nil when it is in none.
func (p Piece) Unclamp() *Unclamp {
	w, clamped := routing.InClamps(p.State)
	switch {
	case !clamped:
		return nil
	case p.View.Now.Before(w.Ends()):
		return &Unclamp{Until: w.Ends(), Reason: routing.OverruleReason(parts.State{Waits: []parts.Wait{w}})}
	}
	return &Unclamp{Until: w.Ends()}
}

// spares gives the free spares of a single part's line, the furthest along first.
func spares(v parts.View) []parts.State {
	var out []parts.State
	if v.Subject.Kind != parts.Single {
		return nil
	}
	for _, s := range v.Group {
		if isSpare(s) {
			out = append(out, s)
		}
	}
	return out
}
