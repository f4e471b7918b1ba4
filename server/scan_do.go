package server

import (
	"context"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// phoned is what the scanning page asks for. Its fields stay the same when it
// is sent again, all but Sent.
type phoned struct {
	scanned
	Do string `json:"do"` // one of phoneVerbs, "scan", "fit", "clamps", "clamps-off", "undo", "late-record" or "late-drop"
	// Single says that nobody has looked at the mark yet: it may be one piece,
	// or a cart with all that lies on it, since of a ticket a person has to say
	// how many.
	Single  bool         `json:"single"`
	Cart    string       `json:"cart"`
	Command string       `json:"command"` // for an undo, or a late scan that is settled
	Defect  string       `json:"defect"`
	Spot    string       `json:"spot"`
	Note    string       `json:"note"`
	Photo   string       `json:"photo"`
	Coats   []int        `json:"coats"`
	Side    []parts.Face `json:"side"`
	Spare   string       `json:"spare"`
	Instead string       `json:"instead"`
}

// phoneVerbs are the deeds that are one verb of the bench.
var phoneVerbs = map[string]func(*bench.Bench, context.Context, bench.Request) (bench.Answer, error){
	"load": (*bench.Bench).Load, "check": (*bench.Bench).CheckFirst, "mend": (*bench.Bench).Mend, "hold": (*bench.Bench).Hold,
	"release": (*bench.Bench).Release, "clear": (*bench.Bench).Clear, "remake": (*bench.Bench).Remake, "scrap": (*bench.Bench).Scrap,
	"lost": (*bench.Bench).Lost, "relabel": (*bench.Bench).Relabel,
}

// scanAnswer is what a phone shows after a scan, in the words of the shop.
type scanAnswer struct {
	Outcome   string     `json:"outcome"` // "recorded", "already", "parked" or "refused"
	Command   string     `json:"command,omitempty"`
	Mark      parts.ID   `json:"mark,omitempty"`
	Name      string     `json:"name,omitempty"`
	Did       string     `json:"did,omitempty"`
	Count     int        `json:"count,omitempty"`
	New       parts.ID   `json:"new,omitempty"` // what takes the place of a scrapped one
	Next      string     `json:"next,omitempty"`
	From      string     `json:"from,omitempty"` // when the next step may be done
	Filled    []string   `json:"filled,omitempty"`
	Behind    int        `json:"behind,omitempty"`
	Check     string     `json:"check,omitempty"`
	CheckStep int        `json:"check_step,omitempty"`
	Off       string     `json:"clock_off,omitempty"` // by how much the phone's clock is wrong
	Tally     *scanTally `json:"tally,omitempty"`
	Doubts    []string   `json:"doubts,omitempty"` // of the batch that a coat is of
	Label     string     `json:"label,omitempty"`  // where the label sits from now on
	Labels    int        `json:"labels,omitempty"` // how many wait to be printed because of it
	Code      string     `json:"code,omitempty"`   // of the problem
	Say       string     `json:"say,omitempty"`
	Do        string     `json:"do,omitempty"`
	Overrule  string     `json:"overrule,omitempty"` // the reason with which a person may overrule it
	Now       time.Time  `json:"now"`
}

func (s *Server) scanDo(c *gin.Context) error {
	var b phoned
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	b.By = s.bench.Speaks(c.Request.Context(), visitor(c), b.By)
	a, err := s.phoneVerb(c.Request.Context(), b)
	if err != nil {
		return err
	}
	out, err := s.phoneAnswer(c, a, b.Step)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if a.Problem != nil {
		status = statuses[a.Problem.Sort]
	}
	return answer(c, status, out)
}

// phoneVerb does what a phone asks for. What was answered before is answered
// from there: the piece has moved on since.
func (s *Server) phoneVerb(ctx context.Context, b phoned) (bench.Answer, error) {
	id, err := commandID(b.ID)
	if err != nil {
		return bench.Answer{}, err
	}
	if a, found, err := s.bench.Answered(ctx, id); err != nil || found {
		return a, err
	}
	switch b.Do {
	case "undo":
		command, err := parts.ParseCommandID(b.Command)
		if err != nil {
			return bench.Answer{}, err
		}
		return s.bench.Undo(ctx, bench.UndoRequest{ID: id, Command: command, By: b.By, Reason: b.Reason})
	case "late-record", "late-drop":
		return s.phoneLate(ctx, id, b)
	}
	r, err := b.request()
	if err != nil {
		return bench.Answer{}, err
	}
	if b.Single {
		if err := s.onePiece(ctx, r.Mark, b.Do); err != nil {
			return bench.Answer{}, err
		}
	}
	if verb, known := phoneVerbs[b.Do]; known {
		return verb(s.bench, ctx, r)
	}
	switch b.Do {
	case "scan", "fit", "clamps", "clamps-off":
		return s.phoneScan(ctx, b, r)
	}
	return bench.Answer{}, parts.Problemf(parts.Invalid, "deed-unknown", "This server does not know the deed %q.", b.Do).Next("Load the page again.")
}

// request is what the bench is asked.
func (b phoned) request() (bench.Request, error) {
	r, err := request(b.deed)
	r.Step, r.Count, r.Blanks, r.Parts, r.Cart = b.Step, b.Count, b.Blanks, b.Parts, b.Cart
	r.Checked, r.Override, r.Reason, r.Batch = b.Checked, b.Override, b.Reason, int64(b.Batch)
	r.Defect, r.Spot, r.Note, r.Photo, r.Coats, r.Side = b.Defect, b.Spot, b.Note, b.Photo, b.Coats, b.Side
	r.Spare, r.Instead = b.Spare, b.Instead
	return r, err
}

// phoneLate takes a late scan off the list, because a person has looked at it.
func (s *Server) phoneLate(ctx context.Context, id parts.CommandID, b phoned) (bench.Answer, error) {
	late, err := parts.ParseCommandID(b.Command)
	if err != nil {
		return bench.Answer{}, err
	}
	parked, found, err := s.bench.Answered(ctx, late)
	switch {
	case err != nil:
		return bench.Answer{}, err
	case !found || parked.Outcome != string(parts.Parked):
		return bench.Answer{}, parts.Problemf(parts.Missing, "late-unknown", "No late scan has the id %s.", late).Next("Look at the list of late scans.")
	case b.Do == "late-record":
		return s.recordLate(ctx, id, late, parked.Mark)
	}
	return bench.Answer{Outcome: "settled", Command: id.String(), Mark: parked.Mark}, s.bench.Settle(ctx, late)
}

// onePiece refuses a mark that stands for many pieces. A cart was loaded with
// what belongs together: a step is done to all that lies on it.
func (s *Server) onePiece(ctx context.Context, mark, do string) error {
	p, err := s.bench.Look(ctx, mark)
	if err == nil && p.State.Kind.Counts() && (p.State.Kind != parts.Cart || do != "scan") {
		err = parts.Problemf(parts.Refused, "count-wanted", "%s stands for many pieces.", p.Name).
			Next("Say how many of them it is about.").Fact("mark", p.State.Part)
	}
	return err
}

// phoneScan records a step. The phone may have no picture of the piece: then
// the deed names the step that is meant.
func (s *Server) phoneScan(ctx context.Context, b phoned, r bench.Request) (bench.Answer, error) {
	if !b.Single && b.Do == "scan" {
		return s.bench.Scan(ctx, r)
	}
	p, err := s.bench.Look(ctx, r.Mark)
	if err != nil {
		return bench.Answer{}, err
	}
	if p.State.In != "" { // what is done to the part is done to the assembly
		if r.Mark = string(p.State.In); b.Do != "scan" {
			if p, err = s.bench.Look(ctx, r.Mark); err != nil {
				return bench.Answer{}, err
			}
		}
	}
	switch b.Do {
	case "clamps-off":
		return s.bench.ClampsOff(ctx, r)
	case "fit", "clamps":
		if r.Step = stepFor(b.Do, p); r.Step == 0 {
			return bench.Answer{}, parts.Problemf(parts.Refused, "no-such-step", "%s has no step of that kind.", p.Name).
				Next("Scan the mark of a frame.")
		}
	}
	return s.bench.Scan(ctx, r)
}

// stepFor is the number of the step that a deed names: the dry fit, or the
// glue-up. The next one counts, and behind that the last one, so that a repeat
// says that it was done. 0 for none.
func stepFor(deed string, p bench.Piece) int {
	number := 0
	for i, st := range p.Steps {
		if deed == "fit" && st.Binds || deed == "clamps" && st.Glues {
			if number = parts.StepNumber(i, false); i >= p.State.Next {
				break
			}
		}
	}
	return number
}

// phoneAnswer puts what the bench answered into the words of the shop.
func (s *Server) phoneAnswer(c *gin.Context, a bench.Answer, step int) (scanAnswer, error) {
	words := s.words(c)
	out := scanAnswer{Outcome: a.Outcome, Command: a.Command, Mark: a.Mark, Name: a.Name, Did: capital(a.Did), Count: a.Count, New: a.New,
		Filled: a.Filled, Behind: a.Behind, Check: a.Check, CheckStep: a.CheckStep, Doubts: words.Doubts(a), Label: words.Label(a), Labels: a.Labels, Now: words.Now}
	if a.Off != 0 {
		out.Off = lasting(words.Language, (time.Duration(a.Off) * time.Second).Abs())
	}
	if a.Next != nil {
		out.Next = a.Next.Name
		if words.Now.Before(a.Next.Ready) {
			out.From = words.When(a.Next.Ready)
		}
	}
	if p := a.Problem; p != nil {
		out.Code, out.Say, out.Do = p.Code, words.Say(p), words.Do(p)
		return out, nil
	}
	if a.Kind != parts.Did && a.Kind != parts.Mended || a.Did == bench.ClampsAreOff {
		return out, nil
	}
	var err error
	out.Tally, err = s.tally(c.Request.Context(), a, step)
	return out, err
}

// overruling is the ready-made reason with which a person may overrule a
// refusal; "" where nobody may.
func overruling(p *parts.Problem) string {
	switch p.Code {
	case "waiting":
		reason, _ := p.Facts["overrule"].(string)
		return reason
	case "must-record":
		return "It was done, nobody recorded it"
	case "parts-missing":
		return "They all lie on the bench"
	case "window-missed":
		return "Done as the data sheet says"
	case "scuff-first":
		return "Glue faces scuffed"
	case "to-be-looked-at":
		return "Looked at, it is good"
	case finish.CodeBatchesDiffer:
		return bench.GoOnReason
	case finish.CodeNoJar:
		return bench.NoJarReason
	case "limit", "remake-better":
		return "Repair it all the same"
	}
	return ""
}
