package routing

import (
	"cmp"
	"time"

	"benchtally/parts"
)

// waiting says how long the next step has to wait, until when, and why that is
// not what the data sheet says.
func waiting(v parts.View, s parts.State, step string, w parts.Wait, at time.Time) error {
	ready, last := s.Ready(), longest(s)
	var p *parts.Problem
	switch {
	case last.Dry == nil:
		p = parts.Problemf(parts.Refused, CodeWaiting, "%s is %s: %s to go, ready %s.", v.Name(s), string(w.Clock), ready.Sub(at), ready)
	case last.Still():
		p = parts.Problemf(parts.Refused, CodeWaiting, "%s is %s, and at %s it does not get any further.", v.Name(s), string(w.Clock), last.Dry.Air)
	default:
		p = parts.Problemf(parts.Refused, CodeWaiting, "%s is %s: %s to go at %s, ready %s.", v.Name(s), string(w.Clock), ready.Sub(at), last.Dry.Air, ready)
	}
	if last.Dry != nil && len(last.Dry.Why) > 0 {
		p.Also(last.Dry.Why[0].Say, last.Dry.Why[0].Args...)
	}
	p.Next(cmp.Or(waitAdvice[last.Clock], "Leave it until then. If you have looked at it and it is good, say so."))
	if w.Clock == parts.Clamps && last.Clock != w.Clock && !w.Still() {
		p.Next("The clamps may come off from %s. Then leave it until the joint has set.", w.Ends())
	}
	if !last.Still() {
		p.Fact("ready_at", ready).Fact("wait_seconds", int(ready.Sub(at).Seconds()))
	}
	return p.Fact("clock", string(w.Clock)).Fact("step", step).Fact("overrule", OverruleReason(s))
}

// waitAdvice is what to do about each clock.
var waitAdvice = map[parts.Clock]string{
	parts.Resting: "Do something else first, or say that it has moved enough.",
	parts.Clamps:  "Leave the clamps on. If you have checked the joint, say so.",
	parts.Setting: "Leave it. If you have checked the glue, say so.",
	parts.Drying:  "Leave it on the rack. If it is dry by touch on a test piece, say so.",
}

// OverruleReason is the ready-made reason, one tap, to do the next step of s
// early. It is that of the wait that ends last: a joint whose clamps may come
// off has not set, and what is dry by touch is not hard enough to wrap.
func OverruleReason(s parts.State) string {
	last := longest(s)
	switch last.Clock {
	case parts.Resting:
		return "It has moved enough"
	case parts.Clamps:
		return "Joint checked, clamps may come off"
	case parts.Setting:
		return "The joint has set"
	}
	return cmp.Or(dryEnough[last.Need], "Dry by touch")
}

// dryEnough says, in the words of the needs of parts/drying, how somebody
// knows that a coat is drier than dry by touch.
var dryEnough = map[string]string{
	"stack it": "Dry through",
	"wrap it":  "Hard: a thumbnail leaves no mark",
	"use it":   "Hard: a thumbnail leaves no mark",
}

// longest is the wait of s that ends last.
func longest(s parts.State) parts.Wait {
	var last parts.Wait
	for _, w := range s.Waits {
		if !w.Ends().Before(last.Ends()) {
			last = w
		}
	}
	return last
}

// nothingHere says that s has no coming step at the station, and what it has.
func nothingHere(v parts.View, s parts.State, at parts.Station) error {
	next, ok := parts.NextStep(v.Routing(s), s)
	if !ok {
		return parts.Problemf(parts.Refused, CodeFinished, "%s is finished: every step is behind it.", v.Name(s)).
			Next("Put it with the finished ones.")
	}
	return parts.Problemf(parts.Refused, CodeNotHere, "%s has nothing more to do at this station. Next is %s.", v.Name(s), next.Step.Name).
		Next("Set the phone to the station where that is done, or use the button on its page.").
		Fact("station", next.Step.Station).Fact("scanned_at", at).Fact("step", next.Step.Name)
}

// doneAlready says when a step was done; for a repeat that is no error.
func doneAlready(v parts.View, s parts.State, m move) error {
	if !m.repair && m.index < len(s.Past) && s.Past[m.index].How == parts.WasDone && !s.Past[m.index].At.IsZero() {
		past := s.Past[m.index]
		p := parts.Problemf(parts.Already, CodeDone, "%s: %s was done %s.", v.Name(s), m.step.Name, past.At)
		if past.By != 0 {
			p = parts.Problemf(parts.Already, CodeDone, "%s: %s was done %s by %s.", v.Name(s), m.step.Name, past.At, parts.Person(past.By))
		}
		return p.Next("Nothing to do.").Fact("done_at", past.At)
	}
	return parts.Problemf(parts.Already, CodeDone, "%s: %s lies behind it.", v.Name(s), m.step.Name).Next("Nothing to do.")
}
