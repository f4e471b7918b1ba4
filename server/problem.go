package server

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/place"
	"benchtally/templates"
)

// statuses is the only place where a problem becomes an HTTP status.
var statuses = map[parts.Sort]int{
	parts.Invalid:   http.StatusBadRequest,
	parts.Unsigned:  http.StatusUnauthorized,
	parts.Forbidden: http.StatusForbidden,
	parts.Unfit:     http.StatusMethodNotAllowed,
	parts.Missing:   http.StatusNotFound,
	parts.Refused:   http.StatusUnprocessableEntity,
	parts.Stale:     http.StatusConflict,
	parts.TooBig:    http.StatusRequestEntityTooLarge,
	parts.Busy:      http.StatusServiceUnavailable,
	parts.Already:   http.StatusOK,
	parts.Parked:    http.StatusAccepted,
}

func noSuchPage() error {
	return parts.Problemf(parts.Missing, "no-such-page", "There is nothing at this address.").
		Next("Go to the floor, or look up the mark.")
}

func noSuchMethod() error {
	return parts.Problemf(parts.Unfit, "no-such-method", "This address does not take requests of that kind.").
		Next("The API's description at /api/v1/openapi.json says which it takes.")
}

func fromElsewhere() error {
	return parts.Problemf(parts.Forbidden, "from-elsewhere", "A page of another site sent this.").
		Next("Open the page on this server and send it from there.")
}

// try runs a handler and shows its problem, if any. Only faults are logged;
// a part that is still wet is the shop working, not the program failing.
func (s *Server) try(handle func(*gin.Context) error) gin.HandlerFunc {
	return func(c *gin.Context) {
		if err := handle(c); err != nil {
			s.fail(c, err)
		}
	}
}

// fail shows what went wrong, to a person as a page and to a program as a
// problem document (RFC 9457).
func (s *Server) fail(c *gin.Context, err error) {
	p, status := s.problemOf(c, err)
	if c.Writer.Written() {
		return
	}
	if strings.HasPrefix(c.Request.URL.Path, "/api/") {
		s.problemJSON(c, p, status)
		return
	}
	words := s.words(c)
	s.page(c, status, "problem", "Not done", gin.H{"Say": words.Say(p), "Do": words.Do(p), "Code": p.Code})
}

// problemOf gives the problem in err and its status; a fault is logged once,
// here.
func (s *Server) problemOf(c *gin.Context, err error) (*parts.Problem, int) {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		err = parts.Problemf(parts.TooBig, "too-big", "That is more than %d MB, which is the most this server takes at once.", mostUpload>>20).
			Next("Send only the cut list, without pictures or other sheets.")
	}
	if p := parts.AsProblem(err); p != nil && statuses[p.Sort] != 0 {
		if p.Err != nil {
			s.log.Error("problem with a cause", "path", c.Request.URL.Path, "code", p.Code, "err", p.Err)
		}
		return p, statuses[p.Sort]
	}
	if c.Request.Context().Err() != nil { // the phone hung up: nothing of ours is broken
		s.log.Debug("nobody waits for the answer", "method", c.Request.Method, "path", c.Request.URL.Path, "err", err)
		return closedByPhone, http.StatusInternalServerError
	}
	s.log.Error("request failed", "method", c.Request.Method, "path", c.Request.URL.Path, "err", err)
	return parts.Problemf("fault", "fault", "Something broke here.").Next("Sending it again is safe."), http.StatusInternalServerError
}

var closedByPhone = parts.Problemf("fault", "hung-up", "Nobody waited for the answer.").Next("Sending it again is safe.")

// page shows one page. It is drawn in memory first: half a page is never sent.
func (s *Server) page(c *gin.Context, status int, name, title string, body any) {
	t := s.tongue(c).pages[name]
	var out bytes.Buffer
	if t == nil {
		s.log.Error("no such template", "name", name)
		c.String(http.StatusInternalServerError, "Something broke here.")
		return
	}
	title = s.tongue(c).Say(title)
	if err := t.ExecuteTemplate(&out, "page", s.frame(c, name, title, body)); err != nil {
		s.log.Error("draw a page", "name", name, "err", err)
		c.String(http.StatusInternalServerError, "Something broke here. Loading it again is safe.")
		return
	}
	c.Header("Cache-Control", "no-store") // the way back must not show an old picture
	c.Data(status, "text/html; charset=utf-8", out.Bytes())
}

// frame is what every page has around its own content.
type frame struct {
	Title   string
	Name    string
	Words   words
	Station *parts.StationRow // the place this phone is set to
	Who     string            // who uses this phone
	Demo    bool
	Path    string
	Body    any
}

func (s *Server) frame(c *gin.Context, name, title string, body any) frame {
	f := frame{Title: title, Name: name, Words: s.words(c), Who: cookie(c, "who"), Demo: s.demo, Path: c.Request.URL.Path, Body: body}
	if key := cookie(c, "station"); key != "" {
		if st, err := s.bench.Station(c.Request.Context(), parts.Station(key)); err == nil {
			f.Station = &st
		}
	}
	return f
}

