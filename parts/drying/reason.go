package drying

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"benchtally/parts"
)

// Reason is why something takes longer than its data sheet says: a stretch
// of measured air, or the air that is expected.
type Reason struct {
	Cause   Cause
	Since   time.Time     // the first moment of it
	Until   time.Time     // the last; zero for the air ahead
	Took    time.Duration // how long it was so in all; an hour for the air ahead
	Counted time.Duration // what that counted as
	Lowest  float64       // °C: the product's lowest temperature
}

// worthSaying is the least loss that is a reason.
const worthSaying = 10 * time.Minute

// nearlySheet is the speed from which the air ahead is no reason: it moves an
// hour by less than three minutes.
const nearlySheet = Sheet * 19 / 20

// slowestHour is what an hour counts as at the lower bound of the estimate.
const slowestHour = time.Duration(Slowest) * time.Hour / time.Duration(Sheet)

// measured gives what the readings of a wait cost, the greatest loss first.
func (g *Gauge) measured(r run) []Reason {
	lost := r.after.minus(r.before)
	var out []Reason
	for i, cause := range causes {
		took, got := time.Duration(lost.took[i])*time.Millisecond, time.Duration(lost.got[i])
		if took-got < worthSaying {
			continue
		}
		slow := func(s sum) int64 { return s.took[i] }
		// The first and last slow millisecond are found like the ready time.
		out = append(out, Reason{Cause: cause, Took: took, Counted: got,
			Since: moment(g.reached(r.track, slow(r.before)+1, slow) - 1),
			Until: moment(g.reached(r.track, slow(r.after), slow))})
	}
	slices.SortStableFunc(out, func(a, b Reason) int { return cmp.Compare(b.Took-b.Counted, a.Took-a.Counted) })
	return out
}

// aheadReason says that the air to come slows down what is not ready yet.
func aheadReason(r run, lowest float64) (Reason, bool) {
	if r.done || r.ahead.cause < 0 || r.ahead.rate > nearlySheet {
		return Reason{}, false
	}
	return Reason{Cause: causes[r.ahead.cause], Since: moment(r.until), Took: time.Hour, Lowest: lowest,
		Counted: time.Duration(int64(r.ahead.rate) * time.Hour.Milliseconds())}, true
}

// Ahead reports whether the reason is the air that is expected.
func (r Reason) Ahead() bool { return r.Until.IsZero() }

// Slight reports whether it costs less than a tenth of the time: worth a word,
// and no alarm.
func (r Reason) Slight() bool { return r.Cause != TooCold && (r.Took-r.Counted)*10 < r.Took }

// Say is the reason as a format and its values: times and waits, which the
// page writes in the shop's zone.
func (r Reason) Say() (format string, args []any) {
	took, counted := r.Took.Round(time.Minute), r.Counted.Round(time.Minute)
	if r.Ahead() {
		switch {
		case r.Slight():
			return "The air is nearly as the data sheet has it: an hour counts as %s.", []any{counted}
		case r.Cause == TooCold:
			return "It is colder than %s: nothing happens until it is warmer. Warm the room and the parts.", []any{parts.Degrees(r.Lowest)}
		case r.Cause == Damp:
			say := "The air is damp: an hour counts as %s."
			if r.Counted <= slowestHour {
				say = "The air is so damp that an hour counts as %s or less: check by touch, and air the room."
			}
			return say, []any{counted}
		}
		return "It is cold: an hour counts as %s.", []any{counted}
	}
	span := []any{r.Since, r.Until}
	switch {
	case r.Slight():
		return "Between %s and %s the air was nearly as the data sheet has it: %s counted as %s.", append(span, took, counted)
	case r.Cause == TooCold:
		return "Between %s and %s it was colder than %s: %s did not count.", append(span, parts.Degrees(r.Lowest), took)
	case r.Cause == Damp:
		return "Between %s and %s the air was damp: %s counted as %s.", append(span, took, counted)
	}
	return "Between %s and %s it was cold: %s counted as %s.", append(span, took, counted)
}

// Short is the reason in a few words, for a list: "cold: %s counted as %s".
func (r Reason) Short() (format string, args []any) {
	took, counted := r.Took.Round(time.Minute), r.Counted.Round(time.Minute)
	switch {
	case r.Cause == TooCold && r.Ahead():
		return "too cold: stands still", nil
	case r.Cause == TooCold:
		return "too cold: %s did not count", []any{took}
	case r.Slight() && r.Ahead():
		return "a little slower: an hour counts as %s", []any{counted}
	case r.Slight():
		return "a little slower: %s counted as %s", []any{took, counted}
	case r.Ahead():
		return "%s: an hour counts as %s", []any{string(r.Cause), counted}
	}
	return "%s: %s counted as %s", []any{string(r.Cause), took, counted}
}

// Text is the sentence in English, times in UTC.
func (r Reason) Text() string {
	format, args := r.Say()
	return fmt.Sprintf(format, args...)
}
