package rework_test

import (
	"strings"
	"time"

	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// ask is what a person or a program says with a view.
type ask struct {
	scan    parts.Scan
	by      rework.By
	number  int
	line    int64
	reason  string
	id      parts.ID
	steps   parts.Routing
	flaw    rework.Flaw
	instead rework.Instead
	done    []parts.Trace
}

var anyIDs = []parts.ID{"", "R1", "R2", "R3", "F1", "T1", "K1"}

func anyID(t *rapid.T, label string) parts.ID {
	return rapid.SampledFrom(anyIDs).Draw(t, label)
}

// rarely is true once in eight times.
func rarely(t *rapid.T, label string) bool {
	return rapid.SampledFrom([]bool{false, false, false, false, false, false, false, true}).Draw(t, label)
}

func anyTime(t *rapid.T) time.Time {
	return noon.Add(time.Duration(rapid.IntRange(-3, 3).Draw(t, "hours")) * time.Hour)
}

// anyNumber is one of a step, small, absent, of a repair or absurd.
func anyNumber(t *rapid.T) int {
	if rapid.Bool().Draw(t, "any step") {
		return 0
	}
	return rapid.SampledFrom([]int{1, 2, 3, 4, 5, 6, 9, 1001, 1002, 1003, 1009, -1, 1000, 1 << 40, -1 << 62}).Draw(t, "number")
}

func anyAsk(t *rapid.T) ask {
	person := rapid.Int64Range(0, 3).Draw(t, "person")
	a := ask{number: anyNumber(t), line: rapid.Int64Range(0, 4).Draw(t, "line"), id: anyID(t, "id"), steps: anyRouting(t, 2),
		reason:  rapid.SampledFrom([]string{"a knot", "a knot", "a knot", "a knot", "", " ", strings.Repeat("x", 201)}).Draw(t, "reason"),
		instead: rapid.SampledFrom([]rework.Instead{rework.UseSpares, rework.MakeNew, rework.DoWithout, "", "lunch"}).Draw(t, "instead")}
	a.scan = parts.Scan{Station: anyStation(t), Step: anyNumber(t), At: anyTime(t), By: person, Reason: a.reason,
		Parts: rapid.SliceOfN(rapid.SampledFrom(anyIDs), 0, 3).Draw(t, "parts"), Checked: rapid.Bool().Draw(t, "checked"),
		Override: rapid.Bool().Draw(t, "overrides")}
	if rarely(t, "counts") {
		a.scan.Count = rapid.SampledFrom([]int{1, 2, 3, -1, 1 << 62}).Draw(t, "count")
		a.scan.Blanks = rapid.SampledFrom([]int{0, 1, 2, -1, 1 << 62}).Draw(t, "blanks")
	}
	a.by = rework.By{Person: person, Station: a.scan.Station, At: a.scan.At}
	a.flaw = rework.Flaw{Note: a.reason, Spot: rapid.SampledFrom([]string{"", "left end"}).Draw(t, "spot"), Override: a.scan.Override,
		Coats: rapid.SliceOfN(rapid.IntRange(-1, 9), 0, 2).Draw(t, "coats"), Side: anyFaces(t)}
	a.flaw.Defect = rapid.SampledFrom(append(rework.Catalogue(), parts.Defect{}, parts.Defect{Key: "x", Again: "lunch", Steps: anySteps(t, 3)},
		parts.Defect{Key: "y", Again: parts.LastAgain, Limit: -1})).Draw(t, "defect")
	for range rapid.IntRange(0, 2).Draw(t, "traces") {
		s := anyState(t)
		d := parts.Trace{Now: s, Last: parts.Event{Part: s.Part, Command: parts.CommandID{byte(rapid.IntRange(1, 2).Draw(t, "command"))}, Recorded: anyTime(t)}}
		if rapid.Bool().Draw(t, "undone") {
			d.Last.Detail.Back = &s
		}
		if rapid.Bool().Draw(t, "older") {
			d.Before = []parts.Event{{Part: s.Part, Seq: 1, Kind: parts.Reverted, Detail: parts.Detail{Back: &s}}}
		}
		a.done = append(a.done, d)
	}
	return a
}

func anyView(t *rapid.T) parts.View {
	v := parts.View{Subject: anyState(t), Now: anyTime(t)}
	for range rapid.IntRange(0, 5).Draw(t, "group") {
		v.Group = append(v.Group, anyState(t))
	}
	if rapid.IntRange(0, 9).Draw(t, "empty maps") == 0 {
		return v
	}
	v.Lines, v.Routings = map[int64]parts.Line{}, map[int64]parts.Routing{}
	for id := range rapid.Int64Range(3, 5).Draw(t, "lines") {
		v.Lines[id] = anyLine(t, id)
		v.Routings[id] = anyRouting(t, id)
	}
	for range rapid.IntRange(0, 2).Draw(t, "needs") {
		v.Needs = append(v.Needs, v.Lines[rapid.Int64Range(0, 4).Draw(t, "needed")])
	}
	return v
}

func anyLine(t *rapid.T, id int64) parts.Line {
	small := rapid.IntRange(-2, 4)
	return parts.Line{ID: id, Kind: anyKind(t), Name: rapid.SampledFrom([]string{"Rail", "", "100 %d"}).Draw(t, "line name"),
		Quantity: small.Draw(t, "quantity"), Spares: small.Draw(t, "spares"), PerBlank: small.Draw(t, "per blank"), Each: small.Draw(t, "each"),
		Into: rapid.Int64Range(0, 2).Draw(t, "into"), Pattern: rapid.SampledFrom([]string{"", "A"}).Draw(t, "pattern"), Ticket: anyID(t, "its ticket"),
		Hand: rapid.SampledFrom([]parts.Hand{"", parts.Left, "third"}).Draw(t, "hand")}
}

func anyKind(t *rapid.T) parts.Kind {
	return rapid.SampledFrom([]parts.Kind{parts.Single, parts.Single, parts.Single, parts.Assembly, parts.Assembly, parts.Ticket, parts.Ticket, parts.Cart, "", "chair"}).Draw(t, "kind")
}

func anyStation(t *rapid.T) parts.Station {
	return rapid.SampledFrom([]parts.Station{"", "bore", "bore", "glue", "stain"}).Draw(t, "station")
}

func anyFaces(t *rapid.T) []parts.Face {
	return rapid.SliceOfN(rapid.SampledFrom([]parts.Face{parts.ShowFace, parts.Edges, "top"}), 0, 2).Draw(t, "faces")
}

func anyRouting(t *rapid.T, id int64) parts.Routing {
	return parts.Routing{ID: id, Key: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "key"), For: anyKind(t), Steps: anySteps(t, 6)}
}

