package bench

import (
	"context"
	"slices"
	"strings"
	"time"
	"unicode"

	"benchtally/labels"
	"benchtally/parts"
)

// stepWords says on paper what became of the steps of a job's pieces.
type stepWords struct {
	stations map[parts.Station]string
	people   map[int64]string
	zone     *time.Location
}

// stepWords reads what the steps of a job are called on paper.
func (b *Bench) stepWords(ctx context.Context, job JobPieces, set parts.Settings) (stepWords, error) {
	people, err := b.store.People(ctx)
	return stepWords{stations: job.Stations, people: people, zone: set.Location()}, err
}

// step is a step as paper lists it, without what became of it.
func (w stepWords) step(st parts.Step) labels.TicketStep {
	return labels.TicketStep{Name: st.Name, Station: w.stations[st.Station]}
}

// past is the step that lies behind a piece, with what is said of it.
func (w stepWords) past(st parts.Step, p parts.Past, said func(name string, at time.Time) string) labels.TicketStep {
	out := w.step(st)
	switch {
	case p.How == parts.WasSkipped:
		out.Done, out.Unsaid = "left out", true
	case p.At.IsZero():
		out.Unsaid = true
	default:
		out.Done = said(w.people[p.By], p.At.In(w.zone))
	}
	return out
}

// behind lists the steps of work that lie behind a piece.
func (w stepWords) behind(r parts.Routing, s parts.State, said func(name string, at time.Time) string) []labels.TicketStep {
	var out []labels.TicketStep
	for i, st := range r.Steps[:min(len(r.Steps), len(s.Past))] {
		if !st.Wait() {
			out = append(out, w.past(st, s.Past[i], said))
		}
	}
	return out
}

// all lists every step of a piece in order, waits too, for a slip.
func (w stepWords) all(r parts.Routing, s parts.State) []labels.TicketStep {
	var out []labels.TicketStep
	for i, st := range r.Steps {
		if i < len(s.Past) && !st.Wait() {
			out = append(out, w.past(st, s.Past[i], shortly))
			continue
		}
		out = append(out, w.step(st))
	}
	return out
}

// shortly is who and when where there is little room: "RO 2 Mar 07:00".
func shortly(name string, at time.Time) string {
	return strings.TrimSpace(initials(name) + " " + at.Format("2 Jan 15:04"))
}

// fully is who and when where there is room: "2 Mar 2026 07:00, Rosa".
func fully(name string, at time.Time) string {
	if name == "" {
		return at.Format(onPaper)
	}
	return at.Format(onPaper) + ", " + name
}

// initials are the first letters of a name, the first two of a single word.
func initials(name string) string {
	words := strings.FieldsFunc(name, func(r rune) bool { return unicode.IsSpace(r) || r == '-' })
	if len(words) == 1 {
		return strings.ToUpper(string([]rune(words[0])[:min(2, len([]rune(words[0])))]))
	}
	out := ""
	for _, word := range words[:min(3, len(words))] {
		out += strings.ToUpper(string([]rune(word)[:1]))
	}
	return out
}

// furthestBehind is the part of a line that has most still to do: its steps are
// those that somebody may have to sign.
func (j JobPieces) furthestBehind(l parts.Line) (parts.State, bool) {
	var behind []parts.State
	for _, s := range j.States {
		if s.Line == l.ID && !s.Kind.Counts() && !s.Scrapped && !s.Spare && s.In == "" {
			behind = append(behind, s)
		}
	}
	if len(behind) == 0 {
		return parts.State{}, false
	}
	return slices.MinFunc(behind, func(a, b parts.State) int { return a.Next - b.Next }), true
}
