package finish

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Pots is what a decision about a coat may look at.
type Pots struct {
	Mixes   map[string]Mix
	Batches []Batch  // those that were open at the time of the coat, and those that the pieces got before
	Groups  []Group  // that the pieces belong to
	Before  []Coated // what the pieces and the rest of their groups got, in order
	Shop    Shop     // the lines and steps of their jobs
	Record  bool     // the shop lets no coat go without its batch
}

// Coating is one coat of one mix that is about to be recorded, on one piece
// or on many.
type Coating struct {
	Mix     string
	Pieces  []Coated
	At      time.Time // when it was put on
	Batch   int64     // the batch that a person names; 0 for the open one
	GoOn    bool      // a person wants this batch beside another one
	Trying  bool      // test pieces only: they are there to choose a colour
	TouchUp bool      // spots only, out of the jar that matches
}

// CodeBatchUnknown is the code of a batch that cannot be taken for a coat.
const CodeBatchUnknown = "batch-unknown"

// CodeWhichMix is the code of a coat of which it is not known which mix it is.
const CodeWhichMix = "which-mix"

// MixFor says which mix a coat is of whose step names none: the only one of
// the shop for that coat; of several the one that has an open batch, or the
// batch that a person names. "" for none. Where colour is at stake it refuses
// to guess, and its facts name the batches that could be meant. Test pieces
// may get anything, and a touch-up has the jar of its piece.
func (p Pots) MixFor(coat string, c Coating) (string, *parts.Problem) {
	var all, open []Mix
	var batches []int64
	for _, key := range slices.Sorted(maps.Keys(p.Mixes)) {
		m := p.Mixes[key]
		if !m.For(coat) {
			continue
		}
		all = append(all, m)
		if b, why := p.batch(m, Coating{At: c.At, Batch: c.Batch}); why == nil && b.Number != 0 {
			open, batches = append(open, m), append(batches, b.Number)
		}
	}
	switch {
	case len(all) == 0:
		return "", nil
	case len(all) == 1 || c.TouchUp:
		return all[0].Key, nil
	case len(open) == 1:
		return open[0].Key, nil
	case c.Trying:
		return "", nil
	case !slices.ContainsFunc(all, Mix.Colours):
		return latestOf(p, batches, all[0]), nil
	}
	var names []string
	for _, m := range all {
		names = append(names, m.Name)
	}
	refused := parts.Problemf(parts.Refused, CodeWhichMix, "Which mix is this? The shop has %s for the coat %s.", strings.Join(names, ", "), coat).
		Next("Say which batch it is, or mix one and record it. A step that is always of the same mix can name it.")
	if len(batches) > 0 {
		refused.Fact("batches", batches)
	}
	return "", refused
}

// latestOf is the mix of the batch mixed last; another one where none is open.
func latestOf(p Pots, batches []int64, or Mix) string {
	var last Batch
	for _, b := range p.Batches {
		if slices.Contains(batches, b.Number) && (last.Number == 0 || better(b, last)) {
			last = b
		}
	}
	return cmp.Or(last.Mix, or.Key)
}

// Lay decides which batch a coat is of; the zero Batch when nobody knows and
// the shop does not mind. Doubts are what a person should know all the same.
// Facts of a refusal name the mix, and the batches that could be meant.
func Lay(p Pots, c Coating) (b Batch, doubts []*parts.Problem, refused *parts.Problem) {
	m, known := p.Mixes[c.Mix]
	if !known {
		return Batch{}, nil, nil
	}
	if c.TouchUp {
		b, refused = p.jar(m, c)
		return b, nil, refused
	}
	if !c.Trying {
		if refused = ColourGate(m); refused != nil {
			return Batch{}, nil, refused.Fact("mix", m.Key)
		}
	}
	if b, refused = p.batch(m, c); refused != nil || b.Number == 0 {
		return Batch{}, nil, refused
	}
	if refused = alike(m, b, c); refused != nil {
		return Batch{}, nil, refused.Fact("mix", m.Key)
	}
	if refused = p.besides(m, b, c); refused != nil {
		if other, open := p.openOther(refused, c.At); open {
			refused.Fact("instead", other)
		}
		return Batch{}, nil, refused.Fact("mix", m.Key).Fact("taken", b.Number)
	}
	doubts = Doubts(b.From, c.At)
	if b.Left <= 0 {
		doubts = append(doubts, parts.Problemf(parts.Refused, CodeBatchEmpty, "By the estimate nothing is left of batch %d.", b.Number).
			Next("If you mixed another one, record it. If not, correct on its page how much is left."))
	}
	return b, doubts, nil
}

