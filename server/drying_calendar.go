package server

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/drying"
)

// dryingCalendar is a feed (RFC 5545) of when things are ready and of the last
// moments for the next coat, for any calendar that subscribes to addresses.
func (s *Server) dryingCalendar(c *gin.Context) error {
	page, err := s.lookDrying(c.Request.Context(), c.Request.URL.Query())
	if err != nil {
		return err
	}
	c.Header("Cache-Control", "no-store")
	c.Data(http.StatusOK, "text/calendar; charset=utf-8", []byte(s.calendar(c.Request.Context(), page)))
	return nil
}

// feed is the whole address of the feed of a page, as the device that shows it
// reaches the server when the shop has not chosen one.
func (s *Server) feed(c *gin.Context, page dryingPage) string {
	base := page.Words.Address
	if base == "" || onlyHere(base) {
		base = "http://" + c.Request.Host
		if c.Request.TLS != nil {
			base = "https://" + c.Request.Host
		}
	}
	asked := url.Values{"lang": {page.Words.Key}} // a calendar has no cookie that says it
	if page.Place != "" {
		asked.Set("place", page.Place)
	}
	return strings.TrimRight(base, "/") + "/drying.ics?" + asked.Encode()
}

func (s *Server) calendar(ctx context.Context, page dryingPage) string {
	cal := ics.NewCalendarFor("benchtally")
	cal.SetProductId("-//benchtally//What is wet//" + strings.ToUpper(page.Words.Key))
	cal.SetMethod(ics.MethodPublish)
	cal.SetName(page.Words.say("%s: ready", page.Words.Shop))
	cal.SetRefreshInterval("PT15M")
	for _, r := range page.Rows {
		if r.When == drying.IsReady || r.When == drying.NotAtAll {
			continue
		}
		s.calendarEvent(cal, page, r, "ready", r.Ready, page.Words.readyText(r))
	}
	for _, r := range page.Windows() {
		if !r.TooLate(page.Now) {
			s.calendarEvent(cal, page, r, "closes", r.Closes, page.Words.say("Last moment for the next coat: %s", r.Pieces()))
		}
	}
	return cal.Serialize(ics.WithNewLineWindows) // the lines of a feed end alike on every machine
}

// calendarEvent adds one moment. Its UID is made of what does not change when
// the forecast moves, so that a calendar moves the entry.
func (s *Server) calendarEvent(cal *ics.Calendar, page dryingPage, r drying.Row, what string, at time.Time, text string) {
	w, _ := r.Wait()
	e := cal.AddEvent(fmt.Sprintf("%s-%s-%d-%d@benchtally", what, r.Marks[0], w.Step, w.From.UnixMilli()))
	e.SetDtStampTime(page.Now)
	e.SetStartAt(at)
	e.SetEndAt(at.Add(15 * time.Minute))
	e.SetSummary(text)
	e.SetLocation(r.Where)
	if page.Words.Address != "" {
		e.SetURL(page.Words.Address + "/P/" + string(r.Mark))
	}
	about := page.Words.say("A forecast: it moves with the readings of the air. Check by touch on a test piece.")
	if len(r.Why) > 0 {
		about = capital(page.Words.WhyShort(r.Why[0])) + ". " + about
	}
	e.SetDescription(about)
	e.SetTimeTransparency(ics.TransparencyTransparent)
}

// readyText says what may be done with the pieces of a row.
func (w words) readyText(r drying.Row) string {
	switch {
	case r.Need != "":
		return r.Pieces() + ": " + w.Language.Say(string(r.Need))
	case r.Clock == parts.Clamps:
		return w.say("%s: clamps off", r.Pieces())
	}
	return w.say("%s: ready", r.Pieces())
}
