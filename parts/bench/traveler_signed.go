package bench

import (
	"context"
	"crypto/sha256"
	"fmt"
	"slices"
	"time"

	"benchtally/parts"
)

// Signature is a step that somebody signed on paper.
type Signature struct {
	Step int       // its number, as a scan names it
	By   string    // who signed; "" when it cannot be read
	At   time.Time // when, by the shop's clock, to the minute
}

// SignedRequest asks to record what was signed on paper for one mark.
type SignedRequest struct {
	ID         parts.CommandID // of the page it is entered on
	Mark       string
	Signatures []Signature
}

// Signed is what became of it: the steps that were recorded, and those that
// were not with the problem of the first of them.
type Signed struct {
	Recorded []SignedStep
	Left     []Signature
	Problem  *parts.Problem // nil when everything was recorded
}

// SignedStep is a signature that was recorded.
type SignedStep struct {
	Signature
	Name   string // of the step
	Answer Answer // "already" when somebody had recorded it before
}

// ToSign is a step still ahead of a piece, or a wait between two.
type ToSign struct {
	Number  int // as a scan names it; 0 for a wait
	Step    parts.Step
	Station string

	// Of a step that something waits before: the step that starts the wait, by
	// its number and name, and how long it takes; or until when, where that
	// runs already.
	After     int
	AfterName string
	Wait      time.Duration
	Until     time.Time
}

// ToSign gives the steps still ahead of a piece, of a ticket those of its part
// that is furthest behind. What lies in an assembly is signed for with that.
func (b *Bench) ToSign(ctx context.Context, p Piece) ([]ToSign, error) {
	if p.State.Kind == parts.Cart {
		return nil, parts.Problemf(parts.Refused, "cart-unsigned", "%s has no steps of its own.", p.Name).Next("Open what lies on it, or its ticket.")
	}
	if p.State.Scrapped {
		return nil, parts.Problemf(parts.Refused, "scrapped", "%s is scrapped.", p.Name).Next("Open what takes its place.")
	}
	stations, err := b.store.Stations(ctx)
	if err != nil {
		return nil, err
	}
	names := map[parts.Station]string{}
	for _, st := range stations {
		names[st.Key] = st.Name
	}
	s, some := pieceToSign(p)
	if !some {
		return nil, nil
	}
	out := append(toSign(s.Repair, s.Mend, true), toSign(p.Steps, s.Next, false)...)
	waiting(out, s.Ready())
	for i := range out {
		out[i].Station = names[out[i].Step.Station]
	}
	return out, nil
}

// toSign gives the steps from one on.
func toSign(steps []parts.Step, from int, repair bool) []ToSign {
	var out []ToSign
	for i := from; i < len(steps); i++ {
		one := ToSign{Step: steps[i]}
		if !steps[i].Wait() {
			one.Number = parts.StepNumber(i, repair)
		}
		out = append(out, one)
	}
	return out
}

// waiting says of each step what it waits for: the first one for the clocks
// that run until ready, the others for the waits between.
func waiting(all []ToSign, ready time.Time) {
	var last *ToSign
	var wait time.Duration
	for i := range all {
		one := &all[i]
		if one.Number == 0 {
			wait += one.Step.Lasts()
			continue
		}
		switch {
		case last == nil:
			one.Until = ready
		case wait > 0:
			one.After, one.AfterName, one.Wait = last.Number, last.Step.Name, wait
		}
		last, wait = one, 0
	}
}

// pieceToSign is the piece whose steps are still to be signed, and whether there is
// one. A part of a ticket that is being repaired is signed for by itself.
func pieceToSign(p Piece) (parts.State, bool) {
	if p.State.Kind != parts.Ticket {
		return p.State, true
	}
	var last parts.State
	some := false
	for _, s := range p.View.Group {
		if s.Scrapped || s.In != "" || s.Held != "" || s.Mending() {
			continue
		}
		if !some || s.Next < last.Next {
			last, some = s, true
		}
	}
	return last, some
}

