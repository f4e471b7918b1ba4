// Package setup groups what comes to a machine by the way the machine must be
// set for it, and says what will want the same setup later and where that is,
// so that a fence is not moved too early. It owns that grouping. It does not
// decide what may be done, and saves nothing.
package setup

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Shop is what the lists are made from.
type Shop struct {
	Lines    map[int64]parts.Line
	Routings map[int64]parts.Routing
	Stations []parts.StationRow
	States   []parts.State // parts and assemblies that are not inside another one
	Style    parts.Style   // how sizes are written
	Now      time.Time
	// Complete says of each assembly's line for how many the parts are all
	// there; the rest cannot be put together yet.
	Complete map[int64]int
	Patterns map[string]string // names of the patterns of holes by their keys
	// Unchecked reports whether the first piece of a step of a line, by its
	// index, still has to be checked.
	Unchecked func(line parts.Line, step int) bool
}

// Setup is one way a machine is set, with everything that wants it.
type Setup struct {
	Step   string          // what is done: "rip to width"
	Sets   parts.Dimension // to what the machine is set; "" for a step without a setting
	Size   string          // the setting, as the shop writes it: `2 1/4"`, or the line whose pattern it is
	Here   []Group         // can be done now
	Coming []Group         // will want it later
	Ready  int             // pieces that can be done now
	Later  int             // pieces that will want it
	Check  string          // what is to be checked on the first piece and was not; "" for nothing
	Slip   parts.ID        // the ticket whose first piece that is
	Number int             // of the step, see parts.StepNumber
	Back   []Back          // repaired pieces that come back to it: it stays as it is until then
}

// Back is a piece under repair that wants the same setup again.
type Back struct {
	Mark  parts.ID
	Name  string
	Ready time.Time // when it can be done; zero for now
}

// Group is some pieces of one line.
type Group struct {
	Line  parts.Line
	Count int
	Mark  parts.ID  // the ticket, or one of them when it is an assembly
	Where string    // for what comes later: "at the jointer", "resting"
	Until time.Time // from when the last of them may be worked on; zero when nothing has to be waited for
}

// key is what two pieces agree in when they share a setup.
type key struct {
	step string
	size string
}

// At lists the setups of a station: those with something to do now first, the
// larger first.
func At(shop Shop, at parts.Station) []Setup {
	left := map[int64]int{}
	maps.Copy(left, shop.Complete)
	shop.Complete = left // counted down below
	found := map[key]*Setup{}
	var order []key
	for _, s := range shop.States {
		if s.Scrapped || s.Held != "" || s.Finished && !s.Mending() {
			continue
		}
		line := shop.Lines[s.Line]
		for i, step := range coming(shop.Routings[s.Steps], s) {
			if step.Station != at || i > 0 && step.Sets == "" {
				continue // without a setting there is nothing to wait for
			}
			if i == 0 && s.Mending() {
				step.Name = cmp.Or(bored(shop.Routings[s.Steps], s, step), step.Name)
			}
			k := key{step.Name, Setting(step, line, shop.Style, shop.Patterns)}
			if found[k] == nil {
				found[k] = &Setup{Step: step.Name, Sets: step.Sets, Size: k.size}
				order = append(order, k)
			}
			found[k].add(s, line, step, i == 0, shop)
			found[k].note(s, line, step, i == 0, shop)
		}
	}
	out := make([]Setup, len(order))
	for i, k := range order {
		out[i] = *found[k]
	}
	slices.SortStableFunc(out, func(a, b Setup) int {
		return cmp.Or(cmp.Compare(min(b.Ready, 1), min(a.Ready, 1)), cmp.Compare(b.Ready, a.Ready), cmp.Compare(b.Later, a.Later))
	})
	return slices.DeleteFunc(out, func(s Setup) bool { return s.Ready == 0 && s.Later == 0 })
}

