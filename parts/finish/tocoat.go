package finish

import (
	"cmp"
	"fmt"
	"slices"

	"benchtally/parts"
)

// Shop is what is known of the pieces that are to be coated.
type Shop struct {
	Lines    map[int64]parts.Line
	Routings map[int64]parts.Routing
	States   []parts.State
}

// ToDo is one coat that pieces of one line still have to get.
type ToDo struct {
	Line    parts.Line
	Does    string // the name of the step: "stain, second coat"
	Faces   []parts.Face
	N, Of   int  // coat N of the Of that these faces get; 0 in a repair
	Repair  bool // it comes from a repair
	Pieces  int
	Now     int     // of them: this coat comes next, after drying and sanding at most
	Unglued int     // of them: have to be put together first
	Each    Surface // of one piece
	Area    Surface // of them all
	Unknown bool    // a size is not known, so the area is not either
}

// Later is how many of the pieces get another coat or more work first.
func (t ToDo) Later() int { return t.Pieces - t.Now - t.Unglued }

// StillToCoat lists what still gets a coat, by line and in the order of the
// coats. A piece inside an assembly is coated as part of it.
func StillToCoat(shop Shop, coat string) []ToDo {
	return stillToCoat(shop, func(s parts.Step) bool { return s.Coat == coat })
}

// StillToGet lists what still gets a mix: the coats whose steps name it, and
// those that name none where it is the only one of all mixes for that coat.
func StillToGet(shop Shop, m Mix, all []Mix) []ToDo {
	return stillToCoat(shop, func(s parts.Step) bool { return Gets(s, m, all) })
}

// Gets reports whether a step puts on a mix, as far as the step alone says.
func Gets(s parts.Step, m Mix, all []Mix) bool {
	if s.Mix != "" {
		return s.Mix == m.Key
	}
	if s.Coat == "" || !m.For(s.Coat) {
		return false
	}
	return !slices.ContainsFunc(all, func(o Mix) bool { return o.Key != m.Key && o.For(s.Coat) })
}

func stillToCoat(shop Shop, meant func(parts.Step) bool) []ToDo {
	type key struct {
		line, steps int64
		step        int
		repair      string // its name and faces, in a repair
	}
	found := map[key]*ToDo{}
	var order []key
	for _, s := range shop.States {
		if !byItself(s) {
			continue
		}
		steps := shop.Routings[s.Steps].Steps
		for _, c := range comingCoats(steps, s, meant) {
			k := key{line: s.Line, steps: s.Steps, step: c.index}
			if c.repair {
				k.repair = fmt.Sprint(c.step.Name, c.step.Coats)
			}
			if found[k] == nil {
				found[k] = shop.toDo(s, steps, c)
				order = append(order, k)
			}
			found[k].Pieces++
			switch {
			case c.unglued:
				found[k].Unglued++
			case c.now:
				found[k].Now++
			}
			found[k].Area += found[k].Each
		}
	}
	out := make([]ToDo, len(order))
	for i, k := range order {
		out[i] = *found[k]
	}
	slices.SortStableFunc(out, func(a, b ToDo) int {
		return cmp.Or(cmp.Compare(a.Line.Number, b.Line.Number), cmp.Compare(a.Line.ID, b.Line.ID), cmp.Compare(a.N, b.N))
	})
	return out
}

// byItself reports whether a piece still goes through steps of its own.
// Tickets and carts stand for pieces that are counted already.
func byItself(s parts.State) bool {
	return !s.Scrapped && s.In == "" && !s.Kind.Counts() && (!s.Finished || s.Mending())
}

// comingCoat is a step that coats, still to come.
type comingCoat struct {
	step    parts.Step
	index   int
	repair  bool
	now     bool // only drying and sanding come before it
	unglued bool // putting it together comes before it
}

// comingCoats are the steps that still give s the coat that is meant, repairs
// first.
func comingCoats(steps []parts.Step, s parts.State, meant func(parts.Step) bool) []comingCoat {
	var out []comingCoat
	add := func(all []parts.Step, from int, repair bool) {
		now, unglued := true, false
		for i := max(from, 0); i < len(all); i++ {
			if meant(all[i]) && len(all[i].Coats) > 0 && !all[i].TouchUp {
				out = append(out, comingCoat{step: all[i], index: i, repair: repair, now: now, unglued: unglued})
			}
			now = now && (all[i].Wait() || all[i].Scuff)
			unglued = unglued || all[i].Binds || all[i].Glues
		}
	}
	if s.Mending() {
		add(s.Repair, s.Mend, true)
	}
	if !s.Finished {
		add(steps, s.Next, false)
	}
	return out
}

func (shop Shop) toDo(s parts.State, steps []parts.Step, c comingCoat) *ToDo {
	l := shop.Lines[s.Line]
	t := &ToDo{Line: l, Does: c.step.Name, Faces: c.step.Coats, Repair: c.repair}
	if !c.repair {
		if sides := Sides(steps, c.index); len(sides) > 0 {
			t.N, t.Of = sides[0].N, sides[0].Of
		}
	}
	// An area that is not known counts as none: the list says so beside it.
	each, known := shop.areaOf(l, c.step.Coat, c.step.Coats, deepest)
	t.Unknown = !known
	if known {
		t.Each = each
	}
	return t
}

// AreaNow adds up the areas of the pieces whose coat of a list comes next.
func AreaNow(list []ToDo) Surface {
	var area Surface
	for _, t := range list {
		area += t.Each * Surface(t.Now)
	}
	return area
}

// AreaLeft adds up the areas of a list, and counts the pieces whose area is
// not known.
func AreaLeft(list []ToDo) (area Surface, unknown int) {
	for _, t := range list {
		area += t.Area
		if t.Unknown {
			unknown += t.Pieces
		}
	}
	return area, unknown
}
