package bench_test

import (
	"cmp"
	"maps"
	"slices"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// slate is a slow, obvious model of the shop: what a foreman would keep on a
// slate by the door. It is written from the shop's rules and calls none of the
// rooms that decide. Where the shop leaves a choice (which of equal pieces
// move, which are fitted) it looks at what the bench chose and says whether
// that was allowed.
type slate struct {
	lines   map[int64]parts.Line
	lists   map[int64][]parts.Step
	defects map[string]parts.Defect
	things  map[parts.ID]*thing
	deeds   map[parts.CommandID]deed
}

// thing is a part, an assembly, a ticket or a cart.
type thing struct {
	mark                 parts.ID
	kind                 parts.Kind
	line                 int64
	number               int
	spare, test          bool
	list                 []parts.Step // what it goes through
	next                 int          // of the list; len(list) when nothing is left
	finished             bool
	behind               []past // one for each step before next
	clocks               []clock
	repair               []parts.Step // every repair step it ever had
	mend                 int          // of the repair; len(repair) when it is whole
	nicks                []int        // steps at which something went wrong
	flaws                []parts.Flaw
	in                   parts.ID
	inside               []parts.ID
	cart                 parts.ID
	held, doubt          bool
	scrapped, void       bool
	replaces, replacedBy parts.ID
	delivered            bool
	checks               map[int]time.Time // of a ticket: first pieces that were good
	lastAt               time.Time         // when the wood was touched last
	last                 parts.CommandID   // what was asked last
}

// past is how a step came to lie behind: done, taken for granted or left out.
type past struct {
	how parts.PastHow
	at  time.Time
}

// clock is a wait that was started.
type clock struct {
	from, until time.Time
	latest      time.Time // end of the window for the next coat; zero for none
	step        int
	own         bool // it is a step of the list, not of the repair
	clamps      bool // it is one that the clamps stay on for
}

// deed is what one command did: how everything stood before, nil for what it
// made.
type deed struct {
	before map[parts.ID]*thing
	when   time.Time
	undoes parts.CommandID
}

// ruling is what the slate says before the bench has answered: the answers
// that are right ("recorded", "refused held", "already done-already"), and
// what to write down when it is recorded.
type ruling struct {
	may []string
	do  func(w *writing)
}

func no(answers ...string) ruling { return ruling{may: answers} }

func yes(do func(w *writing)) ruling { return ruling{may: []string{"recorded"}, do: do} }

// newSlate copies a job that nothing has happened to, and the carts.
func newSlate(d *days, defects []parts.Defect) *slate {
	sl := &slate{lines: map[int64]parts.Line{}, lists: map[int64][]parts.Step{}, defects: map[string]parts.Defect{},
		things: map[parts.ID]*thing{}, deeds: map[parts.CommandID]deed{}}
	for _, l := range d.job.Lines {
		sl.lines[l.ID] = l
		sl.lists[l.ID] = d.job.Routings[l.Steps].Steps
	}
	for _, f := range defects {
		sl.defects[f.Key] = f
	}
	for _, s := range d.all() {
		sl.things[s.Part] = &thing{mark: s.Part, kind: s.Kind, line: s.Line, number: s.Number, spare: s.Spare, test: s.Test, list: sl.lists[s.Line],
			lastAt: s.LastAt, checks: map[int]time.Time{}}
	}
	return sl
}

// rule judges a request.
func (sl *slate) rule(a asking, now time.Time) ruling {
	at := now
	if !a.r.At.IsZero() {
		at = a.r.At
	}
	switch a.verb {
	case "undo":
		return sl.undo(a, now)
	case "deliver":
		return sl.deliver(now)
	}
	t := sl.things[parts.ID(a.r.Mark)]
	switch a.verb {
	case "scan":
		if t.kind.Counts() {
			return sl.scanMany(t, a.r, at)
		}
		return sl.scanOne(t, a.r, at)
	case "plug", "mend", "return":
		return sl.mend(a.verb, t, a.r, at)
	case "remake":
		return sl.remake(t, a.r, at)
	case "scrap":
		return sl.scrap(t, a.r, at)
	case "lost":
		return sl.lost(t, a.r, at)
	case "take-apart":
		return sl.takeApart(t, at)
	case "doubt":
		return sl.doubt(t, parts.ID(a.r.Part), at)
	case "clear":
		return sl.clear(t, at)
	case "check":
		return sl.check(t, a.r, at)
	case "skip":
		return sl.skip(t, a.r, at)
	case "clamps-off":
		return sl.clampsOff(t, a.r, at)
	case "load":
		return sl.load(t, a.r)
	case "hold":
		return sl.hold(t, a.r, at)
	}
	return sl.release(t, at)
}

// stands are the pieces that a ticket or a cart stands for, or the thing.
func (sl *slate) stands(t *thing) []*thing {
	if !t.kind.Counts() {
		return []*thing{t}
	}
	return sl.those(func(o *thing) bool {
		return !o.kind.Counts() && (t.kind == parts.Cart && o.cart == t.mark || t.kind == parts.Ticket && o.line == t.line)
	})
}

// those are the things that are so, by line and number.
func (sl *slate) those(is func(*thing) bool) []*thing {
	var out []*thing
	for _, t := range sl.things {
		if is(t) {
			out = append(out, t)
		}
	}
	slices.SortFunc(out, func(a, b *thing) int {
		return cmp.Or(cmp.Compare(a.line, b.line), cmp.Compare(a.number, b.number), cmp.Compare(a.mark, b.mark))
	})
	return out
}

// writing is the slate while something is written down.
type writing struct {
	*slate
	d     *days
	id    parts.CommandID
	deed  deed
	chose []parts.ID               // what the bench wrote something for
	after map[parts.ID]parts.State // how the bench says that stands
}

// on is a thing that something happens to, at a time or after what happened
// to it last.
func (w *writing) on(t *thing, at time.Time) *thing {
	w.touch(t)
	if at.After(t.lastAt) {
		t.lastAt = at
	}
	return t
}

// touch is on for what does nothing to the wood.
func (w *writing) touch(t *thing) *thing {
	if _, seen := w.deed.before[t.mark]; !seen {
		w.deed.before[t.mark] = t.copy()
	}
	t.last = w.id
	return t
}

func (t *thing) copy() *thing {
	c := *t
	c.behind, c.clocks, c.repair = slices.Clone(t.behind), slices.Clone(t.clocks), slices.Clone(t.repair)
	c.nicks, c.flaws, c.inside, c.checks = slices.Clone(t.nicks), slices.Clone(t.flaws), slices.Clone(t.inside), maps.Clone(t.checks)
	return &c
}

// compare holds the bench's answer, and how everything stands after it,
// against the slate.
func (sl *slate) compare(d *days, a asking, rule ruling, before []parts.State, now time.Time) {
	said := "recorded"
	switch p := parts.AsProblem(a.err); {
	case p != nil:
		said = "refused " + p.Code
	case a.answer.Problem != nil:
		said = a.answer.Outcome + " " + a.answer.Problem.Code
	}
	require.Contains(d, rule.may, said, "%s", a)
	w := &writing{slate: sl, d: d, id: a.r.ID, deed: deed{before: map[parts.ID]*thing{}, when: now, undoes: a.target}, after: map[parts.ID]parts.State{}}
	seq := map[parts.ID]int{}
	for _, s := range before {
		seq[s.Part] = s.Seq
	}
	for _, s := range d.all() {
		w.after[s.Part] = s
		if s.Seq != seq[s.Part] {
			w.chose = append(w.chose, s.Part)
		}
	}
	if said == "recorded" {
		rule.do(w)
		sl.deeds[a.r.ID] = w.deed
	}
	require.ElementsMatch(d, slices.Collect(maps.Keys(w.deed.before)), w.chose, "what %s was about", a)
	require.Len(d, w.after, len(sl.things))
	for id, s := range w.after {
		require.Equal(d, sl.things[id].picture(now), pictureOf(s, now), "how %s stands after %s", id, a)
	}
}

// picture is how a thing stands, as both the slate and the bench know it.
type picture struct {
	Next, Mend, Repairs   int
	Past                  string
	Ready                 time.Time // zero when nothing has to be waited for
	In, Cart              parts.ID
	Inside                []parts.ID
	Held, Scrapped, Void  bool
	Replaces, ReplacedBy  parts.ID
	Spare, Test, Finished bool
	InDoubt, Delivered    bool
	Flaws, Nicks          int
	Checked               []int
	LastAt                time.Time
}

func (t *thing) picture(now time.Time) picture {
	p := picture{Next: t.next, Mend: t.mend, Repairs: len(t.repair), In: t.in, Cart: t.cart, Inside: slices.Sorted(slices.Values(t.inside)),
		Held: t.held, Scrapped: t.scrapped, Void: t.void, Replaces: t.replaces, ReplacedBy: t.replacedBy, Spare: t.spare, Test: t.test, Finished: t.finished,
		InDoubt: t.doubt, Delivered: t.delivered, Flaws: len(t.flaws), Nicks: len(t.nicks), Checked: slices.Sorted(maps.Keys(t.checks)), LastAt: t.lastAt}
	for _, b := range t.behind {
		p.Past += string(b.how)
	}
	if t.wet(now) {
		p.Ready = t.ready()
	}
	return p
}

func pictureOf(s parts.State, now time.Time) picture {
	p := picture{Next: s.Next, Mend: s.Mend, Repairs: len(s.Repair), In: s.In, Cart: s.Cart, Inside: slices.Sorted(slices.Values(s.Parts)),
		Held: s.Held != "", Scrapped: s.Scrapped, Void: s.Void, Replaces: s.Replaces, ReplacedBy: s.ReplacedBy, Spare: s.Spare, Test: s.Test,
		Finished: s.Finished, InDoubt: s.Doubt != "", Delivered: !s.Delivered.IsZero(), Flaws: len(s.Flaws), Nicks: len(s.Nicks), LastAt: s.LastAt}
	for _, b := range s.Past {
		p.Past += string(b.How)
	}
	if _, wet := s.Waiting(now); wet {
		p.Ready = s.Ready()
	}
	for _, c := range s.Checks {
		p.Checked = append(p.Checked, c.Step)
	}
	slices.Sort(p.Checked)
	return p
}

// chosen are the things that the bench wrote something for and that are so.
func (w *writing) chosen(is func(*thing) bool) []*thing {
	return w.those(func(t *thing) bool { return slices.Contains(w.chose, t.mark) && is(t) })
}

// fair says that a choice of the bench was allowed.
func (w *writing) fair(ok bool, why string, args ...any) {
	assert.True(w.d, ok, append([]any{why}, args...)...)
}