// words writes times, lengths and problems as the shop does.
type words struct {
	parts.Settings
	templates.Language
	Now   time.Time
	zone  *time.Location
	name  func(parts.Person) string
	scale string // of temperatures, that which is written first: celsius or fahrenheit
}

func (s *Server) words(ctx context.Context) words {
	set, err := s.bench.Settings(ctx)
	if err != nil {
		s.log.Error("read the settings", "err", err)
	}
	return words{Settings: set, Language: s.tongue(ctx).Language, Now: s.bench.Now(), zone: set.Location(), name: func(p parts.Person) string {
		people, err := s.bench.People(ctx)
		if err != nil {
			s.log.Error("read the people", "err", err)
		}
		return cmp.Or(people[int64(p)], s.tongue(ctx).Say("somebody"))
	}}
}

// Say is what is wrong, in a sentence.
func (w words) Say(p *parts.Problem) string {
	return fmt.Sprintf(w.Language.Say(p.Say), w.args(p.Args)...)
}

// Do is what to do next.
func (w words) Do(p *parts.Problem) string {
	if p.Do == "" {
		return ""
	}
	return fmt.Sprintf(w.Language.Say(p.Do), w.args(p.DoArgs)...)
}

// Tell is a moment of a history as a sentence.
func (w words) Tell(m bench.Moment) string {
	return fmt.Sprintf(w.Language.Say(m.Say), w.args(m.Args)...)
}

// Place is where a label sits, in sentences.
func (w words) Place(said place.Words) string {
	var out []string
	for _, s := range said {
		out = append(out, fmt.Sprintf(w.Language.Say(s.Say), w.args(s.Args)...))
	}
	return strings.Join(out, " ")
}

// args writes times and waits as people say them.
func (w words) args(args []any) []any {
	out := make([]any, len(args))
	for i, a := range args {
		switch a := a.(type) {
		case time.Time:
			out[i] = w.When(a)
		case time.Duration:
			out[i] = lasting(w.Language, a)
		case parts.Person:
			out[i] = w.name(a)
		case string: // a word of ours, such as "drying"; a shop's own names stay
			out[i] = w.Language.Say(a)
		default:
			out[i] = a
		}
	}
	return out
}

// When is a time as people say it: "14:40", "tomorrow 08:10", "Thu 14:40".
func (w words) When(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	if t.Equal(parts.Never) {
		return w.Language.Say("warmer air")
	}
	t, now := t.In(w.zone), w.Now.In(w.zone)
	days := int(midnight(t).Sub(midnight(now)).Round(24*time.Hour).Hours() / 24)
	clock := t.Format("15:04")
	switch {
	case days == 0:
		return clock
	case days == 1:
		return w.Language.Say("tomorrow") + " " + clock
	case days == -1:
		return w.Language.Say("yesterday") + " " + clock
	case days > 1 && days < 7:
		return w.Language.Say(t.Format("Mon")) + " " + clock
	}
	return t.Format(fmt.Sprintf(w.Language.Say("2 %s 15:04"), w.Language.Say(t.Format("Jan"))))
}

// Day is a day as people say it, with its year: "1 Jan 2020".
func (w words) Day(t time.Time) string {
	t = t.In(w.zone)
	return t.Format(fmt.Sprintf(w.Language.Say("2 %s 2006"), w.Language.Say(t.Format("Jan"))))
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, t.Location())
}

// OnlyHere reports whether the address in the codes is one that no phone can
// open.
func (w words) OnlyHere() bool { return onlyHere(w.Address) }

// onlyHere reports whether nothing but this computer can open an address.
func onlyHere(address string) bool {
	u, err := url.Parse(address)
	if err != nil {
		return true
	}
	ip := net.ParseIP(u.Hostname())
	return u.Hostname() == "" || u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
}

// LongAgo reports whether t is so long ago that taking it back wants a reason.
func (w words) LongAgo(t time.Time) bool { return w.Now.Sub(t) > bench.Freely }

// Until is how long it is from now to t.
func (w words) Until(t time.Time) string { return lasting(w.Language, t.Sub(w.Now)) }

// lasting is a length of time as people say it: "2 h 10 min", "2 days 5 h",
// "5 days".
func lasting(l templates.Language, d time.Duration) string {
	minutes := int((d + time.Minute - 1) / time.Minute) // never promise too early
	say := func(format string, args ...any) string { return fmt.Sprintf(l.Say(format), args...) }
	switch {
	case minutes < 1:
		return say("no time")
	case minutes < 60:
		return say("%d min", minutes)
	case minutes < 48*60 && minutes%60 == 0:
		return say("%d h", minutes/60)
	case minutes < 48*60:
		return say("%d h %d min", minutes/60, minutes%60)
	}
	hours := (minutes + 59) / 60
	if hours < 4*24 && hours%24 != 0 {
		return say("%d days %d h", hours/24, hours%24)
	}
	return say("%d days", (hours+23)/24)
}
