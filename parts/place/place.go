// Package place says where a label may sit on a part at each stretch of its
// steps, and when the part needs a new one. It owns the rule, the fewest
// labels and the words for them. It does not own what a step does to a face,
// which is data of the step, and it queues and prints nothing.
//
// The rule. A label sits on a face that stays hidden and is large enough: the
// back, an edge or an end, never the show face. It lives there until the
// first step that cuts the face, bears on it, glues it or coats it. It is put
// on only when it outlives the step that comes next; until then the ticket of
// its line stands for the part, and it does so in any case until the part has
// its size and is no longer one piece of wood with others. A part that goes
// into an assembly keeps its back, while its edges and ends are glued there.
//
// From the first coat on that no face outlives, a tag goes with the part: it
// hangs on it or lies beside it, to the end. An assembly has its own label
// from its glue-up on, because its parts' labels are sanded away or glued in;
// where no face outlives the next step it has a tag at once. A piece that is
// smaller than its tag has its place on the rack instead, where the tag would
// touch wet finish. That a label outlives a step it does not touch, and that a
// tag may stay through sanding, is common practice, no source.
package place

import "benchtally/parts"

// Place is where the mark of a piece is read.
type Place string

// The places. Those on the wood are called like the face.
const (
	Ticket Place = "ticket" // none on the piece: the ticket of its line stands for it
	Back   Place = Place(parts.BackFace)
	Edges  Place = Place(parts.Edges)
	Ends   Place = Place(parts.Ends)
	Tag    Place = "tag"  // hangs on the piece or lies beside it
	Rack   Place = "rack" // the piece's place on the rack stands for it
)

// Size2D is how large a label is. It may sit turned by a quarter.
type Size2D struct{ W, H parts.Length }

// Stretch is a part of the steps during which the mark is read in one place:
// from after step From until step To is done. The steps have their indexes;
// From is -1 from the start, To is the number of steps when none ends it.
type Stretch struct {
	From, To int
	Place    Place
	Since    string // name of the step that begins it, "" for none
	Name     string // of the step that ends it; PutTogether for a part of an assembly, "" for none
	Prints   bool   // a label or tag is printed for it
}

// PutTogether ends the last stretch of a part that goes into an assembly.
const PutTogether = "put together"

// Plan is where the mark of a piece is read at every step, one stretch after
// the other, with the fewest labels: each sits where it lives longest.
//
// That is the least there can be, because a later start never needs more
// labels: where a face outlives two steps it may as well be begun at the
// second of them, and once a tag goes along it does so to the end.
func Plan(l parts.Line, r parts.Routing, label Size2D) []Stretch {
	c := onCourse(l, r, label)
	var plan []Stretch
	from := -1
	for slot := parts.NextWork(c.steps, 0); ; {
		place, until := c.choose(slot)
		to := min(until, c.end)
		if n := len(plan); n > 0 && place == Ticket && plan[n-1].Place == Ticket {
			plan[n-1].To = to
		} else {
			plan = append(plan, Stretch{From: from, To: to, Place: place, Since: c.stepAt(from), Prints: place != Ticket && place != Rack})
		}
		plan[len(plan)-1].Name = c.nameOf(to)
		if to == c.end {
			return plan
		}
		from, slot = to, parts.NextWork(c.steps, to+1)
	}
}

// choose is where a label that is put on before the step at slot sits, and
// the index of the step that ends it.
func (c course) choose(slot int) (Place, int) {
	if slot < c.own {
		return Ticket, slot
	}
	if slot >= c.tagged {
		return c.tag, c.end + 1
	}
	if face, until := c.longest(slot); until > slot {
		return Place(face), until
	}
	return Ticket, slot
}

// stepAt is the name of a step, "" before the first.
func (c course) stepAt(i int) string {
	if i < 0 {
		return ""
	}
	return c.steps[i].Name
}

// nameOf is the name of the step that ends a stretch.
func (c course) nameOf(step int) string {
	switch {
	case step < c.end:
		return c.steps[step].Name
	case c.into:
		return PutTogether
	}
	return ""
}
