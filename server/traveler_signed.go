package server

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// whenForm is how a browser writes date and time; neither has a zone, and the
// shop's is meant.
const whenForm = "2006-01-02T15:04"

// signedPage is the page on which it is entered what was signed on paper.
type signedPage struct {
	bench.Piece
	Rows     []signedRow
	Inside   []signedLine // of an assembly before its dry fit: the lines of which parts are missing
	People   []bench.Badge
	Most     string // the end of today; the page may stay open for a while
	Recorded []bench.SignedStep
	Problem  *parts.Problem
	Stopped  string // the step at which recording stopped; "" for none

	kept    []bench.Signature // what was ticked and not recorded
	stopped bool              // at the first of them
}

// signedRow is a step that may have been signed, or a wait between two.
type signedRow struct {
	bench.ToSign
	Ticked    bool
	By, When  string
	FieldWhen string // names of the fields
	FieldBy   string
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
	zone := s.words(c).zone
	now := s.bench.Now().In(zone).Format(whenForm)
	page.Most = now[:len(time.DateOnly)] + "T23:59"
	for _, st := range steps {
		n := strconv.Itoa(st.Number)
		row := signedRow{ToSign: st, By: cookie(c, "who"), When: now, FieldWhen: "at-" + n, FieldBy: "by-" + n}
		i := slices.IndexFunc(page.kept, func(k bench.Signature) bool { return k.Step == st.Number })
		if i >= 0 {
			row.Ticked, row.By = true, page.kept[i].By
			if !page.kept[i].At.IsZero() {
				row.When = page.kept[i].At.In(zone).Format(whenForm)
			}
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

// readSigned reads the form: the ticked steps in their order. Repair steps have
// the highest numbers and are done first.
func (s *Server) readSigned(c *gin.Context) (bench.SignedRequest, error) {
	r := bench.SignedRequest{Mark: c.Param("mark")}
	var err error
	if r.ID, err = parts.ParseCommandID(c.PostForm("id")); err != nil {
		return r, err
	}
	zone := s.words(c).zone
	for _, text := range c.PostFormArray("did") {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The step %q is not a number from 1 up.", text).Next("Open the page again.")
		}
		sig := bench.Signature{Step: n, By: strings.TrimSpace(c.PostForm("by-" + text))}
		if len([]rune(sig.By)) > 40 {
			return r, parts.Problemf(parts.Invalid, "name-long", "That name is longer than 40 characters.").Next("Write the name people call you by.")
		}
		if at := c.PostForm("at-" + text); at != "" {
			if sig.At, err = readWhen(at, zone); err != nil {
				return r, err
			}
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

// readWhen reads what a browser sends of a date and time field; some leave the
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
