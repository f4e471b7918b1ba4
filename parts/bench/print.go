package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/store"
)

// PrintRequest asks for a print order.
type PrintRequest struct {
	ID    parts.CommandID `json:"-"`
	Job   string          `json:"job"`
	What  string          `json:"what"`            // "labels" or "tickets"
	Marks []string        `json:"marks,omitempty"` // only these; empty for all of the job
	Due   bool            `json:"due,omitempty"`   // only labels that wait to be printed
	Sheet string          `json:"sheet,omitempty"` // "" for the shop's
	First int             `json:"first,omitempty"` // first free label of a used sheet, from 1
	Again bool            `json:"again,omitempty"` // new copies, even when the same sheet was printed before
	By    string          `json:"by,omitempty"`
}

// printed is the content of a print order: everything its PDF is drawn from.
type printed struct {
	What    string          `json:"what"`
	Sheet   string          `json:"sheet,omitempty"`
	Paper   string          `json:"paper,omitempty"`
	First   int             `json:"first,omitempty"`
	Labels  []labels.Label  `json:"labels,omitempty"`
	Tickets []labels.Ticket `json:"tickets,omitempty"`
}

// Print makes a print order, or gives the one that was made for the same
// labels before.
func (b *Bench) Print(ctx context.Context, r PrintRequest) (store.Order, error) {
	set, err := b.store.Settings(ctx)
	if err != nil {
		return store.Order{}, err
	}
	if set.Address == "" {
		return store.Order{}, parts.Problemf(parts.Refused, "address-unknown", "The address of this server is not set, and the codes on labels need it.").
			Next("Set it on the settings page, or start the server once.")
	}
	job, err := b.Job(ctx, r.Job)
	if err != nil {
		return store.Order{}, err
	}
	states, err := b.chosen(job, r)
	if err != nil {
		return store.Order{}, err
	}
	content := printed{What: r.What, Sheet: r.Sheet, Paper: set.Paper, First: max(1, r.First)}
	if content.Sheet == "" {
		content.Sheet = set.Sheet
	}
	sheet, err := labels.SheetByKey(content.Sheet)
	if err != nil {
		return store.Order{}, err
	}
	if r.Sheet != "" {
		content.Paper = sheet.Paper() // tickets come on the paper of the labels
	}
	if r.What == "tickets" {
		content.Sheet, content.First = "", 0
	} else if content.First > sheet.PerPage() {
		return store.Order{}, parts.Problemf(parts.Invalid, "first-out", "A sheet has no label %d.", content.First).
			Next("Give the first free label, 1 to %d.", sheet.PerPage())
	}
	return b.order(ctx, r, content, job, states, set)
}

func (b *Bench) order(ctx context.Context, r PrintRequest, content printed, job JobPieces, states []parts.State, set parts.Settings) (store.Order, error) {
	compose := func(copies store.Copies) (json.RawMessage, error) {
		c := content
		c.Labels, c.Tickets = nil, nil
		for _, s := range states {
			if r.What == "tickets" {
				c.Tickets = append(c.Tickets, job.ticket(s, set))
			} else {
				c.Labels = append(c.Labels, job.label(s, copies[s.Part], set, b.Now()))
			}
		}
		return json.Marshal(c)
	}
	key, err := compose(nil)
	if err != nil {
		return store.Order{}, fmt.Errorf("compose a print order: %w", err)
	}
	var marks []parts.ID
	for _, s := range states {
		marks = append(marks, s.Part)
	}
	c, err := hashed(store.Command{ID: r.ID, Kind: "print", By: r.By}, r)
	if err != nil {
		return store.Order{}, err
	}
	return b.store.Print(ctx, c, store.Order{Job: job.Job.ID, What: r.What}, key, marks, r.Again, compose)
}

// chosen gives the pieces that a request prints.
func (b *Bench) chosen(job JobPieces, r PrintRequest) ([]parts.State, error) {
	if r.What != "labels" && r.What != "tickets" {
		return nil, parts.Problemf(parts.Invalid, "print-what", "%q cannot be printed.", r.What).Next("Print labels or tickets.")
	}
	wanted := map[parts.ID]bool{}
	for _, m := range r.Marks {
		id, err := parts.ParseMark(m)
		if err != nil {
			return nil, err
		}
		wanted[id] = true
	}
	var out []parts.State
	for _, s := range job.States {
		if (s.Kind == parts.Ticket) != (r.What == "tickets") || s.Scrapped {
			continue
		}
		if (len(wanted) == 0 || wanted[s.Part]) && (!r.Due || s.LabelDue) {
			out = append(out, s)
		}
	}
	if len(out) == 0 {
		return nil, parts.Problemf(parts.Refused, "print-nothing", "There is nothing of that kind to print in %s.", job.Job.Name).
			Next("Look at the job's page for what it has.")
	}
	return out, nil
}

