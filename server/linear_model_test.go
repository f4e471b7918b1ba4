package server

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/anishathalye/porcupine"

	"benchtally/parts"
)

// A second, slow and obvious account of what one part answers, written from
// what the API's description and the design say and not from the rules in
// parts/routing and parts/rework. It is for a shop whose clock stands still,
// so a clock that was started never runs out.

// boardSteps are the steps of the parts that many phones quarrel about.
var boardSteps = parts.Routing{Name: "Board with holes", For: parts.Single, Steps: []parts.Step{
	{Name: "plane", Station: "plane"},
	{Name: "rest", Clock: parts.Resting, Minutes: 24 * 60},
	{Name: "bore", Station: "bore", Bores: true},
	{Name: "sand", Station: "sand"},
	{Name: "stain", Station: "stain", Record: true},
	{Name: "sand between coats", Station: "sand"},
	{Name: "topcoat", Station: "topcoat", Record: true},
	{Name: "wrap", Station: "wrap"},
}}

// The places of two of boardSteps in the list.
const (
	restStep = 1
	boreStep = 2
)

// plugLimit is after how many plugs the shop's catalogue proposes a remake.
const plugLimit = 2

// asked is one request of a phone about one part.
type asked struct {
	verb     string // "scan", "plug", "hold", "release", "undo", or a reading: "look", "log"
	mark     string
	id       string
	station  string
	step     int    // as the API numbers them, 0 for none
	override bool   // a person overrules the refusal
	early    bool   // says that it was done before anything that was recorded
	target   string // of an undo: the id of a request
}

// heard is what the phone learnt; unknown when it was cut off before.
type heard struct {
	unknown bool
	status  int
	outcome string // "recorded", "already" or "parked"; "" for a refusal or a reading
	code    string
	did     string // of a scan, with the steps that were filled in
	stands  string // "ready", "held" ...
	next    int    // number of the step that comes now, 0 for none
	shape   string // of a look: the notches; of the log: the ids in order
}

// board is where a part stands.
type board struct {
	past  string // a letter for each step behind it: d recorded, f taken for granted, w waited for now
	plugs int
	loose bool // plugged and not bored again
	held  bool
}

// moment is one line of a part's history with where it stood then.
type moment struct {
	id   string
	then board
	back int // of an undo: how many lines there were before what it took back
}

// life is the history of one part; the first line is its place on the list.
// It is never changed, only copied.
type life []moment

func (l life) now() board { return l[len(l)-1].then }

func (l life) add(id string, b board, back int) life {
	return append(slices.Clip(l), moment{id: id, then: b, back: back})
}

func (l life) find(id string) int {
	return slices.IndexFunc(l, func(m moment) bool { return m.id == id })
}

// tell gives the life after a request, and what must be heard.
func (l life) tell(a asked) (life, heard) {
	b := l.now()
	switch a.verb {
	case "look":
		return l, heard{status: 200, stands: b.stands(), next: b.next(), shape: b.notches()}
	case "log":
		var ids []string
		for _, m := range l[1:] {
			ids = append(ids, m.id)
		}
		return l, heard{status: 200, shape: strings.Join(ids, " ")}
	case "undo":
		return l.undo(a)
	}
	after, h := b.tell(a)
	if h.outcome != "recorded" {
		return l, h
	}
	h.stands, h.next = after.stands(), after.next()
	return l.add(a.id, after, -1), h
}

// undo takes the last thing back and nothing else. What did nothing cannot be
// taken back, and what was taken back already is no error.
func (l life) undo(a asked) (life, heard) {
	at, last := l.find(a.target), l[len(l)-1]
	switch {
	case at < 0:
		return l, refused(404, "nothing-to-undo")
	case last.id == a.target:
		b := l[at-1].then
		return l.add(a.id, b, at), heard{status: 200, outcome: "recorded", did: "undone", stands: b.stands(), next: b.next()}
	case last.back == at:
		return l, already("undone-already")
	}
	return l, refused(422, "later-event")
}

func refused(status int, code string) heard { return heard{status: status, code: code} }
func already(code string) heard             { return heard{status: 200, outcome: "already", code: code} }
func recorded(did string) heard             { return heard{status: 200, outcome: "recorded", did: did} }

// tell is what a request does to a board that is no undo.
func (b board) tell(a asked) (board, heard) {
	switch a.verb {
	case "hold":
		if b.held {
			return b, already("held")
		}
		b.held = true
		return b, recorded("")
	case "release":
		if !b.held {
			return b, already("not-held")
		}
		b.held = false
		return b, recorded("")
	case "plug":
		switch {
		case b.loose:
			return b, refused(422, "plugged-already")
		case b.plugs >= plugLimit && !a.override:
			return b, refused(422, "limit")
		case len(b.past) <= boreStep:
			return b, refused(422, "not-bored")
		}
		b.loose, b.plugs = true, b.plugs+1
		return b, recorded("")
	}
	return b.scan(a)
}

// again is the number of the step that bores the hole of the last plug again;
// the one before it is the wait for that plug.
func (b board) again() int { return 1000 + 2*b.plugs }

