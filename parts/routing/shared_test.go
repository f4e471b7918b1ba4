package routing_test

import (
	"time"

	"benchtally/parts"
	"benchtally/parts/routing"
	"benchtally/parts/shoptest"
)

var noon = shoptest.Noon

// The versions of the ready-made steps in these tests, by their place in
// routing.ReadyMade.
const (
	framePart int64 = iota + 1
	frame
	panel
	loose
	drilled // steps of these tests' own, see drilledSteps
)

// The lines in these tests.
const (
	rails int64 = iota + 1
	stiles
	frames
	shelves
	boards
	slats
	fronts
	tops
	bottoms
	lefts
	rights
)

// Indexes of some ready-made steps.
const (
	fpJoint, fpWidth, fpPlane, fpLength, fpBore  = 3, 4, 5, 6, 7
	frDryFit, frGlue, frSand, frStain1, frStain2 = 0, 1, 4, 5, 7
)

// drilledSteps bore between two coats, which no ready-made steps do.
var drilledSteps = parts.Routing{ID: drilled, Name: "Board with holes", For: parts.Single, Steps: []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "bore", Station: "bore", Bores: true},
	{Name: "stain", Station: "stain", Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 12 * 60},
	{Name: "sand", Station: "sand"},
	{Name: "topcoat", Station: "topcoat", Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 4 * 60},
}}

var testLines = map[int64]parts.Line{
	rails:   {ID: rails, Kind: parts.Single, Name: "Rail", Quantity: 4, Spares: 1, Into: frames, Each: 2, Steps: framePart, Ticket: "101S"},
	stiles:  {ID: stiles, Kind: parts.Single, Name: "Stile", Quantity: 4, Into: frames, Each: 2, Steps: framePart},
	frames:  {ID: frames, Kind: parts.Assembly, Name: "Locker front", Quantity: 2, Steps: frame},
	shelves: {ID: shelves, Kind: parts.Single, Name: "Shelf", Quantity: 1, Steps: loose},
	boards:  {ID: boards, Kind: parts.Single, Name: "Board", Quantity: 2, Steps: drilled},
	slats:   {ID: slats, Kind: parts.Single, Name: "Slat", Quantity: 10, PerBlank: 4, Steps: framePart, Ticket: "106X"},

	// A front takes a top and a bottom rail, which are the same piece under two
	// names, and two stiles, which are not: one is the mirror of the other.
	fronts:  {ID: fronts, Kind: parts.Assembly, Name: "Front", Quantity: 2, Steps: frame},
	tops:    {ID: tops, Kind: parts.Single, Name: "Top rail", Quantity: 3, Into: fronts, Each: 1, Steps: framePart, Pattern: "R"},
	bottoms: {ID: bottoms, Kind: parts.Single, Name: "Bottom rail", Quantity: 3, Into: fronts, Each: 1, Steps: framePart, Pattern: "R"},
	lefts:   {ID: lefts, Kind: parts.Single, Name: "Stile", Quantity: 3, Into: fronts, Each: 1, Steps: framePart, Pattern: "S", Hand: parts.Left},
	rights:  {ID: rights, Kind: parts.Single, Name: "Stile", Quantity: 3, Into: fronts, Each: 1, Steps: framePart, Pattern: "S", Hand: parts.Right},
}

func testRoutings() map[int64]parts.Routing {
	all := map[int64]parts.Routing{}
	for i, r := range routing.ReadyMade() {
		r.ID = int64(i + 1)
		all[r.ID] = r
	}
	all[drilled] = drilledSteps
	return all
}

// view is what a decision about subject sees.
func view(subject parts.State, group ...parts.State) parts.View {
	v := parts.View{Subject: subject, Group: group, Lines: testLines, Routings: testRoutings(), Now: noon}
	switch {
	case subject.Line == fronts:
		v.Needs = []parts.Line{testLines[tops], testLines[bottoms], testLines[lefts], testLines[rights]}
	case subject.Kind == parts.Assembly:
		v.Needs = []parts.Line{testLines[rails], testLines[stiles]}
	}
	return v
}

// piece is part number of a line, standing before step next of its steps.
// Everything before it was recorded an hour before noon.
func piece(line int64, number, next int, also ...func(*parts.State)) parts.State {
	l := testLines[line]
	s := parts.State{
		Part: parts.ID(string(rune('A'+line)) + string(rune('0'+number))), Seq: 1, Kind: l.Kind, Line: line, Number: number,
		Spare: number > l.Quantity, Steps: l.Steps, Next: next, LastAt: noon.Add(-time.Hour),
	}
	s.Finished = next == len(testRoutings()[l.Steps].Steps)
	for range next {
		s.Past = append(s.Past, parts.Past{How: parts.WasDone, At: noon.Add(-time.Hour), By: 7})
	}
	for _, change := range also {
		change(&s)
	}
	return s
}

// waits sets a clock of s that runs until a time.
func waits(clock parts.Clock, step int, until time.Time) func(*parts.State) {
	return func(s *parts.State) {
		s.Waits = append(s.Waits, parts.Wait{Clock: clock, Step: step, From: noon.Add(-time.Hour), Until: until})
	}
}

// plugged puts the steps of a plug into s, done up to mend.
func plugged(mend int) func(*parts.State) {
	return func(s *parts.State) {
		s.Repair = []parts.Step{
			{Name: "plug sets", Clock: parts.Setting, Minutes: 120},
			{Name: "trim the plug flush", Station: "bore"},
			{Name: "bore again", Station: "bore", Record: true, Bores: true},
		}
		s.Mend = mend
	}
}

func held(s *parts.State)       { s.Held = "a knot" }
func scrapped(s *parts.State)   { s.Scrapped = true }
func replaced(s *parts.State)   { s.Scrapped, s.ReplacedBy = true, "NEW1" }
func inAssembly(s *parts.State) { s.In = "FR01" }
func mending(mend int) func(*parts.State) {
	return func(s *parts.State) { plugged(mend)(s); s.Nicks = []int{fpBore} }
}