// label is what one label shows.
func (j JobPieces) label(s parts.State, copyNumber int, set parts.Settings, now time.Time) labels.Label {
	l := j.LineOf(s)
	out := labels.Label{
		Address: address(set, s.Part, copyNumber), Mark: string(s.Part), Name: parts.PieceName(l, s), Size: SizeText(l, set.Style()),
		Material: l.Material, Assembly: j.intoName(l), Job: j.Job.Name, Copy: copyNumber,
		Strip: parts.StripOf(j.Routings[s.Steps], s, now),
	}
	out.Note = l.Notes
	if s.Replaces != "" {
		out.Note = "in place of " + string(s.Replaces)
	}
	return out
}

// ticket is what one ticket shows.
func (j JobPieces) ticket(s parts.State, set parts.Settings) labels.Ticket {
	l := j.LineOf(s)
	r := j.Routings[j.StepsOf(l)]
	out := labels.Ticket{
		Address: address(set, s.Part, 1), Mark: string(s.Part), Name: l.Name, Size: SizeText(l, set.Style()), Material: l.Material,
		Assembly: j.intoName(l), Job: j.Job.Name, Note: l.Notes, Count: l.Quantity, Spares: l.Spares, Strip: parts.StripOf(r, parts.State{}, time.Time{}),
	}
	for _, st := range r.Steps {
		out.Steps = append(out.Steps, labels.TicketStep{Name: st.Name, Station: j.Stations[st.Station]})
	}
	return out
}

// intoName is the name of what a line goes into.
func (j JobPieces) intoName(l parts.Line) string {
	i := slices.IndexFunc(j.Lines, func(o parts.Line) bool { return o.ID == l.Into })
	if i < 0 {
		return ""
	}
	return j.Lines[i].Name
}

// address is the complete text of a code: from the second copy on it says
// which copy it is.
func address(set parts.Settings, id parts.ID, copyNumber int) string {
	if copyNumber > 1 {
		return fmt.Sprintf("%s/P/%d/%s", set.Address, copyNumber, id)
	}
	return set.Address + "/P/" + string(id)
}

// SizeText is the finished size of a line as the shop writes it.
func SizeText(l parts.Line, st parts.Style) string {
	text := ""
	for _, s := range []parts.Size{l.Length, l.Width, l.Thick} {
		if s == (parts.Size{}) {
			continue
		}
		if text != "" {
			text += " × "
		}
		text += s.Format(st)
	}
	return text
}

// WriteOrder draws the PDF of a print order.
func (b *Bench) WriteOrder(ctx context.Context, w io.Writer, id int64) error {
	o, err := b.store.Order(ctx, id)
	if err != nil {
		return err
	}
	var c printed
	if err := json.Unmarshal(o.Content, &c); err != nil {
		return fmt.Errorf("read print order %d: %w", id, err)
	}
	if c.What == "tickets" {
		return labels.WriteTickets(w, c.Paper, c.Tickets)
	}
	sheet, err := labels.SheetByKey(c.Sheet)
	if err != nil {
		return err
	}
	return labels.WriteLabels(w, sheet, c.First, c.Labels)
}

// WritePlacards draws the placards of the shop's stations; key chooses one.
func (b *Bench) WritePlacards(ctx context.Context, w io.Writer, key parts.Station) error {
	set, err := b.store.Settings(ctx)
	if err != nil {
		return err
	}
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return err
	}
	var placards []labels.Placard
	for _, st := range stations {
		if key == "" || st.Key == key {
			placards = append(placards, labels.Placard{
				Address: set.Address + "/S/" + strings.ToUpper(string(st.Key)), Title: capital(st.Name),
				Lead: "Scan this once: the phone then works for this place. After that, scan a ticket or a part and tap once.", Caution: st.Caution,
			})
		}
	}
	return labels.WritePlacards(w, set.Paper, placards)
}

// Spoil says that a printed sheet was spoiled.
func (b *Bench) Spoil(ctx context.Context, id parts.CommandID, order int64, by string) error {
	c, err := hashed(store.Command{ID: id, Kind: "spoil", By: by}, order)
	if err != nil {
		return err
	}
	return b.store.Spoil(ctx, c, order)
}

// capital writes the first letter as a capital.
func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}
