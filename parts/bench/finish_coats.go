package bench

import (
	"cmp"
	"slices"

	"benchtally/parts"
	"benchtally/parts/finish"
	"benchtally/parts/store"
)

// The ready-made reasons to overrule what is said of batches. A wait that is
// overruled with the same tap has a reason of its own.
const (
	GoOnReason  = "Go on with this batch"
	NoJarReason = "Tried where it does not show"
)

// pots gives what a decision about coats looks at.
type pots = func(store.Coats) (finish.Pots, error)

// coated is what laying coats adds to an answer.
type coated struct {
	batch  int64
	doubts []string
}

// coat is a coat among the events of a scan.
type coat struct {
	event int // its index
	state parts.State
	step  parts.Step
	sides []parts.Laid
}

// lay finds the coats of known mixes among the events of a scan, and says on
// each which batch it is of and how much of it that takes. Steps that name no
// mix are left as they are, and nothing is read for them.
func lay(v parts.View, scan parts.Scan, named int64, events []parts.Event, pots pots) (coated, error) {
	coats := coatsOf(v, events)
	if len(coats) == 0 {
		return coated{}, nil
	}
	want := store.Coats{At: scan.At}
	for _, c := range coats {
		want.Mixes = append(want.Mixes, c.step.Mix)
		want.Pieces = append(want.Pieces, c.state)
	}
	slices.Sort(want.Mixes)
	want.Mixes = slices.Compact(want.Mixes)
	p, err := pots(want)
	if err != nil {
		return coated{}, err
	}
	var out coated
	for _, key := range want.Mixes {
		for _, touchUp := range []bool{false, true} {
			group := slices.DeleteFunc(slices.Clone(coats), func(c coat) bool { return c.step.Mix != key || c.step.TouchUp != touchUp })
			if len(group) == 0 {
				continue
			}
			if err := layOne(v, scan, named, events, group, p, &out); err != nil {
				return coated{}, err
			}
		}
	}
	return out, nil
}

// coatsOf lists the coats of named mixes among the events.
func coatsOf(v parts.View, events []parts.Event) []coat {
	var out []coat
	for i, e := range events {
		if e.Kind != parts.Did && e.Kind != parts.Mended {
			continue
		}
		s := stateIn(v, e.Part)
		steps := v.Routing(s).Steps
		if e.Kind == parts.Mended {
			steps = s.Repair
		}
		if e.Step < 0 || e.Step >= len(steps) || steps[e.Step].Mix == "" {
			continue
		}
		c := coat{event: i, state: s, step: steps[e.Step]}
		for _, side := range finish.Sides(steps, e.Step) {
			if e.Kind == parts.Did {
				c.sides = append(c.sides, parts.Laid{Coat: c.step.Coat, N: side.N, Faces: side.Faces})
			}
		}
		if len(c.sides) == 0 { // of a repair or a touch-up
			c.sides = []parts.Laid{{Coat: c.step.Coat, Faces: c.step.Coats}}
		}
		out = append(out, c)
	}
	return out
}

// stateIn finds a piece of the view.
func stateIn(v parts.View, id parts.ID) parts.State {
	i := slices.IndexFunc(v.Group, func(s parts.State) bool { return s.Part == id })
	if i < 0 || v.Subject.Part == id {
		return v.Subject
	}
	return v.Group[i]
}

// layOne decides the batch of coats of one mix and writes it on their events.
func layOne(v parts.View, scan parts.Scan, named int64, events []parts.Event, coats []coat, p finish.Pots, out *coated) error {
	first := coats[0].step
	ask := finish.Coating{Mix: first.Mix, At: scan.At, Batch: named, TouchUp: first.TouchUp, Trying: true}
	overruled := ""
	for _, c := range coats {
		ask.Trying = ask.Trying && c.state.Test
		overruled = cmp.Or(overruled, events[c.event].Detail.Override)
		for _, side := range c.sides {
			ask.Pieces = append(ask.Pieces, finish.Coated{Part: c.state.Part, Name: v.Name(c.state), Coat: side.Coat, N: side.N, Faces: side.Faces})
		}
	}
	b, doubts, refused := finish.Lay(p, ask)
	goesOn := scan.Override && (overruled == "" || scan.Reason == GoOnReason || scan.Reason == NoJarReason)
	over := ""
	if refused != nil && mayGoOn(refused) && goesOn {
		ask.GoOn, over = true, cmp.Or(scan.Reason, GoOnReason)
		b, doubts, refused = finish.Lay(p, ask)
	}
	if refused != nil {
		return refused
	}
	for _, c := range coats {
		d := &events[c.event].Detail
		d.Override = cmp.Or(d.Override, over)
		if b.Number == 0 {
			continue
		}
		d.Batch, d.Laid = b.Number, c.sides
		for i := range d.Laid {
			d.Laid[i].Batch = b.Number
		}
		if area, known := p.Shop.Coating(p.Shop.Lines[c.state.Line], c.step); known && !first.TouchUp {
			d.Used = int64(finish.Takes(p.Mixes[first.Mix], area))
		}
	}
	out.batch = cmp.Or(out.batch, b.Number)
	for _, doubt := range doubts {
		out.doubts = append(out.doubts, doubt.Error())
	}
	return nil
}

// mayGoOn reports whether a person may overrule what is said of a batch.
func mayGoOn(p *parts.Problem) bool {
	return p.Code == finish.CodeBatchesDiffer || p.Code == finish.CodeNoJar
}

// giveBack says on the events of an undo which batch gets how much back. done
// are the traces that the events take back, in the same order.
func giveBack(events []parts.Event, done []parts.Trace) {
	for i := range events {
		for _, e := range done[i].Done {
			if e.Detail.Batch != 0 {
				events[i].Detail.Batch = e.Detail.Batch
				events[i].Detail.Used -= e.Detail.Used
			}
		}
	}
}
