package bench

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
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
	Sheet string          `json:"sheet,omitempty"` // key of any format; "" for the shop's

	Line    int64         `json:"line,omitempty"`    // only of this line; of an assembly's what goes into it, too
	Station parts.Station `json:"station,omitempty"` // only what has its next step there
	Remade  bool          `json:"remade,omitempty"`  // only what took the place of another since yesterday

	First int    `json:"first,omitempty"` // first free label of a used sheet, from 1
	Again bool   `json:"again,omitempty"` // new copies, even when the same sheet was printed before
	By    string `json:"by,omitempty"`
}

// printed is the content of a print order: everything its PDF is drawn from.
// The format is in it, so that an old order stays as it is when the shop
// changes a format or sets its printer right. Orders of before have its key
// alone, that of a ready-made one.
type printed struct {
	What    string          `json:"what"`
	Sheet   string          `json:"sheet,omitempty"`
	Format  *labels.Format  `json:"format,omitempty"`
	Adjust  labels.Adjust   `json:"adjust,omitzero"`
	Paper   string          `json:"paper,omitempty"`
	First   int             `json:"first,omitempty"`
	Labels  []labels.Label  `json:"labels,omitempty"`
	Tickets []labels.Ticket `json:"tickets,omitempty"`
}

// Print makes a print order, or gives the one that was made for the same
// labels before.
func (b *Bench) Print(ctx context.Context, r PrintRequest) (store.Order, error) {
	set, err := b.printSettings(ctx)
	if err != nil {
		return store.Order{}, err
	}
	job, err := b.jobToPrint(ctx, r)
	if err != nil {
		return store.Order{}, err
	}
	content, err := b.paperFor(ctx, r, set)
	if err != nil {
		return store.Order{}, err
	}
	draw, err := b.draftOf(ctx, job, set, content.Format)
	if err != nil {
		return store.Order{}, err
	}
	// The same request again has printed what waited: it gets its order, not
	// that nothing waits.
	_, _, repeated, err := b.store.Answered(ctx, r.ID)
	if err != nil {
		return store.Order{}, err
	}
	var states []parts.State
	if !repeated {
		if states, err = b.chosen(ctx, job, r, set); err != nil {
			return store.Order{}, err
		}
		// The label with the longest address stands for all.
		longest := slices.MaxFunc(states, func(a, b parts.State) int { return cmp.Compare(a.Copies, b.Copies) })
		if err := draw.try(r.What, longest); err != nil {
			return store.Order{}, err
		}
	}
	if r.What == "tickets" {
		content.Format = nil
	}
	return b.order(ctx, r, content, draw, states)
}

// printSettings are the settings once the codes have an address to hold.
func (b *Bench) printSettings(ctx context.Context) (parts.Settings, error) {
	set, err := b.store.Settings(ctx)
	if err == nil && set.Address == "" {
		err = parts.Problemf(parts.Refused, "address-unknown", "The address of this server is not set, and the codes on labels need it.").
			Next("Set it on the settings page, or start the server once.")
	}
	return set, err
}

// paperFor is what the request is printed on.
func (b *Bench) paperFor(ctx context.Context, r PrintRequest, set parts.Settings) (printed, error) {
	content := printed{What: r.What, Sheet: cmp.Or(r.Sheet, set.Sheet), Paper: set.Paper, First: max(1, r.First)}
	format, err := b.Format(ctx, content.Sheet)
	if err != nil {
		return content, err
	}
	content.Format = &format.Format
	if r.Sheet != "" {
		content.Paper = cmp.Or(format.Paper(), set.Paper) // tickets come on the paper of the labels
	}
	switch {
	case r.What == "tickets":
		content.Sheet, content.First = "", 0
	case content.First > format.PerPage():
		return content, parts.Problemf(parts.Invalid, "first-out", "A sheet has no label %d.", content.First).
			Next("Give the first free label, 1 to %d.", format.PerPage())
	default:
		content.Adjust = format.Adjust
	}
	return content, nil
}

func (b *Bench) order(ctx context.Context, r PrintRequest, content printed, draw draft, states []parts.State) (store.Order, error) {
	compose := func(copies store.Copies) (json.RawMessage, error) {
		c := content
		c.Labels, c.Tickets = nil, nil
		for _, s := range states {
			if r.What == "tickets" {
				c.Tickets = append(c.Tickets, draw.ticket(s))
			} else {
				c.Labels = append(c.Labels, draw.label(s, copies[s.Part]))
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
	return b.store.Print(ctx, c, store.Order{Job: draw.job.Job.ID, What: r.What}, key, marks, r.Again, compose)
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
	if c.Format == nil {
		format, err := labels.FormatByKey(c.Sheet)
		if err != nil {
			return err
		}
		c.Format = &format
	}
	return labels.WriteLabelsFor(w, *c.Format, c.Adjust, c.First, c.Labels)
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

// capital writes the first letter as a capital.
func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}
