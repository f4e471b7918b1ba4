package bench

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bore"
)

// onPaper is how times are written on paper, where "yesterday" would grow old.
const onPaper = "2 Jan 2006 15:04"

// WriteTravelers draws the travelers of a job's assemblies as they stand: mark
// chooses one, "" is for all that still have something to do. With a mark the
// job may be left out. Nothing is recorded: a traveler is only paper.
func (b *Bench) WriteTravelers(ctx context.Context, w io.Writer, code, mark string) error {
	set, err := b.addressed(ctx)
	if err != nil {
		return err
	}
	var only parts.ID
	if mark != "" {
		p, err := b.Look(ctx, mark)
		if err != nil {
			return err
		}
		if err := travels(p); err != nil {
			return err
		}
		only, code = p.State.Part, p.Job.Code
	}
	job, err := b.Job(ctx, code)
	if err != nil {
		return err
	}
	sheets, err := b.travelers(ctx, job, set)
	if err != nil {
		return err
	}
	var out []labels.Traveler
	for _, s := range job.States {
		open := s.In == "" && !s.Finished && s.Delivered.IsZero() || s.Mending()
		if s.Kind == parts.Assembly && !s.Scrapped && (s.Part == only || only == "" && open) {
			out = append(out, sheets.traveler(s))
		}
	}
	if len(out) == 0 {
		return parts.Problemf(parts.Refused, "travelers-none", "No assembly of %s has anything left to do.", job.Job.Name).
			Next("Open one assembly to print its traveler all the same.")
	}
	return labels.WriteTraveler(w, set.Paper, out...)
}

// addressed gives the settings of a shop whose codes can be scanned.
func (b *Bench) addressed(ctx context.Context) (parts.Settings, error) {
	set, err := b.store.Settings(ctx)
	if err == nil && set.Address == "" {
		err = parts.Problemf(parts.Refused, "address-unknown", "The address of this server is not set, and the codes on paper need it.").
			Next("Set it on the settings page, or start the server once.")
	}
	return set, err
}

// travels says why a piece has no traveler of its own.
func travels(p Piece) error {
	switch {
	case p.State.Kind != parts.Assembly:
		return parts.Problemf(parts.Refused, "no-assembly", "%s is no assembly: only what is put together has a traveler.", p.Name).
			Next("Open the assembly it goes into, or print the ticket of its line.")
	case p.State.Scrapped:
		return parts.Problemf(parts.Refused, "scrapped", "%s is scrapped.", p.Name).Next("Print the traveler of what takes its place.")
	}
	return nil
}

// travelSheets is what every traveler of a job is drawn from.
type travelSheets struct {
	JobPieces
	bench    *Bench
	set      parts.Settings
	patterns map[string]parts.Pattern
	words    stepWords
}

func (b *Bench) travelers(ctx context.Context, job JobPieces, set parts.Settings) (travelSheets, error) {
	t := travelSheets{JobPieces: job, bench: b, set: set, patterns: map[string]parts.Pattern{}}
	all, err := b.store.Patterns(ctx)
	if err != nil {
		return t, err
	}
	for _, p := range all {
		t.patterns[p.Key] = p
	}
	t.words, err = b.stepWords(ctx, job, set)
	return t, err
}

// traveler is what the page of one assembly shows.
func (t travelSheets) traveler(s parts.State) labels.Traveler {
	l, now := t.LineOf(s), t.bench.Now()
	r := t.Routings[s.Steps]
	out := labels.Traveler{
		Address: address(t.set, s.Part, 1), Mark: string(s.Part), Name: parts.PieceName(l, s), Size: SizeText(l, t.set.Style()),
		Job:  t.Job.Name + ", as it stood on " + now.In(t.set.Location()).Format(onPaper),
		Note: l.Notes, Strip: parts.StripOf(r, s, now), Parts: t.insides(s), Steps: t.steps(r, s),
	}
	if s.Held != "" {
		out.Note = strings.TrimSpace("HELD: " + s.Held + ". " + l.Notes)
	}
	for _, st := range r.Steps[min(s.Next, len(r.Steps)):] {
		if st.Coat != "" {
			out.Caution = labels.CautionFor(labels.BoothPlacard)
		}
	}
	return out
}

// steps are those of an assembly: what lies behind with when and who, then the
// repair and what is still to be signed.
func (t travelSheets) steps(r parts.Routing, s parts.State) []labels.TicketStep {
	return append(t.words.behind(r, s, fully), t.coming(r, s)...)
}

// coming are the steps that are still to be signed, waits with how long they
// take, and before them the clocks that run already.
func (t travelSheets) coming(r parts.Routing, s parts.State) []labels.TicketStep {
	ahead := append([]parts.Step(nil), s.Repair[min(s.Mend, len(s.Repair)):]...)
	if s.Next < len(r.Steps) {
		ahead = append(ahead, r.Steps[s.Next:]...)
	}
	out := t.running(s)
	for _, st := range ahead {
		step := t.words.step(st)
		if st.Wait() {
			step.Name += ", " + minutesText(st.Minutes)
		}
		out = append(out, step)
	}
	return out
}

