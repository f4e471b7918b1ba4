package bench

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"benchtally/parts"
	"benchtally/parts/finish"
	"benchtally/parts/store"
)

// MixToDo is what a mix is still needed for, and how it is got together.
type MixToDo struct {
	finish.Mix
	ToDo     []finish.ToDo
	Area     finish.Surface
	Unknown  int             // pieces whose area is not known
	Need     finish.Volume   // for all of that, loss and reserve counted
	Mixed    finish.Volume   // of that, still in open batches
	Plan     *finish.Plan    // for the rest; nil when nothing more is to be mixed
	Problem  *parts.Problem  // why there is no quantity or no plan
	Gate     *parts.Problem  // why it may not go on wood yet; nil when it may
	Open     []finish.Batch  // the newest first
	Supplies []finish.Supply // what the rest takes of each ingredient
	Short    []*parts.Problem
	Now      finish.Volume // of Need: for the coats that come next
	Today    bool          // the plan is for those alone
	LeftOut  []string      // lines that come finished, and are not counted
}

// Takes is what a mix takes for so many pieces of a line to do.
func (m MixToDo) Takes(t finish.ToDo, pieces int) finish.Volume {
	v, p := finish.Need(m.Mix, t.Each*finish.Surface(pieces), 1)
	if p != nil {
		return 0
	}
	return v
}

// LaterTakes is what it takes for coats that come after another one, or after
// other work.
func (m MixToDo) LaterTakes() finish.Volume { return m.sum(finish.ToDo.Later) }

// UngluedTakes is what it takes for pieces that have to be put together first.
func (m MixToDo) UngluedTakes() finish.Volume {
	return m.sum(func(t finish.ToDo) int { return t.Unglued })
}

func (m MixToDo) sum(pieces func(finish.ToDo) int) finish.Volume {
	var out finish.Volume
	for _, t := range m.ToDo {
		out += m.Takes(t, pieces(t))
	}
	return out
}

// FinishBoard is what is to be coated, mix by mix.
type FinishBoard struct {
	Mixes []MixToDo
	// Unnamed are coats whose steps name no mix, by coat, where the shop has
	// several mixes for that coat.
	Unnamed []string
	Cans    []Can
	Groups  []store.ColourGroup
	Jobs    []parts.Job
	Lines   []parts.Line // that are coated, of the open jobs
	Now     time.Time
}

// Finish adds up what is still to be coated and what for.
func (b *Bench) Finish(ctx context.Context) (FinishBoard, error) {
	board := FinishBoard{Now: b.Now()}
	mixes, err := b.store.Mixes(ctx)
	if err != nil || len(mixes) == 0 {
		return board, err
	}
	floor, err := b.shop(ctx)
	if err != nil {
		return board, err
	}
	shop := finish.Shop{Lines: floor.Lines, Routings: floor.Routings, States: floor.States}
	measures, err := b.Measures(ctx)
	if err != nil {
		return board, err
	}
	batches, err := b.store.Batches(ctx, board.Now)
	if err != nil {
		return board, err
	}
	if board.Cans, err = b.store.Cans(ctx); err != nil {
		return board, err
	}
	if board.Groups, err = b.store.ColourGroups(ctx, 0); err != nil {
		return board, err
	}
	board.Jobs = floor.Jobs
	board.Lines = coatedLines(shop)
	for _, m := range mixes {
		one := mixToDo(m, mixes, shop, measures, batches, shelf(board.Cans), board.Now)
		one.Short = wontReach(one, shop, board.Groups)
		board.Mixes = append(board.Mixes, one)
	}
	board.Unnamed = unnamed(shop, mixes)
	return board, nil
}

func shelf(all []store.Can) []finish.Can {
	out := make([]finish.Can, len(all))
	for i, c := range all {
		out[i] = c.Can
	}
	return out
}

// mixToDo adds up one mix.
func mixToDo(m finish.Mix, all []finish.Mix, shop finish.Shop, measures []finish.Measure, batches []finish.Batch, cans []finish.Can, now time.Time) MixToDo {
	out := MixToDo{Mix: m, ToDo: finish.StillToGet(shop, m, all), Gate: finish.ColourGate(m)}
	for _, t := range out.ToDo {
		out.LeftOut = append(out.LeftOut, shop.LeftOut(t.Line)...)
	}
	slices.Sort(out.LeftOut)
	out.LeftOut = slices.Compact(out.LeftOut)
	for _, b := range batches {
		if b.Mix == m.Key && b.Open {
			out.Open = append(out.Open, b)
		}
	}
	out.Area, out.Unknown = finish.AreaLeft(out.ToDo)
	if len(out.ToDo) == 0 {
		return out
	}
	if out.Need, out.Problem = finish.Need(m, out.Area, 1); out.Problem != nil {
		return out
	}
	if out.Mixed, out.Supplies, out.Problem = finish.Supplies(m, out.Need, batches, cans, now); out.Problem != nil || out.Need <= out.Mixed {
		return out
	}
	// What sets in its pot is mixed for what is done now, the rest another day.
	need := out.Need - out.Mixed
	out.Now, _ = finish.Need(m, finish.AreaNow(out.ToDo), 1)
	if m.TwoPart() && out.Now > 0 {
		need, out.Today = out.Now, out.Now < out.Need
		for _, b := range out.Open {
			if finish.Usable(b, now) == nil {
				need -= b.Left
			}
		}
		if need <= 0 {
			return out
		}
	}
	plan, p := finish.Split(m, finish.Handy(measures, need), need, perHour(out, all, shop))
	if out.Problem = p; p == nil {
		out.Plan = &plan
		for i, s := range finish.SuppliesFor(plan, cans, now) {
			// A list for today may be less than what all the rest takes.
			if s.Needed > out.Supplies[i].Needed {
				out.Supplies[i] = s
			}
		}
	}
	return out
}