// bored is the name of the step that a boring in a repair does over: they share
// a setup. "" when it does none over.
func bored(r parts.Routing, s parts.State, step parts.Step) string {
	if !step.Bores || len(s.Nicks) == 0 {
		return ""
	}
	if i := s.Nicks[len(s.Nicks)-1]; i < len(r.Steps) && r.Steps[i].Bores {
		return r.Steps[i].Name
	}
	return ""
}

// coming are the steps of work that s still has to go through, the next first.
func coming(r parts.Routing, s parts.State) []parts.Step {
	var out []parts.Step
	if s.Mending() {
		out = append(out, s.Repair[s.Mend:]...)
	}
	out = append(out, r.Steps[min(s.Next, len(r.Steps)):]...)
	return slices.DeleteFunc(out, parts.Step.Wait)
}

// Setting writes to what the machine is set for a step of a line; "" for a
// step that needs no setting.
func Setting(step parts.Step, l parts.Line, st parts.Style, patterns map[string]string) string {
	switch step.Sets {
	case parts.ToLength:
		return l.Length.Format(st)
	case parts.ToWidth:
		return l.Width.Format(st)
	case parts.ToThickness:
		return l.Thick.Format(st)
	case parts.ToPattern:
		if l.Pattern != "" {
			return strings.TrimSpace(strings.ToLower(cmp.Or(patterns[l.Pattern], l.Pattern)) + " " + string(l.Hand))
		}
		return strings.ToLower(l.Name)
	}
	return ""
}

// note says what a person at the machine must know of a piece: that a first
// piece is to be checked, or that a repaired one comes back to this setup.
func (u *Setup) note(s parts.State, line parts.Line, step parts.Step, next bool, shop Shop) {
	if s.Mending() && step.Bores {
		back := Back{Mark: s.Part, Name: parts.PieceName(line, s)}
		if ready := s.Ready(); ready.After(shop.Now) {
			back.Ready = ready
		}
		if !slices.ContainsFunc(u.Back, func(b Back) bool { return b.Mark == s.Part }) {
			u.Back = append(u.Back, back)
		}
		return
	}
	if next && u.Check == "" && step.Check != "" && line.Ticket != "" && shop.Unchecked != nil && shop.Unchecked(line, s.Next) {
		u.Check, u.Slip, u.Number = step.Check, line.Ticket, parts.StepNumber(s.Next, false)
	}
}

// add counts one piece: at the machine when its next step is this one and
// nothing runs, otherwise where it is now.
func (u *Setup) add(s parts.State, line parts.Line, step parts.Step, next bool, shop Shop) {
	wait, waits := s.Waiting(shop.Now)
	if next && step.Binds && !waits {
		if shop.Complete[s.Line]--; shop.Complete[s.Line] < 0 {
			u.Later++
			u.Coming = grouped(u.Coming, s, line, "waiting for parts")
			return
		}
	}
	if next && !waits {
		u.Ready++
		u.Here = grouped(u.Here, s, line, "")
		return
	}
	u.Later++
	where := string(wait.Clock)
	if !waits {
		c, _ := parts.NextStep(shop.Routings[s.Steps], s)
		where = nameOf(shop.Stations, c.Step.Station)
	}
	u.Coming = grouped(u.Coming, s, line, where)
	if i := groupOf(u.Coming, line, where); waits && s.Ready().After(u.Coming[i].Until) {
		u.Coming[i].Until = s.Ready()
	}
}

func grouped(groups []Group, s parts.State, line parts.Line, where string) []Group {
	i := groupOf(groups, line, where)
	if i < 0 {
		return append(groups, Group{Line: line, Count: 1, Mark: cmp.Or(line.Ticket, s.Part), Where: where})
	}
	groups[i].Count++
	return groups
}

// groupOf is the place of a line's group among others, -1 when it has none.
func groupOf(groups []Group, line parts.Line, where string) int {
	return slices.IndexFunc(groups, func(g Group) bool { return g.Line.ID == line.ID && g.Where == where })
}

func nameOf(stations []parts.StationRow, key parts.Station) string {
	i := slices.IndexFunc(stations, func(st parts.StationRow) bool { return st.Key == key })
	if i < 0 {
		return string(key)
	}
	return stations[i].Name
}
