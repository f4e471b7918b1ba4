package server

import (
	"benchtally/parts"
	"benchtally/parts/bench"
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
func deedText(a *bench.Answer) string {
	switch a.Kind {
	case parts.Flawed:
		return capital(a.Did) + ": the repair begins"
	case parts.Returned:
		return "It came back. " + capital(a.Did) + ": the repair begins"
	case parts.Confirmed:
		return capital(a.Did) + " recorded after all"
	}
	if words, ok := deedWords[a.Kind]; ok {
		return words
	}
	return capital(a.Did) + " done"
}
