package drying

import (
	"slices"
	"strconv"
	"strings"
	"time"

	"benchtally/parts"
)

// Shop is what a board is counted from. The waits of the states are judged.
type Shop struct {
	States   []parts.State // parts and assemblies that are not inside another one
	Lines    map[int64]parts.Line
	Routings map[int64]parts.Routing
	Stations []parts.StationRow
	Carts    map[parts.ID]string // names of the carts
	Products map[string]string   // names of the products, by their keys
	Zone     *time.Location      // of the shop: it says when tonight is
	Now      time.Time
}

// Board is everything that is wet.
type Board struct {
	Now  time.Time
	Rows []Row // the first to be ready first
}

// When says by when a row is ready.
type When string

// The times by which people plan.
const (
	IsReady   When = "ready"
	NextHour  When = "in the next hour"
	Tonight   When = "by tonight"
	Tomorrow  When = "by tomorrow morning"
	Later     When = "later"
	NotAtAll  When = "not before it is warmer"
	nightFrom      = 22 // the hour at which tonight is over
	morning        = 9  // the hour at which tomorrow morning is over
)

// Whens lists them in order.
var Whens = []When{IsReady, NextHour, Tonight, Tomorrow, Later, NotAtAll}

// Row is some pieces of one line, in one place and under one clock, that
// become ready at nearly the same time.
type Row struct {
	Line   parts.Line
	Name   string // of the piece when it is one, of the line when they are several
	Marks  []parts.ID
	Mark   parts.ID // the cart they lie on, else the first of them
	Place  string   // the key of the place: a cart's mark or a station's key
	Where  string   // the place as people say it: "on Cart 1", "in the booth"
	OnCart bool

	Clock   parts.Clock
	Product string // its name; "" for a wait of fixed minutes
	Key     string // its key
	Need    Need   // what may be done then; "" for a wait of fixed minutes
	Means   string // which kind of dry is meant
	Since   time.Time
	First   time.Time // when the first of them is ready
	Ready   time.Time // when all are; parts.Never while nothing progresses
	Then    time.Time // when the clock after this one is over; zero for none
	ThenIs  parts.Clock
	When    When
	Next    string // the step that is waited for; "" for none
	NextAt  string // where

	Closes time.Time // the end of the recoat window of the first of them; zero for none
	Shut   bool      // it closes before it opens
	Missed string    // what the data sheet says then
	Why    []parts.Reason
	Share  float64 // how far the last of them is, of what its data sheet asks

	Flush time.Time // when glued joints, which swell, may be sanded flush; zero for no glue

	wait parts.Wait // of the last to be ready
	cart parts.ID

	names      []string  // of the pieces, in the order of Marks
	lastCloses time.Time // the end of the recoat window of the last of them
}

// mostNamed is how many pieces of a row are named one by one.
const mostNamed = 3

// Pieces names the pieces of a row: "Locker front 3", "Locker front 3, 5",
// "12 × Locker front".
func (r Row) Pieces() string {
	if len(r.names) > mostNamed {
		return strconv.Itoa(len(r.names)) + " × " + r.Line.Name
	}
	names := slices.Clone(r.names)
	for i := range names {
		if own, ok := strings.CutPrefix(names[i], r.Line.Name+" "); ok && i > 0 {
			names[i] = own
		}
	}
	return strings.Join(names, ", ")
}

// Wait is the wait of the piece of the row that is ready last, and Cart the
// cart that it lies on.
func (r Row) Wait() (w parts.Wait, cart parts.ID) { return r.wait, r.cart }

// TooLate reports whether the recoat window of a row has closed at now.
func (r Row) TooLate(now time.Time) bool { return !r.Closes.IsZero() && now.After(r.Closes) }

// By gives the rows that are ready by a time of Whens.
func (b Board) By(w When) []Row {
	var out []Row
	for _, r := range b.Rows {
		if r.When == w {
			out = append(out, r)
		}
	}
	return out
}

// Under gives the rows of one clock.
func (b Board) Under(clock parts.Clock) []Row {
	var out []Row
	for _, r := range b.Rows {
		if r.Clock == clock && r.When != IsReady {
			out = append(out, r)
		}
	}
	return out
}

// Windows gives the rows whose recoat window has an end, the first to close
// first.
func (b Board) Windows() []Row {
	var out []Row
	for _, r := range b.Rows {
		if !r.Closes.IsZero() {
			out = append(out, r)
		}
	}
	slices.SortStableFunc(out, func(a, b Row) int { return a.Closes.Compare(b.Closes) })
	return out
}

// Pieces counts the pieces of rows.
func Pieces(rows []Row) int {
	n := 0
	for _, r := range rows {
		n += len(r.Marks)
	}
	return n
}

// In gives the board of one place; "" is every place.
func (b Board) In(place string) Board {
	if place != "" {
		b.Rows = slices.DeleteFunc(slices.Clone(b.Rows), func(r Row) bool { return r.Place != place })
	}
	return b
}
