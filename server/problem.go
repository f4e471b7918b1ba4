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
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/place"
	"benchtally/parts/safe"
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
	parts.TooMany:   http.StatusTooManyRequests,
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
	if forPrograms(c.Request.URL.Path) {
		s.problemJSON(c, p, status)
		return
	}
	words := s.words(c)
	s.page(c, status, "problem", "Not done", gin.H{"Say": words.Say(p), "Do": words.Do(p), "Code": p.Code, "Number": p.Facts["request"]})
}

// problemOf gives the problem in err and its status; a fault is logged once,
// here.
func (s *Server) problemOf(c *gin.Context, err error) (*parts.Problem, int) {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		err = parts.Problemf(parts.TooBig, "too-big", "That is more than %d MB, which is the most this server takes at once.", mostUpload>>20).
			Next("Send only the cut list, without pictures or other sheets.")
	}
	if parts.AsProblem(err) == nil {
		err = s.bench.Explain(err) // a full disk or a damaged file is no fault of the program
	}
	if p := parts.AsProblem(err); p != nil && statuses[p.Sort] != 0 {
		if p.Err != nil {
			s.logOf(c).Error("problem with a cause", "code", p.Code, "err", p.Err)
		}
		return p, statuses[p.Sort]
	}
	switch ended := c.Request.Context().Err(); {
	case errors.Is(ended, context.DeadlineExceeded):
		s.logOf(c).Error("request took too long", "err", err)
		return parts.Problemf(parts.Busy, "too-long", "This took too long, and it is not known whether it was saved.").
			Next("Sending it again is safe.").Fact("request", numberOf(c)), http.StatusServiceUnavailable
	case ended != nil: // the phone hung up: nothing of ours is broken
		s.logOf(c).Debug("nobody waits for the answer", "err", err)
		return closedByPhone, http.StatusInternalServerError
	}
	s.logOf(c).Error("request failed", "err", err)
	return parts.Problemf("fault", "fault", "Something broke here.").Next("Sending it again is safe.").Fact("request", numberOf(c)), http.StatusInternalServerError
}

var closedByPhone = parts.Problemf("fault", "hung-up", "Nobody waited for the answer.").Next("Sending it again is safe.")

// page shows one page. It is drawn in memory first: half a page is never sent.
func (s *Server) page(c *gin.Context, status int, name, title string, body any) {
	var out bytes.Buffer
	title = s.tongue(c).Say(title)
	t, err := s.tongue(c).Page(name)
	if err == nil {
		err = t.ExecuteTemplate(&out, "page", s.frame(c, name, title, body))
	}
	if err != nil {
		s.logOf(c).Error("draw a page", "name", name, "err", err)
		c.String(http.StatusInternalServerError, s.tongue(c).Say("Something broke here. Loading it again is safe."))
		return
	}
	c.Header("Cache-Control", "no-store") // the way back must not show an old picture
	c.Data(status, "text/html; charset=utf-8", out.Bytes())
}

// frame is what every page has around its own content.
type frame struct {
	Title      string
	Name       string
	Words      words
	Station    *parts.StationRow // the place this phone is set to
	Who        string            // who uses this phone
	In         bool              // it is a phone of the shop, not a screen or a stranger
	Owner      bool              // with the rights of an owner
	Demo       bool
	Path       string
	Body       any
	Conditions []condition // of the shop's file or its backups
}

func (s *Server) frame(c *gin.Context, name, title string, body any) frame {
	f := frame{Title: title, Name: name, Words: s.words(c), Who: visitor(c).Name, In: visitor(c).Role.May(access.Maker), Owner: visitor(c).Owner != 0, Demo: s.demo, Path: c.Request.URL.Path, Body: body}
	f.Conditions = s.conditions(f.Words)
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
	scale string // of temperatures, as a person chose it: celsius or fahrenheit; "" for the shop's
}