// batch is the one that a person names, or the one mixed last of those that
// can be used. How much is left is an estimate, so an empty one will do.
func (p Pots) batch(m Mix, c Coating) (Batch, *parts.Problem) {
	var best Batch
	var last *parts.Problem
	for _, b := range p.Batches {
		if b.Mix != m.Key || !b.Open || b.MixedAt.After(c.At) || c.Batch != 0 && b.Number != c.Batch {
			continue
		}
		if why := Usable(b, c.At); why != nil && why.Code != CodeBatchEmpty {
			last = why.Fact("mix", m.Key)
			continue
		}
		if best.Number == 0 || better(b, best) {
			best = b
		}
	}
	switch {
	case best.Number != 0:
		return best, nil
	case last != nil:
		return Batch{}, last
	case c.Batch != 0:
		return Batch{}, parts.Problemf(parts.Refused, CodeBatchUnknown, "Batch %d is no open batch of %s.", c.Batch, m.Name).
			Next("Take the open one, or mix one and record it.").Fact("mix", m.Key)
	case p.Record && !c.Trying:
		return Batch{}, parts.Problemf(parts.Refused, CodeNoBatch, "There is no open batch of %s.", m.Name).
			Next("Mix one, and record it.").Fact("mix", m.Key)
	}
	return Batch{}, nil
}

// better prefers what something is left of, then what was mixed last.
func better(b, than Batch) bool {
	if (b.Left > 0) != (than.Left > 0) {
		return b.Left > 0
	}
	return b.MixedAt.After(than.MixedAt) || b.MixedAt.Equal(than.MixedAt) && b.Number > than.Number
}

// alike refuses colour that was mixed by other shares than those approved.
func alike(m Mix, b Batch, c Coating) *parts.Problem {
	if c.Trying || !m.Colours() || b.Recipe == m.Recipe() {
		return nil
	}
	return parts.Problemf(parts.Refused, CodeColourChanged, "Batch %d was mixed by other shares than those approved: %s.", b.Number, b.Recipe).
		Next("Close it, mix one as approved, and record that.")
}

// besides refuses another batch than the rest of a colour group has, until a
// person says that this one is meant. Of what gives no colour any batch will
// do.
func (p Pots) besides(m Mix, b Batch, c Coating) *parts.Problem {
	if c.GoOn || !m.Colours() {
		return nil
	}
	coming := slices.Clone(c.Pieces)
	for i := range coming {
		coming[i].Batch = b.Number
	}
	found := CheckGroups(p.Groups, p.Before, coming)
	if len(found) == 0 {
		return nil
	}
	return found[0]
}

// openOther is the batch that the rest of a colour group has, when it can be
// taken still.
func (p Pots) openOther(refused *parts.Problem, at time.Time) (int64, bool) {
	for _, b := range p.Batches {
		if b.Number == refused.Facts["batch"] && b.Open && Usable(b, at) == nil {
			return b.Number, true
		}
	}
	return 0, false
}

// jar is the batch whose jar matches all the pieces. Without one nothing is
// refused: what is tried where it does not show is for a person to judge.
func (p Pots) jar(m Mix, c Coating) (Batch, *parts.Problem) {
	var jar Batch
	for _, piece := range c.Pieces {
		b, why := TouchUp(piece.Part, m.Coat, p.Before, p.Batches)
		switch {
		case why != nil && p.Record && !c.GoOn:
			return Batch{}, why.Fact("mix", m.Key)
		case why != nil || jar.Number != 0 && jar.Number != b.Number:
			return Batch{}, nil
		}
		jar = b
	}
	return jar, nil
}

// Coating is the area that a step coats of a piece of a line; ok is false when
// a size that it takes is not known.
func (shop Shop) Coating(l parts.Line, s parts.Step) (area Surface, ok bool) {
	return shop.areaOf(l, s.Coat, s.Coats, deepest)
}

// Takes is about how much of a mix one coat of an area takes, with what never
// reaches the wood and without the reserve; 0 when nobody wrote the coverage.
func Takes(m Mix, area Surface) Volume {
	m.Reserve = 0
	v, p := Need(m, area, 1)
	if p != nil {
		return 0
	}
	return v
}