// Sign records what was signed on paper, in the order given, each step as a
// scan of its own. It stops at the first that is refused: nothing is overruled
// and no wait is taken for over. The same request again does nothing twice.
func (b *Bench) Sign(ctx context.Context, r SignedRequest) (Signed, error) {
	p, err := b.Look(ctx, r.Mark)
	if err != nil {
		return Signed{}, err
	}
	if err := signable(p, r.Signatures); err != nil {
		return Signed{Left: r.Signatures}, err
	}
	last := lastOf(p)
	var out Signed
	for i, sig := range r.Signatures {
		a, err := b.Scan(ctx, Request{ID: signedID(r.ID, sig.Step), Mark: string(p.State.Part), Step: sig.Step, By: sig.By, At: toMinute(sig.At, last)})
		problem := parts.AsProblem(err)
		switch {
		case err != nil && problem == nil:
			return out, fmt.Errorf("record what was signed for %s: %w", p.State.Part, err)
		case problem == nil && a.Outcome == "parked":
			problem = a.Problem
		}
		if problem != nil {
			out.Left, out.Problem = r.Signatures[i:], problem
			return out, nil
		}
		out.Recorded = append(out.Recorded, SignedStep{Signature: sig, Name: p.stepName(sig.Step), Answer: a})
	}
	return out, nil
}

// signable says what is wrong with the signatures as a whole, before the first
// is recorded.
func signable(p Piece, all []Signature) error {
	if len(all) == 0 {
		return parts.Problemf(parts.Invalid, "signed-nothing", "No step has a time, so nothing was recorded.").Next("Write the time beside what was signed on paper.")
	}
	for i, sig := range all {
		switch {
		case sig.At.IsZero():
			return parts.Problemf(parts.Invalid, "signed-when", "Step %s has no time, so nothing was recorded.", p.stepName(sig.Step)).
				Next("Write when it was signed, as well as it is known.")
		case sig.At.Before(p.Job.Made.Truncate(time.Minute)):
			return parts.Problemf(parts.Invalid, "signed-early", "%s is signed at %s, before this job was made at %s. Nothing was recorded.",
				capital(p.stepName(sig.Step)), sig.At, p.Job.Made).Next("Look at the paper again, and put the day right.")
		case i > 0 && sig.At.Before(all[i-1].At):
			return parts.Problemf(parts.Invalid, "signed-order", "%s is signed at %s, and %s, which comes before it, later. Nothing was recorded.",
				capital(p.stepName(sig.Step)), sig.At, p.stepName(all[i-1].Step)).Next("Look at the paper again, and put the times right.")
		}
	}
	return nil
}

// stepName is the name of a step by its number.
func (p Piece) stepName(number int) string {
	i, repair := parts.StepIndex(number)
	steps := p.Steps
	if repair {
		steps = p.State.Repair
	}
	if i < 0 || i >= len(steps) {
		return fmt.Sprint(number)
	}
	return steps[i].Name
}

// lastOf is when something last happened to a piece or to those of a ticket.
func lastOf(p Piece) time.Time {
	last := p.State.LastAt
	for _, s := range p.View.Group {
		if p.State.Kind == parts.Ticket && s.LastAt.After(last) {
			last = s.LastAt
		}
	}
	return last
}

// toMinute takes a time that a person wrote without seconds for the same moment
// as what happened last within that minute, not for an earlier one.
func toMinute(at, last time.Time) time.Time {
	if at.Before(last) && last.Sub(at) < time.Minute && at.Truncate(time.Minute).Equal(last.Truncate(time.Minute)) {
		return last
	}
	return at
}

// signedID makes the id of one step's command from that of the page it was
// entered on: the page sent again means the same commands.
func signedID(page parts.CommandID, step int) parts.CommandID {
	sum := sha256.Sum256(fmt.Appendf(slices.Clone(page[:]), "/%d", step))
	return parts.CommandID(sum[:16])
}
