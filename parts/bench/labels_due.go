package bench

import (
	"context"
	"sync"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/place"
)

// labelSize is how large a label of the shop's sheet is. It is kept in memory
// until the settings or the formats change: every scan asks for it.
func (b *Bench) labelSize(ctx context.Context) (place.Size2D, error) {
	b.mu.RLock()
	known := b.label
	b.mu.RUnlock()
	if known != (place.Size2D{}) {
		return known, nil
	}
	began := b.editionNow()
	set, err := b.store.Settings(ctx)
	if err != nil {
		return place.Size2D{}, err
	}
	format, err := b.Format(ctx, set.Sheet)
	if err != nil {
		return place.Size2D{}, err
	}
	known = sizeOf(format.Format)
	b.keep(began, func() { b.label = known })
	return known, nil
}

// sizeOf is how large a label of a format is.
func sizeOf(f labels.Format) place.Size2D { return place.Size2D{W: f.LabelW, H: f.LabelH} }

// seats gives the plan of a piece of a view: where its label sits at each step.
type seats func(v parts.View, s parts.State) []place.Stretch

// seats gives plans for a label of the shop's size.
func (b *Bench) seats(ctx context.Context) (seats, error) {
	label, err := b.labelSize(ctx)
	return func(v parts.View, s parts.State) []place.Stretch {
		return b.plans.plan(v.Lines[s.Line], v.Routing(s), label)
	}, err
}

// mostPlans bounds the plans in memory.
const mostPlans = 10_000

// planBook remembers plans: a scan mostly needs the one that the scans before
// it on its line needed. None grows old, because lines and versions of steps
// never change.
type planBook struct {
	mu    sync.RWMutex
	plans map[planKey][]place.Stretch
}

type planKey struct {
	line, steps int64
	label       place.Size2D
}

func (p *planBook) plan(l parts.Line, r parts.Routing, label place.Size2D) []place.Stretch {
	key := planKey{l.ID, r.ID, label}
	p.mu.RLock()
	plan, known := p.plans[key]
	p.mu.RUnlock()
	if known {
		return plan
	}
	plan = place.Plan(l, r, label)
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.plans == nil || len(p.plans) >= mostPlans {
		p.plans = map[planKey][]place.Stretch{}
	}
	p.plans[key] = plan
	return plan
}

// withLabels adds to what a command did to a view's pieces that a label waits:
// their first one, or one in place of what the step has destroyed.
func withLabels(v parts.View, sits seats, events []parts.Event) []parts.Event {
	if len(events) == 1 && events[0].Kind == parts.Did && events[0].Part == v.Subject.Part &&
		!place.Due(sits(v, v.Subject), v.Subject.Next, events[0].Detail.Next) {
		return events // most scans
	}
	return addLabels(v, sits, events)
}

func addLabels(v parts.View, sits seats, events []parts.Event) []parts.Event {
	type piece struct {
		was, now *parts.State
		last     *parts.Event
	}
	at := make(map[parts.ID]int, len(v.Group)+1)
	pieces := make([]piece, 0, len(v.Group)+1)
	add := func(s *parts.State) {
		at[s.Part] = len(pieces)
		pieces = append(pieces, piece{was: s, now: s})
	}
	add(&v.Subject)
	for i := range v.Group {
		add(&v.Group[i])
	}
	var order []int
	for k := range events {
		e := &events[k]
		i, known := at[e.Part]
		if !known { // listed just now: its label waits where it is made
			continue
		}
		p := &pieces[i]
		if p.last == nil {
			order = append(order, i)
		}
		now := parts.Apply(*p.now, *e)
		p.now, p.last = &now, e
	}
	for _, i := range order {
		was, s, e := pieces[i].was, pieces[i].now, pieces[i].last
		if s.Kind.Counts() || s.Scrapped || s.In != "" || s.LabelDue || !wantsLabel(v, sits, *was, *s, *e) {
			continue
		}
		events = append(events, parts.Event{Part: s.Part, Kind: parts.LabelWaits, Station: e.Station, By: e.By, At: e.At, Step: -1})
	}
	return events
}

// wantsLabel reports whether a piece needs a label by what was done to it. One
// that was printed ahead of the first place lies ready for it.
func wantsLabel(v parts.View, sits seats, was, s parts.State, e parts.Event) bool {
	plan := sits(v, s)
	if e.Kind == parts.Did && s.Next == was.Next {
		return false // nothing was done but waiting
	}
	switch e.Kind {
	case parts.Mended:
		return e.Step < len(was.Repair) && place.Now(plan, s.Next).Spoils(was.Repair[e.Step])
	case parts.Did, parts.Skipped:
		ahead := s.Copies > 0 && place.Labels(plan, was.Next) == 0
		return place.Due(plan, was.Next, s.Next) && !ahead
	}
	return false
}

// movedTo says where the label of a piece sits from now on, when what was done
// to it changes that.
func movedTo(v parts.View, sits seats, e parts.Event, s parts.State) place.Words {
	if e.Kind != parts.Did && e.Kind != parts.Skipped || s.Kind.Counts() || s.In != "" {
		return nil
	}
	was := v.Subject
	for _, o := range v.Group {
		if o.Part == s.Part {
			was = o
		}
	}
	plan := sits(v, s)
	if now := place.Now(plan, s.Next); now == place.Now(plan, was.Next) || !now.Prints {
		return nil
	}
	return labelWords(plan, s)
}
