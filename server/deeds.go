package server

import (
	"fmt"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/templates"
)

// deedWords are what a page calls what was done, where that is no step.
var deedWords = map[parts.EventKind]string{
	parts.Plugged: "Plugged", parts.Held: "Held", parts.Released: "Released", parts.TakenApart: "Taken apart",
	parts.Doubted: "To be looked at", parts.CheckFell: "No other piece to look at. Check the setup again",
	parts.Cleared: "Looked at, and good", parts.Checked: "First piece is good", parts.Skipped: "Steps left out",
	parts.Carted: "Moved", parts.Delivered: "Delivered", parts.Scrapped: "Scrapped", parts.Replaced: "Made after all",
	parts.TookPlace: "Spare used", parts.Rerouted: "Moved over to other steps",
}

// deedText says in a few words what an answer tells that was done.
func deedText(l templates.Language, a *bench.Answer) string {
	switch a.Kind {
	case parts.Flawed:
		return fmt.Sprintf(l.Say("%s: the repair begins"), capital(a.Did))
	case parts.Returned:
		return fmt.Sprintf(l.Say("It came back. %s: the repair begins"), capital(a.Did))
	case parts.Confirmed:
		return fmt.Sprintf(l.Say("%s recorded after all"), capital(a.Did))
	}
	if words, ok := deedWords[a.Kind]; ok {
		return l.Say(words)
	}
	if a.Did == bench.ClampsAreOff {
		return l.Say("Clamps off")
	}
	return fmt.Sprintf(l.Say("%s done"), capital(a.Did))
}