// running are the clocks that run, with when they are over: on paper nobody is
// told that it is too early.
func (t travelSheets) running(s parts.State) []labels.TicketStep {
	var out []labels.TicketStep
	for _, w := range s.Waits {
		if !t.bench.Now().Before(w.Ends()) {
			continue
		}
		name := fmt.Sprintf("%s until %s", w.Clock, w.Ends().In(t.set.Location()).Format(onPaper))
		if w.Still() {
			name = fmt.Sprintf("%s: too cold, it stands still", w.Clock)
		}
		if closes := s.Recoat(t.Routings[s.Steps], w); !closes.IsZero() {
			name += ", next coat by " + closes.In(t.set.Location()).Format(onPaper)
		}
		out = append(out, labels.TicketStep{Name: name})
	}
	return out
}

// insides are the parts of an assembly: those bound to it, or before its dry
// fit the lines it takes, with their tickets.
func (t travelSheets) insides(s parts.State) []labels.TravelerPart {
	var out []labels.TravelerPart
	for _, in := range t.States {
		if in.In == s.Part && !in.Scrapped {
			p := t.part(t.LineOf(in))
			p.Mark, p.Name = string(in.Part), parts.PieceName(t.LineOf(in), in)
			out = append(out, p)
		}
	}
	if len(s.Parts) > 0 {
		return out
	}
	for _, l := range t.Lines {
		if l.Into == s.Line {
			out = append(out, t.toCome(l))
		}
	}
	return out
}

// toCome is what a traveler shows of a line before the dry fit: how far its
// pieces are, and the steps of those that would go in, the furthest ones.
func (t travelSheets) toCome(l parts.Line) labels.TravelerPart {
	p := t.part(l)
	p.Mark, p.Name, p.Count = string(l.Ticket), fmt.Sprintf("%d × %s", l.Each, l.Name), l.Each
	free := t.furthestFirst(l)
	if len(free) == 0 {
		return p
	}
	p.There = t.howFar(free)
	last := free[min(max(1, l.Each), len(free))-1]
	r := t.Routings[last.Steps]
	p.Steps = append(t.words.behind(r, last, shortly), t.coming(r, last)...)
	return p
}

// furthestFirst are the pieces of a line that may still go into an assembly,
// those that are ready first and those that stand still last.
func (t travelSheets) furthestFirst(l parts.Line) []parts.State {
	var out []parts.State
	for _, s := range t.States {
		if s.Line == l.ID && !s.Kind.Counts() && !s.Scrapped && !s.Spare && s.In == "" && s.Delivered.IsZero() {
			out = append(out, s)
		}
	}
	stopped := func(s parts.State) int {
		if s.Held != "" || s.Doubt != "" {
			return 1
		}
		return 0
	}
	slices.SortStableFunc(out, func(a, b parts.State) int {
		return cmp.Or(stopped(a)-stopped(b), cmp.Compare(b.Next, a.Next), (len(a.Repair)-a.Mend)-(len(b.Repair)-b.Mend))
	})
	return out
}

// howFar counts pieces by where they stand: "5 ready, 1 at the crosscut saw
// (rough length)".
func (t travelSheets) howFar(pieces []parts.State) string {
	var order []string
	count := map[string]int{}
	for _, s := range pieces {
		at := StateOf(s, t.bench.Now())
		if next := nextOf(t.Routings[s.Steps], s); at == "ready" && next != nil {
			at = fmt.Sprintf("%s (%s)", t.Stations[next.Station], next.Name)
		} else if at == "finished" {
			at = "ready"
		}
		if count[at] == 0 {
			order = append(order, at)
		}
		count[at]++
	}
	for i, at := range order {
		order[i] = fmt.Sprintf("%d %s", count[at], at)
	}
	return strings.Join(order, ", ")
}

// part is what a traveler shows of every part of a line.
func (t travelSheets) part(l parts.Line) labels.TravelerPart {
	return labels.TravelerPart{Size: SizeText(l, t.set.Style()), Material: l.Material, Hand: l.Hand, Sketch: t.sketch(l)}
}

// sketch is the picture of a line's parts with their holes, nil while a size is
// not known.
func (t travelSheets) sketch(l parts.Line) *labels.Sketch {
	if l.Kind != parts.Single || l.Length.ToSuit || l.Width.ToSuit || l.Length.Length == 0 || l.Width.Length == 0 {
		return nil
	}
	out := &labels.Sketch{Length: l.Length.Length, Width: l.Width.Length, Grain: l.Runs()}
	if !l.Thick.ToSuit {
		out.Thick = l.Thick.Length
	}
	p := t.patterns[l.Pattern]
	if l.Hand == parts.Right {
		p = bore.Mirror(p)
	}
	out.Holes = p.Holes
	return out
}

// minutesText is how long a wait lasts, for paper: "45 min", "1 h 30 min".
func minutesText(minutes int) string {
	switch h, m := minutes/60, minutes%60; {
	case h == 0:
		return fmt.Sprintf("%d min", m)
	case m == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %d min", h, m)
	}
}
