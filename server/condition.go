package server

import (
	"time"

	"benchtally/parts/store"
)

// condition is what is wrong with the shop's file or its backups, as a person
// reads it.
type condition struct {
	Say, Do string
	Since   time.Time
	Stops   bool // nothing is saved while it lasts
}

// conditions says what is wrong now, in the words of a reader.
func (s *Server) conditions(w words) []condition {
	var all []condition
	for _, t := range s.bench.Conditions() {
		all = append(all, condition{w.Say(t.Problem), w.Do(t.Problem), t.Since, t.Stops()})
	}
	return all
}

// conditionJSON is the same for a program.
type conditionJSON struct {
	Code   string    `json:"code"`
	Detail string    `json:"detail"`
	Next   string    `json:"next"`
	Since  time.Time `json:"since"`
}

func conditionsJSON(w words, all []store.Condition) []conditionJSON {
	out := []conditionJSON{}
	for _, t := range all {
		out = append(out, conditionJSON{t.Code, w.Say(t.Problem), w.Do(t.Problem), t.Since})
	}
	return out
}
