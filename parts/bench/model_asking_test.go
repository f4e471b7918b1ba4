package bench_test

import (
	"math/bits"
	"slices"
	"time"

	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// verbs are what people do, the usual more often. "go on" is a scan of what is
// under repair, wet or on a cart, if there is such a thing; "say so" asks once more
// for what was refused last, with a word to overrule it.
var verbs = []string{
	"scan", "scan", "scan", "scan", "scan", "scan", "go on", "go on", "go on", "go on", "say so", "say so", "say so", "plug", "plug", "mend", "mend", "return",
	"hold", "release", "remake", "remake", "scrap", "lost", "take-apart", "doubt", "clear", "check", "skip", "clamps-off", "clamps-off", "load", "load", "load", "deliver", "undo", "undo",
}

// passes are the times that pass between two commands. The server's clock may
// also be set back.
var passes = []time.Duration{0, 0, 0, 0, time.Minute, 11 * time.Minute, time.Hour, 3 * time.Hour, 5 * time.Hour, 25 * time.Hour, -20 * time.Minute}

var stations = []parts.Station{"crosscut", "plane", "bore", "stain", "topcoat", "glue", "sand", "wrap"}

// number draws one from 0 to n-1, each as often as the others: the library's
// own numbers are mostly small, and then the same few marks would be scanned
// again and again. Found failures still shrink towards 0.
func (d *days) number(what string, n int) int {
	return rapid.Custom(func(t *rapid.T) int {
		drawn := 0
		for range bits.Len(uint(n)) + 3 {
			drawn *= 2
			if rapid.Bool().Draw(t, "bit") {
				drawn++
			}
		}
		return drawn % n
	}).Draw(d.T, what)
}

// pick draws one of a few.
func pick[T any](d *days, what string, of ...T) T { return of[d.number(what, len(of))] }

// chance is true n times in ten.
func (d *days) chance(what string, n int) bool { return d.number(what, 10) >= 10-n }

// next thinks of something to ask for.
func (d *days) next(verbs []string) asking {
	d.clock.Pass(pick(d, "time passes", passes...))
	verb := pick(d, "verb", verbs...)
	a := asking{verb: verb, r: bench.Request{ID: shoptest.NewID(), By: pick(d, "by", "", "Ann", "Ben")}}
	switch {
	case verb == "say so":
		if d.last.err != nil && slices.Contains([]string{"scan", "plug", "mend", "return", "skip", "clamps-off"}, d.last.verb) {
			a.verb, a.r = d.last.verb, d.last.r
			a.r.ID, a.r.Override, a.r.At = shoptest.NewID(), true, time.Time{}
			return a
		}
		a.verb = "scan"
	case verb == "undo" && len(d.recorded) > 0:
		// Mostly the latest: what came before it is refused.
		a.target = d.recorded[max(0, len(d.recorded)-1-d.number("back", 3))]
		a.r.Reason = pick(d, "reason", "wrong ticket", "")
		return a
	case verb == "undo":
		a.verb = "hold"
	case verb == "deliver":
		return a
	}
	d.word(&a)
	if d.chance("late", 1) {
		a.r.At = d.Now().Add(-time.Duration(1+d.number("minutes ago", 2000)) * time.Minute)
	}
	return a
}

// word fills in what a verb is about.
func (d *days) word(a *asking) {
	s := pick(d, "mark", d.likely(a.verb)...)
	r := &a.r
	r.Mark = string(s.Part)
	r.Override = d.chance("override", 2)
	r.Reason = pick(d, "reason", "a knot", "a knot", "a knot", "")
	switch a.verb {
	case "scan":
		d.aim(r, s)
	case "go on":
		a.verb = "scan"
		d.aim(r, s)
		r.Override = d.chance("said", 4)
	case "plug", "mend", "return":
		r.Note = r.Reason
		d.flaw(a, s)
	case "remake":
		if spares := d.spares(s); len(spares) > 0 && d.chance("spare", 5) {
			r.Spare = string(pick(d, "which", spares...))
		}
	case "lost":
		if p := d.oneOf(s); d.chance("aim", 8) {
			r.Step = p.Next + 1
		}
		r.Count = d.number("count", 4)
		r.Instead = pick(d, "instead", "spare", "remake", "short", "short", "luck")
	case "doubt":
		r.Part = string(d.flawed(s).Part)
	case "check", "skip":
		p := d.oneOf(s)
		r.Step = max(1, p.Next+pick(d, "further", 1, 1, 2, 3, 0))
	case "load":
		r.Cart = pick(d, "cart", "", string(d.carts[0].Part), string(d.carts[0].Part), string(d.carts[1].Part), string(d.job.States[0].Part))
		if s.Kind.Counts() {
			r.Count = pick(d, "count", 0, 0, 1, 2, 5)
		}
	}
}

// likely gives the marks that a verb mostly is about.
func (d *days) likely(verb string) []parts.State {
	all := d.all()
	out := slices.DeleteFunc(slices.Clone(all), func(s parts.State) bool {
		counts, free := s.Kind.Counts(), !s.Scrapped && s.In == ""
		switch verb {
		case "scan":
			return !counts && (!free || s.Finished && !s.Mending()) || s.Kind == parts.Cart && !slices.ContainsFunc(all, func(o parts.State) bool { return o.Cart == s.Part })
		case "go on":
			_, wet := s.Waiting(d.Now())
			loaded := slices.ContainsFunc(all, func(o parts.State) bool { return o.Cart == s.Part })
			return !free || !s.Mending() && !loaded && !(wet && !s.Finished)
		case "plug", "mend":
			return counts || !free || len(s.Past) < 2
		case "return":
			return s.Delivered.IsZero()
		case "release":
			return s.Held == ""
		case "take-apart":
			return len(s.Parts) == 0 || !free
		case "lost", "check":
			return s.Kind != parts.Ticket
		case "doubt":
			return s.Kind != parts.Ticket || len(d.flawed(s).Nicks) == 0
		case "clear":
			return s.Doubt == "" && !counts
		case "clamps-off":
			return !slices.ContainsFunc(s.Waits, func(w parts.Wait) bool { return w.Clock == parts.Clamps })
		}
		return false
	})
	if len(out) == 0 || d.chance("unlikely", 1) {
		return all
	}
	return out
}

// behindMark are the pieces that a ticket or a cart stands for, or the piece
// itself.
func (d *days) behindMark(s parts.State) []parts.State {
	if !s.Kind.Counts() {
		return []parts.State{s}
	}
	var out []parts.State
	for _, o := range d.job.States {
		if s.Kind == parts.Cart && o.Cart == s.Part || s.Kind == parts.Ticket && o.Line == s.Line && o.Kind != parts.Ticket {
			out = append(out, o)
		}
	}
	return out
}

// oneOf is one of those that a mark stands for, the live before the rest.
func (d *days) oneOf(s parts.State) parts.State {
	out := d.behindMark(s)
	live := slices.DeleteFunc(slices.Clone(out), func(o parts.State) bool { return o.Scrapped || o.In != "" || o.Finished && !o.Mending() })
	switch {
	case len(live) > 0:
		return pick(d, "one of them", live...)
	case len(out) > 0:
		return out[0]
	}
	return s
}

// flawed is one of a ticket's that had a defect, if there is one.
func (d *days) flawed(s parts.State) parts.State {
	out := d.behindMark(s)
	if i := slices.IndexFunc(out, func(o parts.State) bool { return len(o.Nicks) > 0 }); i >= 0 {
		return out[i]
	}
	return s
}

// aim chooses what a scan means: mostly what comes next, sometimes anything.
func (d *days) aim(r *bench.Request, s parts.State) {
	p := d.oneOf(s)
	r.Station = pick(d, "station", stations...)
	if steps := d.stepsOf(p); d.chance("aim", 8) && (p.Mending() || p.Next < len(steps)) {
		step, number := parts.Step{}, 0
		if p.Mending() {
			step, number = p.Repair[p.Mend], parts.StepNumber(p.Mend, true)
		} else {
			step, number = steps[p.Next], parts.StepNumber(p.Next, false)
		}
		r.Station = step.Station
		if s.Kind != parts.Cart && d.chance("named", 4) {
			r.Step = number
		}
		// Sometimes another step than the next, or one past a repair.
		if further := pick(d, "further", 0, 0, 0, 0, 0, 1, 2, 3, -1, -2); further != 0 && s.Kind != parts.Cart {
			r.Station, r.Step = "", max(1, p.Next+1+further)
		}
	}
	r.Checked = d.chance("checked", 3)
	if s.Kind.Counts() {
		r.Count = pick(d, "count", 0, 0, 1, 2, 3, 6)
		r.Blanks = pick(d, "blanks", 0, 0, 0, 1, 2)
	}
	if s.Kind == parts.Assembly && d.chance("chosen", 4) {
		r.Parts = d.onTheBench(s)
	}
}

// onTheBench names a few parts for an assembly: mostly of those it takes.
func (d *days) onTheBench(s parts.State) []string {
	var out []string
	for range 1 + d.number("parts", 3) {
		o := pick(d, "part", d.job.States...)
		fits := slices.DeleteFunc(slices.Clone(d.job.States), func(o parts.State) bool {
			return d.job.LineOf(o).Into != s.Line || o.Kind == parts.Ticket || len(s.Parts) > 0 && o.In != s.Part
		})
		if len(fits) > 0 && d.chance("fits", 8) {
			o = pick(d, "fitting part", fits...)
		}
		out = append(out, string(o.Part))
	}
	return out
}

// flaw names a defect and what is said of it.
func (d *days) flaw(a *asking, s parts.State) {
	r := &a.r
	r.Spot = pick(d, "spot", "", "left end, hole 1", "right end, hole 1")
	if a.verb == "plug" {
		return
	}
	r.Defect = pick(d, "defect", "hole-off", "tear-out", "dent", "cut-short", "squeeze-out", "blotch", "blotch", "scratch")
	for i, step := range d.stepsOf(s) {
		coated := step.Coat != "" && i < s.Next
		if coated && d.chance("blotch", 5) {
			r.Defect = "blotch"
		}
		if r.Defect == "blotch" && coated && d.chance("coat", 7) {
			r.Coats = append(r.Coats, i+1)
		}
	}
	if r.Defect == "blotch" && d.chance("any", 1) {
		r.Coats = append(r.Coats, len(r.Coats)+1)
	}
}

func (d *days) spares(of parts.State) []parts.ID {
	var out []parts.ID
	for _, s := range d.job.States {
		if s.Line == of.Line && s.Spare {
			out = append(out, s.Part)
		}
	}
	return out
}
