// Package drying says when glue and finish are ready for what comes next. It
// owns the products as the shop enters them from their data sheets, how fast
// they go in the air of the shop, the sum of that over its readings, and the
// forecast that follows, with its reasons. It owns no formula of the air:
// whoever makes a Gauge passes in the vapour pressure deficit (parts/air has
// it). It does not decide what may happen to a part.
package drying

import "benchtally/parts"

// Kind is what a product is.
type Kind string

// The kinds of product.
const (
	Glue   Kind = "glue"
	Stain  Kind = "stain"
	Sealer Kind = "sealer"
	Clear  Kind = "clear"
	Paint  Kind = "paint"
)

// Kinds lists every kind, in the order they are used.
var Kinds = []Kind{Glue, Stain, Sealer, Clear, Paint}

// Need is what somebody wants to do with a wet part, which says how dry it
// must be.
type Need string

// The needs, each with the time that a data sheet gives for it.
const (
	ClampsOff Need = "take the clamps off"
	Machine   Need = "machine it"
	Turn      Need = "turn it over"
	Recoat    Need = "coat it again"
	Sand      Need = "sand it"
	Stack     Need = "stack it"
	Wrap      Need = "wrap it"
	Cure      Need = "use it"
)

// needs are those of each kind in the order in which they come.
var gluedNeeds, coatedNeeds = []Need{ClampsOff, Machine, Sand, Cure}, []Need{Turn, Recoat, Sand, Stack, Wrap, Cure}

// Needs lists what may be asked of a kind of product.
func (k Kind) Needs() []Need {
	if k == Glue {
		return gluedNeeds
	}
	return coatedNeeds
}

// Clock is the wait that a need of this kind of product belongs to.
func (k Kind) Clock(n Need) parts.Clock {
	switch {
	case n == ClampsOff:
		return parts.Clamps
	case k == Glue:
		return parts.Setting
	}
	return parts.Drying
}

// Means says which kind of dry is meant, for those who know it as one word.
func (k Kind) Means(n Need) string {
	if k == Glue && n == Sand {
		return "The water of the glue has left the joint, which swelled beside it. Flushed sooner, it sinks later."
	}
	return means[n]
}

// means are the explanations that do not depend on the kind.
var means = map[Need]string{
	ClampsOff: "From then on the joint holds by itself. It must not be loaded or machined yet.",
	Machine:   "The joint takes the force of a machine.",
	Turn:      "Dry to the touch: it may lie on points on its coated side. Not dry enough to be stacked.",
	Recoat:    "The next coat does not lift this one.",
	Sand:      "Sanding makes dust and does not roll up or clog.",
	Stack:     "Dry through: pieces may lie on each other with spacers. More than dry to the touch.",
	Wrap:      "Dry through and hard: wrapping leaves no print.",
	Cure:      "As hard as it gets: it may be used and cleaned.",
}