func anySteps(t *rapid.T, most int) []parts.Step {
	var steps []parts.Step
	for range rapid.IntRange(0, most).Draw(t, "steps") {
		s := parts.Step{Name: rapid.SampledFrom([]string{"bore", "dry", "coat", ""}).Draw(t, "step"), Station: anyStation(t),
			Record: rarely(t, "record"), Binds: rarely(t, "binds"), Glues: rarely(t, "glues"), Bores: rarely(t, "bores"), Parts: rarely(t, "parts"), Scuff: rarely(t, "scuffs")}
		if s.Wait() {
			s.Clock = rapid.SampledFrom([]parts.Clock{parts.Drying, "", "asleep"}).Draw(t, "clock")
			s.Minutes = rapid.SampledFrom([]int{0, 60, -60, 1 << 62}).Draw(t, "minutes")
			s.Latest = rapid.SampledFrom([]int{0, 90, -1, 1 << 62}).Draw(t, "latest")
			s.Missed = rapid.SampledFrom([]string{"", "100 % sanded"}).Draw(t, "missed")
		}
		if rarely(t, "coats") {
			s.Coat, s.Coats = "stain", anyFaces(t)
		}
		if rarely(t, "checks") {
			s.Check = "a square"
		}
		s.Joins = anyFaces(t)
		steps = append(steps, s)
	}
	return steps
}

func anyWaits(t *rapid.T) []parts.Wait {
	var waits []parts.Wait
	for range rapid.SampledFrom([]int{0, 0, 1, 2}).Draw(t, "waits") {
		w := parts.Wait{Clock: rapid.SampledFrom([]parts.Clock{parts.Drying, parts.Clamps, "", "asleep"}).Draw(t, "clock"),
			Step: rapid.IntRange(-3, 12).Draw(t, "wait step"), From: anyTime(t), Until: anyTime(t)}
		if rapid.Bool().Draw(t, "windowed") {
			w.Latest = anyTime(t)
		}
		waits = append(waits, w)
	}
	return waits
}

func anyState(t *rapid.T) parts.State {
	s := parts.State{Part: rapid.SampledFrom(anyIDs[1:]).Draw(t, "part"), Seq: 3, Kind: anyKind(t), Line: rapid.SampledFrom([]int64{1, 1, 1, 2, 3, 9}).Draw(t, "line"), Number: rapid.IntRange(0, 3).Draw(t, "number"),
		Spare: rarely(t, "spare"), Test: rarely(t, "test"), Steps: rapid.SampledFrom([]int64{1, 1, 2, 3, 9}).Draw(t, "its steps"), Next: rapid.SampledFrom([]int{0, 0, 1, 1, 2, 3, 4, 6, 8, -2}).Draw(t, "next"),
		Finished: rapid.Bool().Draw(t, "finished"), Waits: anyWaits(t), LastAt: anyTime(t).Add(-2 * time.Hour), Scrapped: rarely(t, "scrapped"), Void: rarely(t, "void")}
	for range rapid.IntRange(0, 8).Draw(t, "past") {
		s.Past = append(s.Past, parts.Past{How: rapid.SampledFrom([]parts.PastHow{parts.WasDone, parts.WasFilled, parts.WasSkipped, ""}).Draw(t, "how"), At: anyTime(t)})
	}
	if rapid.IntRange(0, 3).Draw(t, "repaired") == 0 {
		s.Repair, s.Mend = anySteps(t, 3), rapid.IntRange(-2, 6).Draw(t, "mend")
		s.Nicks = rapid.SliceOfN(rapid.IntRange(-2, 9), 0, 2).Draw(t, "nicks")
		s.Flaws = []parts.Flaw{{Defect: "tear-out", Step: 1}}
	}
	odd := func(set func()) {
		if rarely(t, "odd") {
			set()
		}
	}
	odd(func() { s.In = anyID(t, "in") })
	odd(func() { s.Held = "a knot" })
	odd(func() { s.Doubt = "same setup" })
	odd(func() { s.Cart = anyID(t, "cart") })
	odd(func() { s.ReplacedBy = anyID(t, "replaced by") })
	odd(func() { s.Delivered = noon })
	odd(func() { s.Checks = []parts.Check{{Step: 1, At: anyTime(t)}} })
	if rapid.Bool().Draw(t, "put together") {
		s.Parts = rapid.SliceOfN(rapid.SampledFrom(anyIDs), 0, 3).Draw(t, "its parts")
	}
	return s
}
