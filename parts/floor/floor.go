// Package floor adds up where everything is: station by station what can be
// worked on now, what waits in clamps, setting or drying and until when, and
// what was reworked, remade or held. It owns the counting. It does not decide
// what may happen and reads nothing by itself.
package floor

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"benchtally/parts"
)

// Shop is what the floor is counted from.
type Shop struct {
	Jobs     []parts.Job
	Lines    map[int64]parts.Line
	Routings map[int64]parts.Routing
	Stations []parts.StationRow
	States   []parts.State // parts and assemblies that are not inside another one
	Now      time.Time
}

// Board is the whole floor.
type Board struct {
	Jobs []JobBoard
	Now  time.Time
}

// JobBoard is where everything of one job is.
type JobBoard struct {
	Job      parts.Job
	Pieces   int // parts and assemblies that are live and not inside another one
	Finished int // assemblies and loose parts that are done
	Stations []StationBoard
	Parts    []Group   // finished parts that wait for their assembly; Ready is how many
	Waits    []Wait    // what rests, is in clamps, sets or dries, the first to be ready first
	Mending  []Mention // being repaired; Note is what comes next
	Mended   []Mention // repaired; Note is what was done last
	Held     []Mention
	Remade   []Mention // scrapped, with what takes its place
	Short    []Mention // scrapped, and nothing takes its place
	Doubted  []Mention // to be looked at
	Gone     int       // delivered
	Labels   int       // labels that wait to be printed
}

// StationBoard is what stands before one station.
type StationBoard struct {
	Station parts.StationRow
	Ready   int // can be worked on now
	Waiting int // comes here next, and still waits
	Groups  []Group
}

// Group is some pieces of one line that need the same step next.
type Group struct {
	Line    parts.Line
	Step    string
	Ready   int
	Waiting int       // rest, clamps, glue or coat, or parts that are missing
	Until   time.Time // when the first of the waiting is ready; zero for none or unknown
	First   int       // how many are ready then, to the minute
	Last    time.Time // when the last of the waiting is ready; zero like Until
	Short   bool      // the waiting ones wait for parts
	Missing string    // the names of the lines they wait for
	Mark    parts.ID  // the ticket, or one of them when it is an assembly
}

// Wait is some pieces of one line under the same clock until the same time.
type Wait struct {
	Line  parts.Line
	Clock parts.Clock
	Count int
	Until time.Time
	Mark  parts.ID
	Name  string // of the piece when it is one
}

// Mention is one piece that needs a person's eye.
type Mention struct {
	Mark  parts.ID
	Name  string
	Note  string
	Other parts.ID
}

// Count adds up the floor.
func Count(shop Shop) Board {
	board := Board{Now: shop.Now}
	byJob := map[int64][]parts.State{}
	for _, s := range shop.States {
		byJob[s.Job] = append(byJob[s.Job], s)
	}
	for _, job := range shop.Jobs {
		if states := byJob[job.ID]; len(states) > 0 {
			board.Jobs = append(board.Jobs, countJob(shop, job, states))
		}
	}
	return board
}

func countJob(shop Shop, job parts.Job, states []parts.State) JobBoard {
	c := counter{shop: shop, spares: map[int64]int{}, groups: map[groupKey]*Group{}, waits: map[waitKey]*Wait{}}
	out := JobBoard{Job: job}
	for _, s := range states {
		if s.Spare && !s.Scrapped && s.Held == "" && s.Doubt == "" {
			c.spares[s.Line]++
		}
	}
	for _, s := range states {
		line := shop.Lines[s.Line]
		mention := Mention{Mark: s.Part, Name: parts.PieceName(line, s)}
		if s.WantsLabel() {
			out.Labels++
		}
		if s.Scrapped {
			mention.Other = s.ReplacedBy
			switch {
			case s.Short():
				if c.spares[s.Line] > 0 {
					mention.Note = "a spare is free"
				}
				out.Short = append(out.Short, mention)
			case s.ReplacedBy != "":
				out.Remade = append(out.Remade, mention)
			}
			continue
		}
		if s.Doubt != "" {
			mention.Note = s.Doubt
			out.Doubted = append(out.Doubted, mention)
			mention.Note = ""
		}
		if !s.Delivered.IsZero() {
			out.Gone++
			continue
		}
		out.Pieces++
		if s.Held != "" {
			mention.Note = s.Held
			out.Held = append(out.Held, mention)
			continue
		}
		switch {
		case s.Mending():
			mention.Note = s.Repair[s.Mend].Name
			out.Mending = append(out.Mending, mention)
		case len(s.Repair) > 0:
			mention.Note = s.Repair[len(s.Repair)-1].Name
			out.Mended = append(out.Mended, mention)
		}
		if s.Finished && !s.Mending() && line.Into == 0 {
			out.Finished++
		}
		c.add(s, line)
	}
	c.kits(states)
	out.Stations, out.Waits, out.Parts = c.stations(), c.clocks(), c.forAssemblies(job.ID, states)
	return out
}

type groupKey struct {
	line, steps int64
	station     parts.Station
	step        string
}

type waitKey struct {
	line  int64
	clock parts.Clock
	until int64 // whole minutes
}

type counter struct {
	shop   Shop
	spares map[int64]int // free ones, by line
	groups map[groupKey]*Group
	order  []groupKey
	waits  map[waitKey]*Wait
}

