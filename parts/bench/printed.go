package bench

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/store"
)

// Sheet is a print order with what is on it.
type Sheet struct {
	store.Order
	Job    parts.Job
	Labels []SheetLabel // in the order in which they were printed
}

// SheetLabel is one label of a sheet, or one ticket.
type SheetLabel struct {
	Mark  parts.ID
	Name  string
	Waits bool // it waits to be printed again
	Void  bool // its piece was scrapped
}

// Sheet gives a print order with the names of what is on it.
func (b *Bench) Sheet(ctx context.Context, id int64) (Sheet, error) {
	o, err := b.store.Order(ctx, id)
	if err != nil {
		return Sheet{}, err
	}
	out := Sheet{Order: o}
	if out.Job, err = b.store.JobByID(ctx, o.Job); err != nil {
		return out, err
	}
	job, err := b.Job(ctx, out.Job.Code)
	if err != nil {
		return out, err
	}
	for _, m := range o.Marks {
		if i := slices.IndexFunc(job.States, func(s parts.State) bool { return s.Part == m }); i >= 0 {
			s := job.States[i]
			out.Labels = append(out.Labels, SheetLabel{Mark: m, Name: parts.PieceName(job.LineOf(s), s), Waits: s.WantsLabel(), Void: s.Scrapped})
		}
	}
	return out, nil
}

// Spoil says that a printed sheet was spoiled, or only the labels of some marks
// that are on it: they wait to be printed again.
func (b *Bench) Spoil(ctx context.Context, id parts.CommandID, order int64, marks []string, by string) error {
	var some []parts.ID
	for _, m := range marks {
		mark, err := parts.ParseMark(m)
		if err != nil {
			return err
		}
		some = append(some, mark)
	}
	var asked any = order
	if len(some) > 0 {
		asked = struct {
			Order int64
			Marks []parts.ID
		}{order, some}
	}
	c, err := hashed(store.Command{ID: id, Kind: "spoil", By: by}, asked)
	if err != nil {
		return err
	}
	return b.store.Spoil(ctx, c, order, some)
}

// Paper is a format as it is offered for printing.
type Paper struct {
	Format
	Next   int  // the first free label of the sheet in use; 1 for a new one
	Chosen bool // it was printed on last, or is the shop's
}

// ordersBack is how many print orders are looked at for the sheets in use.
const ordersBack = 30

// Papers gives the formats with the first label that the last order left free
// on each. A sheet that was spoiled as a whole is thrown away, and what was
// never used begins with a new one.
func (b *Bench) Papers(ctx context.Context) ([]Paper, error) {
	all, err := b.Formats(ctx)
	if err != nil {
		return nil, err
	}
	set, err := b.store.Settings(ctx)
	if err != nil {
		return nil, err
	}
	orders, err := b.store.LabelOrders(ctx, ordersBack)
	if err != nil {
		return nil, err
	}
	next, last := map[string]int{}, ""
	for _, o := range orders { // the newest first
		key, free, err := nextFree(o)
		if err != nil {
			return nil, err
		}
		if _, seen := next[key]; !seen {
			next[key] = free
		}
		if last == "" {
			last = key
		}
	}
	if !slices.ContainsFunc(all, func(f Format) bool { return f.Key == last }) {
		last = set.Sheet
	}
	var out []Paper
	for _, f := range all {
		p := Paper{Format: f, Next: 1, Chosen: f.Key == last}
		if free := next[f.Key]; f.Kind == labels.OnSheet && free > 1 && free <= f.PerPage() {
			p.Next = free
		}
		out = append(out, p)
	}
	return out, nil
}

// nextFree is the format of an order and the first label that it left free on
// its last page.
func nextFree(o store.Order) (key string, free int, err error) {
	var c struct {
		Sheet  string
		First  int
		Format *struct{ Columns, Rows int }
		Labels []struct{}
	}
	if err := json.Unmarshal(o.Content, &c); err != nil {
		return "", 0, fmt.Errorf("read print order %d: %w", o.ID, err)
	}
	if o.Spoiled || c.Format == nil || c.Format.Columns*c.Format.Rows < 1 {
		return c.Sheet, 1, nil
	}
	return c.Sheet, (max(1, c.First)-1+len(c.Labels))%(c.Format.Columns*c.Format.Rows) + 1, nil
}