// perHour is how much of a mix one person puts on in an hour: as the mix has
// it, or by the times that the steps expect; 0 when nobody knows.
func perHour(m MixToDo, all []finish.Mix, shop finish.Shop) finish.Volume {
	if m.PerHour > 0 {
		return m.PerHour
	}
	seconds := 0
	for _, t := range m.ToDo {
		for _, s := range shop.Routings[t.Line.Steps].Steps {
			if finish.Gets(s, m.Mix, all) && s.Name == t.Does {
				seconds += s.EachSeconds * t.Pieces
				break
			}
		}
	}
	if seconds == 0 {
		return 0
	}
	return finish.Volume(float64(m.Need) / float64(seconds) * 3600)
}

// wontReach warns of open batches that are not enough for the whole of a
// colour group that still gets them.
func wontReach(m MixToDo, shop finish.Shop, groups []store.ColourGroup) []*parts.Problem {
	if len(m.Open) == 0 || m.TwoPart() || !m.Colours() {
		return nil
	}
	var out []*parts.Problem
	for _, g := range groups {
		var area finish.Surface
		for _, t := range m.ToDo {
			if slices.Contains(g.Lines, t.Line.ID) {
				area += t.Area
			}
		}
		if p := finish.Reaches(finish.Group{Name: g.Name}, m.Open[0], finish.Takes(m.Mix, area)); area > 0 && p != nil {
			out = append(out, p)
		}
	}
	return out
}

// coatedLines are the lines whose steps coat.
func coatedLines(shop finish.Shop) []parts.Line {
	var out []parts.Line
	for _, l := range shop.Lines {
		if slices.ContainsFunc(shop.Routings[l.Steps].Steps, func(s parts.Step) bool { return s.Coat != "" }) {
			out = append(out, l)
		}
	}
	slices.SortFunc(out, func(a, b parts.Line) int { return cmp.Or(cmp.Compare(a.Job, b.Job), cmp.Compare(a.Number, b.Number)) })
	return out
}

// unnamed are the coats that come up without a mix, although the shop has more
// than one for them.
func unnamed(shop finish.Shop, mixes []finish.Mix) []string {
	var out []string
	for _, m := range mixes {
		if slices.Contains(out, m.Coat) || !slices.ContainsFunc(mixes, func(o finish.Mix) bool { return o.Key != m.Key && o.For(m.Coat) }) {
			continue
		}
		for _, t := range finish.StillToCoat(shop, m.Coat) {
			steps := shop.Routings[t.Line.Steps].Steps
			if slices.ContainsFunc(steps, func(s parts.Step) bool { return m.For(s.Coat) && s.Name == t.Does && s.Mix == "" }) {
				out = append(out, m.Coat)
				break
			}
		}
	}
	return out
}

// Can is a can of an ingredient on the shelf.
type Can = store.Can

// SaveCan puts a can on the shelf, or says anew what is in it; with nothing
// left it is taken off.
func (b *Bench) SaveCan(ctx context.Context, c Can) error {
	c.Name, c.Lot = line(c.Name), line(c.Lot)
	switch {
	case c.Name == "" || utf8.RuneCountInString(c.Name+c.Lot) > 120:
		return parts.Problemf(parts.Invalid, "can-name", "The can has no name, or a very long one.").Next("Write what stands on it, as the mix has it.")
	case c.Left < 0 || c.ID == 0 && c.Left == 0:
		return parts.Problemf(parts.Invalid, "can-left", "It is not said how much is in the can.").Next("Write it like 1 l or 1 qt.")
	}
	if c.ID == 0 {
		mixes, err := b.store.Mixes(ctx)
		if err != nil {
			return err
		}
		var p *parts.Problem
		if c.Name, p = finish.Ingredients(mixes).Known(c.Name); p != nil {
			return p
		}
	}
	_, err := b.store.SaveCan(ctx, c)
	return err
}

// SaveColourGroup says which lines of a job will stand side by side; without
// lines the group is taken away.
func (b *Bench) SaveColourGroup(ctx context.Context, job, name string, lines []int64) error {
	j, err := b.store.Job(ctx, job)
	if err != nil {
		return err
	}
	all, err := b.store.Lines(ctx, j.ID)
	if err != nil {
		return err
	}
	if name = line(name); name == "" || utf8.RuneCountInString(name) > 60 {
		return parts.Problemf(parts.Invalid, "group-name", "What stands side by side needs a short name.").Next("Write what people call it, such as north wall.")
	}
	for _, id := range lines {
		if !slices.ContainsFunc(all, func(l parts.Line) bool { return l.ID == id }) {
			return parts.Problemf(parts.Invalid, "group-line", "%s has no such line.", j.Name).Next("Choose from its lines.")
		}
	}
	slices.Sort(lines)
	return b.store.SaveColourGroup(ctx, store.ColourGroup{Job: j.ID, Name: strings.TrimSpace(name), Lines: slices.Compact(lines)})
}