// add counts one piece that is live.
func (c *counter) add(s parts.State, line parts.Line) {
	wait, waits := s.Waiting(c.shop.Now)
	if waits {
		c.wait(s, line, wait)
	}
	next, ok := parts.NextStep(c.shop.Routings[s.Steps], s)
	if !ok {
		return
	}
	key := groupKey{s.Line, s.Steps, next.Step.Station, next.Step.Name}
	g := c.groups[key]
	if g == nil {
		g = &Group{Line: line, Step: next.Step.Name, Mark: cmp.Or(line.Ticket, s.Part)}
		c.groups[key] = g
		c.order = append(c.order, key)
	}
	if !waits {
		g.Ready++
		return
	}
	g.Waiting++
	g.frees(s.Ready())
}

// frees notes when one more of the waiting is ready.
func (g *Group) frees(ready time.Time) {
	minute := ready.Truncate(time.Minute)
	switch first := g.Until.Truncate(time.Minute); {
	case g.Until.IsZero() || minute.Before(first):
		g.Until, g.First = ready, 1
	case minute.Equal(first):
		g.Until, g.First = earlier(ready, g.Until), g.First+1
	}
	if ready.After(g.Last) {
		g.Last = ready
	}
}

func earlier(a, b time.Time) time.Time {
	if a.Before(b) {
		return a
	}
	return b
}

// forAssemblies lists the finished parts that wait for their assembly.
func (c *counter) forAssemblies(job int64, states []parts.State) []Group {
	var out []Group
	for line, n := range readyParts(states, c.shop.Now) {
		if l := c.shop.Lines[line]; l.Into != 0 && l.Job == job {
			out = append(out, Group{Line: l, Ready: n, Mark: l.Ticket})
		}
	}
	slices.SortFunc(out, func(a, b Group) int { return cmp.Compare(a.Line.Number, b.Line.Number) })
	return out
}

// wait counts one piece under the clock that runs now. What is in clamps goes
// on setting; it is shown until the clamps may come off.
func (c *counter) wait(s parts.State, line parts.Line, w parts.Wait) {
	key := waitKey{s.Line, w.Clock, w.Ends().Unix() / 60}
	if have := c.waits[key]; have != nil {
		have.Count++
		have.Name = ""
		have.Mark = cmp.Or(line.Ticket, have.Mark)
		return
	}
	c.waits[key] = &Wait{Line: line, Clock: w.Clock, Count: 1, Until: w.Ends(), Mark: s.Part, Name: parts.PieceName(line, s)}
}

// kits corrects the assemblies that stand before their dry fit: only as many
// can be put together as there are complete sets of finished parts.
func (c *counter) kits(states []parts.State) {
	complete := Complete(c.shop.Lines, states, c.shop.Now)
	for key, g := range c.groups {
		if !c.binds(key) {
			continue
		}
		sets := min(g.Ready, complete[key.line])
		g.Waiting += g.Ready - sets
		g.Short = g.Ready > sets
		g.Missing = missing(c.shop.Lines, states, key.line, sets, c.shop.Now)
		g.Ready = sets
	}
}

// missing names the lines of which there are not enough finished parts for one
// more assembly than sets.
func missing(lines map[int64]parts.Line, states []parts.State, into int64, sets int, now time.Time) string {
	ready := readyParts(states, now)
	var short []parts.Line
	for _, l := range lines {
		if l.Into == into && l.Each > 0 && ready[l.ID]/l.Each <= sets {
			short = append(short, l)
		}
	}
	slices.SortFunc(short, func(a, b parts.Line) int { return cmp.Compare(a.Number, b.Number) })
	var names []string
	for _, l := range short {
		names = append(names, l.Name)
	}
	return strings.Join(names, ", ")
}

// Complete says of each assembly's line how many complete sets of finished,
// free parts there are.
func Complete(lines map[int64]parts.Line, states []parts.State, now time.Time) map[int64]int {
	ready := readyParts(states, now)
	sets := map[int64]int{}
	for _, l := range lines {
		if l.Into == 0 || l.Each == 0 {
			continue
		}
		n := ready[l.ID] / l.Each
		if have, ok := sets[l.Into]; !ok || n < have {
			sets[l.Into] = n
		}
	}
	return sets
}

// readyParts counts the finished, free parts of each line.
func readyParts(states []parts.State, now time.Time) map[int64]int {
	ready := map[int64]int{}
	for _, s := range states {
		_, waits := s.Waiting(now)
		if s.Finished && !s.Mending() && !waits && !s.Scrapped && s.Held == "" && s.In == "" && s.Doubt == "" {
			ready[s.Line]++
		}
	}
	return ready
}

// binds reports whether a group's step is a dry fit.
func (c *counter) binds(key groupKey) bool {
	return slices.ContainsFunc(c.shop.Routings[key.steps].Steps, func(s parts.Step) bool {
		return s.Binds && s.Name == key.step && s.Station == key.station
	})
}

// stations gives the groups by station, in the order of the floor.
func (c *counter) stations() []StationBoard {
	var out []StationBoard
	for _, st := range c.shop.Stations {
		board := StationBoard{Station: st}
		for _, key := range c.order {
			if key.station == st.Key {
				g := *c.groups[key]
				board.Ready += g.Ready
				board.Waiting += g.Waiting
				board.Groups = append(board.Groups, g)
			}
		}
		slices.SortStableFunc(board.Groups, func(a, b Group) int { return cmp.Compare(a.Line.Number, b.Line.Number) })
		out = append(out, board)
	}
	return out
}

// clocks gives the waits, the first to be ready first.
func (c *counter) clocks() []Wait {
	var out []Wait
	for _, w := range c.waits {
		out = append(out, *w)
	}
	slices.SortFunc(out, func(a, b Wait) int {
		return cmp.Or(a.Until.Compare(b.Until), cmp.Compare(a.Line.Number, b.Line.Number), cmp.Compare(a.Clock, b.Clock), cmp.Compare(a.Mark, b.Mark))
	})
	return out
}