// scan says that a step is done.
func (b board) scan(a asked) (board, heard) {
	if i := b.unsaid(a); i >= 0 {
		b.past = b.past[:i] + "d" + b.past[i+1:]
		return b, recorded(boardSteps.Steps[i].Name)
	}
	step, h := b.meant(a)
	if h.status != 0 {
		return b, h
	}
	switch {
	case b.held:
		return b, refused(422, "held")
	case a.early:
		return b, heard{status: 202, outcome: "parked", code: "late"}
	case step < 0:
		return b, b.nothingHere()
	case (b.loose || b.resting()) && !a.override:
		return b, refused(422, "waiting")
	case step > 1000:
		b.loose = false
		return b, recorded("trim flush, bore again")
	}
	return b.advance(a, step-1)
}

// advance does the step at index i; those before it are taken for granted,
// save what must be recorded.
func (b board) advance(a asked, i int) (board, heard) {
	did := boardSteps.Steps[i].Name
	if b.resting() {
		b.past = b.past[:restStep] + "f"
	}
	for n := len(b.past); n < i; n++ {
		step := boardSteps.Steps[n]
		if step.Record && !a.override {
			return b, refused(422, "must-record")
		}
		if !step.Wait() {
			did += ", " + step.Name
		}
		b.past += "f"
	}
	b.past, b.loose = b.past+"d", false
	if i+1 == restStep {
		b.past += "w"
	}
	return b, recorded(did)
}

// meant is the number of the step that a scan means, below zero for none.
func (b board) meant(a asked) (int, heard) {
	switch n := a.step; {
	case n > 1000 && (n > b.again() || n%2 == 1), n == restStep+1:
		return 0, refused(400, "step-unknown")
	case n > 1000 && (n < b.again() || !b.loose), n > 0 && n <= len(b.past):
		return 0, already("done-already")
	case n > 0:
		return n, heard{}
	case b.loose && a.station == "bore":
		return b.again(), heard{}
	}
	for i := len(b.past); i < len(boardSteps.Steps); i++ {
		if string(boardSteps.Steps[i].Station) == a.station {
			return i + 1, heard{}
		}
	}
	return -1, heard{}
}

// unsaid is the step behind it that a scan records after all, below zero for
// none: one that is named, or the last at the station of a scan from before.
func (b board) unsaid(a asked) int {
	for i := len(b.past) - 1; i >= 0; i-- {
		s := boardSteps.Steps[i]
		named := a.step == i+1
		if b.past[i] == 'f' && !s.Wait() && (named || a.step == 0 && a.early && string(s.Station) == a.station) {
			return i
		}
	}
	return -1
}

func (b board) nothingHere() heard {
	if b.next() == 0 {
		return refused(422, "finished")
	}
	return refused(422, "not-here")
}

func (b board) resting() bool { return strings.HasSuffix(b.past, "w") }

func (b board) next() int {
	switch {
	case b.loose:
		return b.again()
	case len(b.past) < len(boardSteps.Steps):
		return len(b.past) + 1
	}
	return 0
}

func (b board) stands() string {
	switch {
	case b.held:
		return "held"
	case b.loose:
		return "setting"
	case b.resting():
		return "resting"
	case b.next() == 0:
		return "finished"
	}
	return "ready"
}

// notches are the notches of its strip as the API names them.
func (b board) notches() string {
	names := map[byte]string{'d': "done", 'f': "unrecorded", 'w': "waiting"}
	out := make([]string, len(boardSteps.Steps))
	for i := range out {
		out[i] = "open"
		if i < len(b.past) {
			out[i] = names[b.past[i]]
		}
	}
	if b.loose {
		out[boreStep] = "waiting"
	}
	return strings.Join(out, " ")
}

// boardModel is the account above as the checker wants it: a history for each
// part by itself, because no request is about two.
var boardModel = porcupine.Model{
	Partition: func(all []porcupine.Operation) [][]porcupine.Operation {
		byMark := map[string][]porcupine.Operation{}
		for _, op := range all {
			mark := op.Input.(asked).mark
			byMark[mark] = append(byMark[mark], op)
		}
		var out [][]porcupine.Operation
		for _, ops := range byMark {
			out = append(out, ops)
		}
		return out
	},
	Init: func() any { return life{{back: -1}} },
	Step: func(state, input, output any) (bool, any) {
		after, want := state.(life).tell(input.(asked))
		got := output.(heard)
		return got.unknown || got == want, after
	},
	Equal: func(a, b any) bool { return slices.Equal(a.(life), b.(life)) },
	DescribeOperation: func(input, output any) string {
		return fmt.Sprintf("%+v -> %+v", input, output)
	},
	DescribeState: func(state any) string { return fmt.Sprintf("%+v", state.(life).now()) },
}

// linear judges a history. Undecided is a failure too, so it has a bound.
func linear(history []porcupine.Operation) (porcupine.CheckResult, porcupine.LinearizationInfo) {
	return porcupine.CheckOperationsVerbose(boardModel, history, 2*time.Minute)
}
