package finish

import (
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Can is what is left of an ingredient on the shelf.
type Can struct {
	Container
	Left Volume `json:"left"`
}

// Supply is what a job still takes of one ingredient.
type Supply struct {
	Name   string
	Needed Volume // to be mixed with
	Have   Volume // on the shelf, and within its date
	Buy    Volume // what is missing
	Old    bool   // some of what is there is past its date, or long open
}

// Past reports whether a can is past its date. Then nothing is planned with
// it, though a person may still try it.
func (c Can) Past(now time.Time) bool { return !c.Expires.IsZero() && !now.Before(c.Expires) }

// Supplies says what finishing takes: what the open batches still give, and
// of each ingredient what is needed for the rest, what is there and what to
// buy. Two-part batches give nothing: they set before anyone gets to it.
func Supplies(m Mix, need Volume, batches []Batch, shelf []Can, now time.Time) (mixed Volume, list []Supply, p *parts.Problem) {
	if p := Check(m); p != nil {
		return 0, nil, p
	}
	for _, b := range batches {
		if b.Mix == m.Key && b.Recipe == m.Recipe() && !m.TwoPart() && Usable(b, now) == nil {
			mixed += b.Left
		}
	}
	// No more is taken from the batches than the job takes.
	need = max(need, 0)
	mixed = min(mixed, need)
	all := m.Ingredients()
	for i, share := range shares(all) {
		list = append(list, supply(all[i].Name, (need-mixed).times(share), shelf, now))
	}
	return mixed, list, nil
}

// SuppliesFor says of each ingredient what the dosing lists of a plan take,
// which is a little more than is needed, what is there and what to buy.
func SuppliesFor(plan Plan, shelf []Can, now time.Time) []Supply {
	var out []Supply
	for _, portion := range plan.Each.Portions {
		out = append(out, supply(portion.Name, portion.Volume*Volume(plan.Batches), shelf, now))
	}
	return out
}

func supply(name string, needed Volume, shelf []Can, now time.Time) Supply {
	s := Supply{Name: name, Needed: needed}
	for _, c := range shelf {
		if !strings.EqualFold(c.Name, name) {
			continue
		}
		if !c.Past(now) {
			s.Have += c.Left
		}
		s.Old = s.Old || len(Doubts([]Container{c.Container}, now)) > 0
	}
	s.Buy = max(s.Needed-s.Have, 0)
	return s
}

// Used says what a dosing takes out of cans, in the order of its portions:
// the can that was opened first goes first. What is not on the shelf is short.
func Used(d Dosing, shelf []Can) (left []Can, short Volume) {
	left = slices.Clone(shelf)
	slices.SortStableFunc(left, func(a, b Can) int { return a.Opened.Compare(b.Opened) })
	for _, portion := range d.Portions {
		want := portion.Volume
		for i := range left {
			if strings.EqualFold(left[i].Name, portion.Name) {
				take := min(want, left[i].Left)
				left[i].Left -= take
				want -= take
			}
		}
		short += want
	}
	return left, short
}

// TouchUp is the batch whose jar matches a piece: that of the last such coat
// it got. A repair is done after fitting, so the jar and not the batch counts.
func TouchUp(piece parts.ID, coat string, before []Coated, batches []Batch) (Batch, *parts.Problem) {
	for _, c := range slices.Backward(before) {
		if c.Part != piece || c.Coat != coat {
			continue
		}
		at := slices.IndexFunc(batches, func(b Batch) bool { return b.Number == c.Batch })
		if at >= 0 && batches[at].Jar > 0 {
			return batches[at], nil
		}
		return Batch{}, parts.Problemf(parts.Refused, CodeNoJar, "%s got batch %d of the %s, and no jar of it was set aside.", c.Name, c.Batch, coat).
			Next("Mix some by the same recipe, and try it where it does not show.")
	}
	return Batch{}, parts.Problemf(parts.Refused, CodeNoJar, "It is not known which batch of %s this got.", coat).
		Next("Try what is there where it does not show.")
}

// CodeNoJar is the code of a touch-up without a jar that matches.
const CodeNoJar = "no-jar"

// Jar is a jar for touching up that goes along with a delivery.
type Jar struct {
	Batch  Batch
	Pieces int // delivered pieces that it matches
}

// Jars lists the jars that belong to pieces that are delivered.
func Jars(pieces []parts.ID, before []Coated, batches []Batch) []Jar {
	var out []Jar
	for _, b := range batches {
		if b.Jar <= 0 {
			continue
		}
		matched := map[parts.ID]bool{}
		for _, c := range before {
			if c.Batch == b.Number && slices.Contains(pieces, c.Part) {
				matched[c.Part] = true
			}
		}
		if len(matched) > 0 {
			out = append(out, Jar{Batch: b, Pieces: len(matched)})
		}
	}
	return out
}
