package bench_test

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// days is a random history of one job: people do all that can be done to it,
// well and badly.
type days struct {
	*rapid.T
	*bench.Bench
	clock    *shoptest.Clock
	code     string
	job      bench.JobPieces
	carts    []parts.State
	recorded []parts.CommandID // what was recorded so far
	asked    map[parts.CommandID]asking
	last     asking // what was asked last
	slate    *slate // checks every answer; nil for none
	logged   map[parts.ID][]parts.Event
}

// asking is a request with the verb it was for and what it led to.
type asking struct {
	verb   string
	r      bench.Request
	target parts.CommandID // of an undo
	answer bench.Answer
	err    error
}

// String is the request as somebody would send it, for the story of a failure.
func (a asking) String() string {
	r, err := json.Marshal(a.r)
	if err != nil {
		return err.Error()
	}
	said := a.answer.Outcome
	if p := parts.AsProblem(a.err); p != nil {
		said = "refused " + p.Code
	}
	if a.answer.Problem != nil {
		said += " " + a.answer.Problem.Code
	}
	if a.verb == "undo" {
		return fmt.Sprintf("%s undo %s %q: %s", a.r.ID, a.target, a.r.Reason, said)
	}
	return fmt.Sprintf("%s %s %s: %s", a.r.ID, a.verb, r, said)
}

// randomDays opens a shop for random histories and runs check on each, with
// a new job every time.
func randomDays(t *testing.T, cases int, check func(d *days)) {
	eachJob(t, cases, func(d *days) {
		d.begin()
		check(d)
	})
}

// eachJob is randomDays before anything has happened to the job.
func eachJob(t *testing.T, cases int, check func(d *days)) {
	shoptest.Cases(t, cases)
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	keys := furnish(t, b)
	rapid.Check(t, func(rt *rapid.T) {
		d := &days{T: rt, Bench: b, clock: clock, asked: map[parts.CommandID]asking{}}
		clock.Pass(b.Now().Sub(clock.Now()) + time.Hour) // the history before may have set it back
		d.emptyCarts()
		d.makeJob(keys)
		check(d)
	})
}

// early is how the job mostly goes: a line's ticket or one assembly at a
// station. An empty line stands for an afternoon.
var early = []struct {
	line, number int
	at           parts.Station
}{
	{line: 3, at: "crosscut"}, {line: 2, at: "plane"}, {line: 1, at: "plane"}, {line: 4, at: "bore"}, {}, {line: 3, at: "crosscut"}, {line: 1, at: "stain"}, {line: 4, at: "stain"},
	{line: 3, at: "bore"}, {line: 2, at: "bore"}, {}, {line: 6, number: 1, at: "glue"}, {line: 6, number: 1, at: "glue"}, {line: 6, number: 2, at: "glue"},
	{line: 6, number: 2, at: "glue"}, {line: 1, at: "sand"}, {line: 4, at: "topcoat"}, {line: 6, at: "sand"}, {line: 5, number: 1, at: "glue"}, {line: 5, number: 1, at: "glue"}, {},
	{line: 5, number: 1, at: "stain"}, {}, {line: 5, number: 1, at: "wrap"},
}

// lineNames are the lines of the list in the order of early, from 1.
var lineNames = []string{"", "Crest rail", "Post", "Rung", "Cleat", "Bench back", "Ladder"}

// begin takes the job some way, so that short histories are not all alike.
func (d *days) begin() {
	far := d.number("how far the job has come", len(early)+1)
	for _, e := range early[:far] {
		if e.line == 0 {
			d.clock.Pass(5 * time.Hour)
			continue
		}
		name := lineNames[e.line]
		a := asking{verb: "scan", r: bench.Request{ID: shoptest.NewID(), Mark: string(d.line(name).Ticket), Station: e.at, Override: true}}
		if e.number > 0 {
			a.r.Mark = d.nth(name, e.number)
		}
		d.act(a)
	}
}

// live lets n things happen.
func (d *days) live(n int) {
	for range n {
		d.act(d.next(verbs))
	}
}

// act asks and remembers what came of it. Nothing may be a fault.
func (d *days) act(a asking) asking {
	var rule ruling
	before, now := d.all(), d.Now()
	if d.slate != nil {
		rule = d.slate.rule(a, now)
	}
	a.answer, a.err = d.ask(a)
	d.Logf("%s %s", now.Format("2 15:04"), a)
	if a.err != nil {
		require.NotNil(d, parts.AsProblem(a.err), "a fault: %v", a.err)
	}
	if a.err == nil && a.answer.Outcome == "recorded" {
		d.recorded = append(d.recorded, a.r.ID)
	}
	d.asked[a.r.ID], d.last = a, a
	d.look()
	if d.slate != nil {
		d.slate.compare(d, a, rule, before, now)
	}
	return a
}

// ask sends a request.
func (d *days) ask(a asking) (bench.Answer, error) {
	ctx := context.Background()
	verbs := map[string]func(context.Context, bench.Request) (bench.Answer, error){
		"scan": d.Scan, "plug": d.Plug, "mend": d.Mend, "return": d.Return, "hold": d.Hold, "release": d.Release,
		"remake": d.Remake, "scrap": d.Scrap, "lost": d.Lost, "take-apart": d.TakeApart, "doubt": d.Doubt,
		"clear": d.Clear, "check": d.CheckFirst, "skip": d.Bench.Skip, "load": d.Load, "clamps-off": d.ClampsOff,
	}
	switch a.verb {
	case "undo":
		return d.Undo(ctx, bench.UndoRequest{ID: a.r.ID, Command: a.target, By: a.r.By, Reason: a.r.Reason})
	case "deliver":
		return d.Deliver(ctx, bench.JobRequest{ID: a.r.ID, Job: d.code, By: a.r.By})
	}
	require.Contains(d, verbs, a.verb)
	a.r.Parts = slices.Clone(a.r.Parts) // the bench writes marks its own way
	return verbs[a.verb](ctx, a.r)
}

// log is every event of the job and of the carts, by mark.
func (d *days) log() map[parts.ID][]parts.Event {
	if d.logged != nil {
		return d.logged
	}
	d.logged = map[parts.ID][]parts.Event{}
	for _, s := range d.all() {
		events, err := d.Events(context.Background(), string(s.Part))
		require.NoError(d, err)
		d.logged[s.Part] = slices.DeleteFunc(events, func(e parts.Event) bool { return e.Part != s.Part })
	}
	return d.logged
}
