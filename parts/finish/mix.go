// Package finish works out what a coat needs: mixes and their exact shares,
// how much of one, dosed in whole marks of a measure, split into batches that
// can be used within their pot life, and which batch may go on what. It owns
// the arithmetic and the limits of a mix, a batch and a colour group. It does
// not own when a coat is dry, and it saves nothing.
package finish

import (
	"math/big"
	"strings"
	"time"
)

// Mix is a finish made of components in given shares, by volume. It is kept as
// a person wrote it; Check says whether it makes sense.
type Mix struct {
	Key        string      `json:"key"`  // never changes: "oak-brown"
	Name       string      `json:"name"` // as people say it: "Oak brown, three to one"
	Coat       string      `json:"coat"` // the coat of a step that it is for: "stain"
	Components []Component `json:"components"`
	Additives  []Additive  `json:"additives,omitempty"`
	// Thinner is added on top of the components. Its Percent is of them all
	// together, zero for none, and its Of is not read.
	Thinner Additive `json:"thinner,omitzero"`
	// PotLife is how many minutes it can be used for once mixed; 0 for as
	// long as its components. It makes the mix a two-part one.
	PotLife  int     `json:"pot_life_minutes,omitempty"`
	Method   Method  `json:"method"`
	Loss     Decimal `json:"loss_percent,omitempty"`    // of it never reaches the wood
	Coverage Decimal `json:"coverage,omitempty"`        // square metres to the litre in one coat, see Rate
	Solids   Decimal `json:"solids_percent,omitempty"`  // by volume, not thinned; 0 when not given
	Reserve  Decimal `json:"reserve_percent,omitempty"` // mixed on top of what is needed
	PerHour  Volume  `json:"per_hour,omitempty"`        // that one person puts on; 0 when nobody knows
	Solvent  bool    `json:"solvent,omitempty"`         // its vapour can burn
	Oily     bool    `json:"oily,omitempty"`            // rags with it can heat up by themselves
	// Approved says who chose the colour; nil until someone did.
	Approved *Approval `json:"approved,omitempty"`
}

// Component is one of what a mix is made of. The first is the base.
type Component struct {
	Name     string  `json:"name"`
	Parts    Decimal `json:"parts"`
	Density  Decimal `json:"density,omitempty"` // grams to the millilitre; 0 when not known
	Colour   bool    `json:"colour,omitempty"`  // it carries the colour
	NeedsLot bool    `json:"needs_lot,omitempty"`
}

// Additive is something that is put into a mix in percent of what it says.
type Additive struct {
	Name    string  `json:"name"`
	Percent Decimal `json:"percent"`
	Of      Share   `json:"of"`
	Most    Decimal `json:"most_percent,omitempty"` // that its data sheet allows, of the same; 0 when not given
	Density Decimal `json:"density,omitempty"`
	Colour  bool    `json:"colour,omitempty"`
}

// Share says what the percentage of an additive is counted of. It comes on
// top, as data sheets mean it: 15 % of 100 ml makes 115 ml.
type Share string

// What a percentage may be of.
const (
	OfWhole Share = "whole" // all components together, before additives and thinner
	OfBase  Share = "base"  // the first component alone
)

// Method is how a coat is put on.
type Method string

// The methods.
const (
	Brush Method = "brush"
	Wipe  Method = "wipe"
	Spray Method = "spray"
)

// Methods lists every method.
var Methods = []Method{Brush, Wipe, Spray}

// UsualLoss is the part of a finish, in percent, that never reaches the wood,
// until the shop has measured its own. Trade pages have anything from 5 to
// 95 % of what is sprayed reach the work, so half is a guess; that little
// stays in a brush or a rag is common practice, no source.
func UsualLoss(by Method) Decimal {
	switch by {
	case Spray:
		return 50 * One
	case Wipe:
		return 10 * One
	}
	return 5 * One
}

// For reports whether the mix is for a coat, as a step calls it.
func (m Mix) For(coat string) bool { return strings.EqualFold(strings.TrimSpace(coat), m.Coat) }

// TwoPart reports whether the mix sets in its pot.
func (m Mix) TwoPart() bool { return m.PotLife > 0 }

// Lasts is how long the mix can be used once it is mixed; 0 for no limit.
func (m Mix) Lasts() time.Duration { return time.Duration(m.PotLife) * time.Minute }

// Colours reports whether the mix gives colour.
func (m Mix) Colours() bool {
	for _, in := range m.Ingredients() {
		if in.Colour {
			return true
		}
	}
	return false
}

// Role says what an ingredient is in its mix.
type Role string

// The roles.
const (
	AsComponent Role = "component"
	AsAdditive  Role = "additive"
	AsThinner   Role = "thinner"
)

// Ingredient is anything that is dosed into a mix. Its weight among the
// weights of the others is its share by volume, exactly.
type Ingredient struct {
	Name    string
	Role    Role
	Colour  bool
	Density Decimal
	weight  *big.Rat
	most    *big.Rat // the weight that its data sheet allows; nil for no limit
	of      Share    // what an additive is counted of
}

// Ingredients lists the components, the additives and the thinner of a mix.
func (m Mix) Ingredients() []Ingredient {
	var out []Ingredient
	whole, base := new(big.Rat), new(big.Rat)
	for i, c := range m.Components {
		if i == 0 {
			base = c.Parts.rat()
		}
		whole.Add(whole, c.Parts.rat())
		out = append(out, Ingredient{Name: c.Name, Role: AsComponent, Colour: c.Colour, Density: c.Density, weight: c.Parts.rat()})
	}
	add := func(a Additive, role Role, of *big.Rat) {
		in := Ingredient{Name: a.Name, Role: role, Colour: a.Colour, Density: a.Density, weight: a.Percent.percentOf(of), of: a.Of}
		if a.Most > 0 {
			in.most = a.Most.percentOf(of)
		}
		out = append(out, in)
	}
	for _, a := range m.Additives {
		if a.Of == OfBase {
			add(a, AsAdditive, base)
		} else {
			add(a, AsAdditive, whole)
		}
	}
	if m.Thinner.Percent != 0 {
		add(m.Thinner, AsThinner, whole)
	}
	return out
}

// shares gives the share of each ingredient in the whole batch, by volume.
func shares(all []Ingredient) []*big.Rat {
	sum := weightOf(all)
	out := make([]*big.Rat, len(all))
	for i, in := range all {
		out[i] = new(big.Rat).Quo(in.weight, sum)
	}
	return out
}

// Recipe writes the shares of a mix in one way only, so that the same colour
// has the same text: "Stain base 3 : Oak brown 1; 15 % Flow additive of the whole".
func (m Mix) Recipe() string {
	var b strings.Builder
	for i, n := range ratio(m.Components) {
		if i > 0 {
			b.WriteString(" : ")
		}
		b.WriteString(m.Components[i].Name + " " + n.String())
	}
	for _, a := range m.Additives {
		b.WriteString("; " + a.Percent.String() + " % " + a.Name + " of the " + string(a.Of))
	}
	if m.Thinner.Percent != 0 {
		b.WriteString("; " + m.Thinner.Percent.String() + " % " + m.Thinner.Name + " of the " + string(OfWhole))
	}
	return b.String()
}

// ratio gives the parts of the components as the smallest whole numbers.
func ratio(components []Component) []*big.Int {
	out := make([]*big.Int, len(components))
	common := new(big.Int)
	for i, c := range components {
		out[i] = big.NewInt(int64(c.Parts))
		common.GCD(nil, nil, common, out[i])
	}
	if common.Sign() == 0 {
		return out
	}
	for _, n := range out {
		n.Quo(n, common)
	}
	return out
}