func (s *Server) words(ctx context.Context) words {
	set, err := s.bench.Settings(ctx)
	if err != nil {
		s.log.Error("read the settings", "err", s.bench.Explain(err))
	}
	chosen := ""
	if c, ok := ctx.(*gin.Context); ok {
		chosen = cookie(c, "scale")
	}
	return words{Settings: set, Language: s.tongue(ctx).Language, Now: s.bench.Now(), zone: set.Location(), scale: chosen, name: func(p parts.Person) string {
		people, err := s.bench.People(ctx)
		if err != nil {
			s.log.Error("read the people", "err", s.bench.Explain(err))
		}
		return cmp.Or(people[int64(p)], s.tongue(ctx).Say("somebody"))
	}}
}

// Style is how lengths, volumes and areas are written for the reader.
func (w words) Style() parts.Style {
	st := w.Settings.Style()
	st.Comma = w.Language.Say("0.5") != "0.5" // the words of a language say how it writes a half
	return st
}

// Say is what is wrong, in a sentence.
func (w words) Say(p *parts.Problem) string {
	say := fmt.Sprintf(w.Language.Say(p.Say), w.args(p.Args)...)
	if p.And != "" {
		say += " " + fmt.Sprintf(w.Language.Say(p.And), w.args(p.AndArgs)...)
	}
	return say
}

// say is a sentence with its values, which are words of the shop.
func (w words) say(format string, values ...any) string {
	return fmt.Sprintf(w.Language.Say(format), values...)
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

// Warn says that a piece is too small for a machine, and the way out.
func (w words) Warn(small safe.Warning) string {
	wrong, out := small.Say(w.Style())
	return w.Why(wrong) + " " + w.Why(out)
}

// Label is where a label sits after what was recorded, "" when that is as it was.
func (w words) Label(a bench.Answer) string {
	if a.Said == nil {
		return a.Label
	}
	return w.Place(a.Said.Label)
}

// Doubts are what a person should know of the batch that was recorded.
func (w words) Doubts(a bench.Answer) []string {
	if a.Said == nil {
		return a.Doubts
	}
	var out []string
	for _, d := range a.Said.Doubts {
		out = append(out, strings.TrimSpace(w.Say(d)+" "+w.Do(d)))
	}
	return out
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
		case parts.Degrees:
			out[i] = a.In(w.thermometer())
		case parts.Warmer:
			out[i] = a.In(w.thermometer())
		case string: // a word of ours, such as "drying"; a shop's own names stay
			out[i] = holeName(w.Language, w.Language.Say(a))
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

// In says the same after "in", and For how long it is since t after "for":
// other languages bend the days there.
func (w words) In(t time.Time) string  { return w.bent("in", t.Sub(w.Now)) }
func (w words) For(t time.Time) string { return w.bent("for", w.Now.Sub(t)) }

// bent is a length of time behind a preposition.
func (w words) bent(before string, d time.Duration) string {
	format, args := length(d)
	if !strings.Contains(format, "days") {
		format, args = "%s", []any{lasting(w.Language, d)}
	}
	return fmt.Sprintf(w.Language.Say(before+" "+format), args...)
}

// lasting is a length of time as people say it: "2 h 10 min", "2 days 5 h",
// "5 days".
func lasting(l templates.Language, d time.Duration) string {
	format, args := length(d)
	return fmt.Sprintf(l.Say(format), args...)
}

// length is a length of time as a format and its values.
func length(d time.Duration) (format string, args []any) {
	minutes := int((d + time.Minute - 1) / time.Minute) // never promise too early
	switch {
	case minutes < 1:
		return "no time", nil
	case minutes < 60:
		return "%d min", []any{minutes}
	case minutes < 48*60 && minutes%60 == 0:
		return "%d h", []any{minutes / 60}
	case minutes < 48*60:
		return "%d h %d min", []any{minutes / 60, minutes % 60}
	}
	hours := (minutes + 59) / 60
	if hours < 4*24 && hours%24 != 0 {
		return "%d days %d h", []any{hours / 24, hours % 24}
	}
	return "%d days", []any{(hours + 23) / 24}
}
