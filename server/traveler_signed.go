package server

import (
	"cmp"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// whenForm is a day and a time as a browser writes them; neither has a zone, and
// the shop's is meant.
const whenForm = "2006-01-02T15:04"

// signedPage is the page on which it is entered what was signed on paper: one
// day and one name for all, and the time of each step that was signed.
type signedPage struct {
	bench.Piece
	Rows     []signedRow
	Inside   []signedLine // of an assembly before its dry fit: the lines of which parts are missing
	People   []bench.Badge
	Who, Day string
	Today    string // no later day can have been signed; the page may stay open for a while
	Recorded []bench.SignedStep
	Problem  *parts.Problem
	Stopped  string // the step at which recording stopped; "" for none

	typed   url.Values        // what could not be recorded stays as it was typed
	kept    []bench.Signature // what was signed and not recorded
	stopped bool              // at the first of them
}

// Late reports whether what was signed waits on the list of late scans.
func (p signedPage) Late() bool { return p.Problem != nil && p.Problem.Sort == parts.Parked }

// signedRow is a step that may have been signed, or a wait between two.
type signedRow struct {
	bench.ToSign
	Time, Day, By string // of this step alone, as typed; "" for the page's own
}

// signedLine is a line of parts with the ticket they are signed for with.
type signedLine struct {
	Ticket parts.ID
	Name   string
}

// lookSigned fills the page in; a tick that was not recorded stays.
func (s *Server) lookSigned(c *gin.Context, page signedPage) (signedPage, error) {
	ctx := c.Request.Context()
	var err error
	if page.Piece, err = s.bench.Look(ctx, c.Param("mark")); err != nil || page.State.In != "" {
		return page, err
	}
	steps, err := s.bench.ToSign(ctx, page.Piece)
	if err != nil {
		return page, err
	}
	if page.People, err = s.bench.Badges(ctx); err != nil {
		return page, err
	}
	now := s.bench.Now()
	page.Today = now.In(s.words(c).zone).Format(time.DateOnly)
	page.Day, page.Who = cmp.Or(page.typed.Get("day"), page.Today), visitor(c).Name
	if page.typed != nil {
		page.Who = page.typed.Get("who")
	}
	for _, st := range steps {
		row, n := signedRow{ToSign: st}, strconv.Itoa(st.Number)
		if !st.Until.After(now) {
			row.Until = time.Time{}
		}
		i := slices.IndexFunc(page.kept, func(k bench.Signature) bool { return k.Step == st.Number })
		if i >= 0 || len(page.kept) == 0 && page.Problem != nil {
			row.Time, row.Day, row.By = page.typed.Get("time-"+n), page.typed.Get("day-"+n), page.typed.Get("by-"+n)
		}
		if i == 0 && page.stopped {
			page.Stopped = st.Step.Name
		}
		page.Rows = append(page.Rows, row)
	}
	for _, kit := range page.Kits {
		if kit.Line.Ticket != "" && kit.Short() > 0 {
			page.Inside = append(page.Inside, signedLine{kit.Line.Ticket, kit.Line.Name})
		}
	}
	return page, nil
}

// readSigned reads the form: the steps that have a time, in their order. Repair
// steps have the highest numbers and are done first.
func (s *Server) readSigned(c *gin.Context) (bench.SignedRequest, error) {
	r := bench.SignedRequest{Mark: c.Param("mark")}
	var err error
	if r.ID, err = parts.ParseCommandID(c.PostForm("id")); err != nil {
		return r, err
	}
	zone := s.words(c).zone
	for _, name := range slices.Sorted(maps.Keys(c.Request.PostForm)) {
		text, timed := strings.CutPrefix(name, "time-")
		if !timed || c.PostForm(name) == "" {
			continue
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The step %q is not a number from 1 up.", text).Next("Open the page again.")
		}
		sig := bench.Signature{Step: n, By: cmp.Or(strings.TrimSpace(c.PostForm("by-"+text)), strings.TrimSpace(c.PostForm("who")))}
		if len([]rune(sig.By)) > 40 {
			return r, parts.Problemf(parts.Invalid, "name-long", "That name is longer than 40 characters.").Next("Write the name people call you by.")
		}
		if sig.At, err = readWhen(cmp.Or(c.PostForm("day-"+text), c.PostForm("day"))+"T"+c.PostForm(name), zone); err != nil {
			return r, err
		}
		r.Signatures = append(r.Signatures, sig)
	}
	repairs := func(n int) int { _, repair := parts.StepIndex(n); return map[bool]int{true: 0, false: 1}[repair] }
	slices.SortStableFunc(r.Signatures, func(a, b bench.Signature) int {
		return cmp.Or(cmp.Compare(repairs(a.Step), repairs(b.Step)), cmp.Compare(a.Step, b.Step))
	})
	r.Signatures = slices.CompactFunc(r.Signatures, func(a, b bench.Signature) bool { return a.Step == b.Step })
	return r, nil
}

// readWhen reads a day and a time as a browser sends them; some leave the
// seconds on.
func readWhen(text string, zone *time.Location) (time.Time, error) {
	for _, form := range []string{whenForm, whenForm + ":05"} {
		if at, err := time.ParseInLocation(form, text, zone); err == nil {
			return at, nil
		}
	}
	return time.Time{}, parts.Problemf(parts.Invalid, "when-unreadable", "%q is no date and time.", text).
		Next("Write it like %s.", "2026-03-02T14:40")
}
