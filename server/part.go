package server

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/routing"
)

// partPage is what the page of a part, a ticket or an assembly shows.
type partPage struct {
	bench.Piece
	Offers  []bench.Offer
	Spots   []bench.Spot  // of a ticket: where its parts are
	Inside  *partPage     // of a part in an assembly: the assembly
	Did     *bench.Answer // what this phone recorded just now
	Problem *parts.Problem
	Asked   bench.Request // what was refused, to ask it again with a reason
	Reason  string        // the ready-made reason to overrule the refusal
	Old     int           // the copy of the label that was scanned, when a newer one was printed
	Parts   []member      // of an assembly: what was fitted into it
}

// Short reports whether an assembly waits for parts.
func (p partPage) Short() bool {
	return slices.ContainsFunc(p.Kits, func(k routing.Kit) bool { return k.Short() > 0 })
}

// Alive counts the parts of a ticket that are not scrapped.
func (p partPage) Alive() int {
	n := 0
	for _, s := range p.View.Group {
		if !s.Scrapped {
			n++
		}
	}
	return n
}

// FreeSpares counts the spares of a ticket that could take a place.
func (p partPage) FreeSpares() int {
	n := 0
	for _, s := range p.View.Group {
		if s.Spare && !s.Scrapped {
			n++
		}
	}
	return n
}

// NextOf is the next step of another part of the line, "" for none.
func (p partPage) NextOf(s parts.State) string {
	next, _ := parts.NextStep(p.View.Routing(s), s)
	return next.Step.Name
}

// Glued reports whether an assembly holds for good.
func (p partPage) Glued() bool {
	for i := range p.State.Past {
		if i < len(p.Steps) && p.Steps[i].Glues {
			return true
		}
	}
	return false
}

// member is a part of an assembly.
type member struct {
	Mark parts.ID
	Name string
}

func (s *Server) part(c *gin.Context) error {
	return s.showPart(c, http.StatusOK, partPage{})
}

// partCopy opens the second and later copies of a label, which say which copy
// they are.
func (s *Server) partCopy(c *gin.Context) error {
	n, err := strconv.Atoi(c.Param("mark"))
	if err != nil || n < 2 {
		return noSuchPage()
	}
	c.Params = gin.Params{{Key: "mark", Value: c.Param("second")}}
	return s.showPart(c, http.StatusOK, partPage{Old: n})
}

func (s *Server) lowerCase(c *gin.Context) error {
	c.Redirect(http.StatusMovedPermanently, "/P/"+strings.ToUpper(c.Param("mark")))
	return nil
}

// showPart shows the page of the mark in the address.
func (s *Server) showPart(c *gin.Context, status int, page partPage) error {
	ctx := c.Request.Context()
	here := parts.Station(cookie(c, "station"))
	old := page.Old
	page, err := s.lookPart(ctx, c.Param("mark"), here, page)
	if err != nil {
		return err
	}
	if old == 0 {
		old = 1
	}
	page.Old = 0
	// A link from another page is no label that somebody scanned.
	if old < page.State.Copies && c.GetHeader("Referer") == "" {
		page.Old = old
	}
	if id, err := parts.ParseCommandID(c.Query("did")); err == nil && page.Problem == nil {
		if a, found, err := s.bench.Answered(ctx, id); err != nil {
			return err
		} else if found {
			page.Did = &a
		}
	}
	s.page(c, status, "part", page.Name, page)
	return nil
}

// lookPart reads what the page shows.
func (s *Server) lookPart(ctx context.Context, mark string, here parts.Station, page partPage) (partPage, error) {
	var err error
	if page.Piece, err = s.bench.Look(ctx, mark); err != nil {
		return page, err
	}
	if page.Offers, err = s.bench.Offers(ctx, page.Piece, here); err != nil {
		return page, err
	}
	if page.State.Kind == parts.Ticket {
		page.Spots, err = s.bench.Spots(ctx, page.Piece)
		return page, err
	}
	if page.State.In != "" {
		inside, err := s.lookPart(ctx, string(page.State.In), here, partPage{})
		page.Inside = &inside
		return page, err
	}
	for _, st := range page.View.Group {
		if page.State.Kind == parts.Assembly && st.In == page.State.Part {
			page.Parts = append(page.Parts, member{Mark: st.Part, Name: page.View.Name(st)})
		}
	}
	return page, nil
}

// asked reads the form of a request about a part.
func (s *Server) asked(c *gin.Context) (bench.Request, error) {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return bench.Request{}, err
	}
	r := bench.Request{
		ID: id, Mark: c.Param("mark"), Station: parts.Station(c.PostForm("station")), By: cookie(c, "who"),
		Override: c.PostForm("override") != "", Reason: c.PostForm("reason"), Note: c.PostForm("note"), Spare: c.PostForm("spare"),
	}
	for name, to := range map[string]*int{"step": &r.Step, "count": &r.Count} {
		text := strings.TrimSpace(c.PostForm(name))
		if text == "" {
			continue
		}
		if *to, err = strconv.Atoi(text); err != nil || *to < 1 {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The %s %q is not a number from 1 up.", name, text).Next("Write it in digits.")
		}
	}
	return r, nil
}

func (s *Server) scanPart(c *gin.Context) error { return s.verb(s.bench.Scan)(c) }

// verb makes a handler of one of the bench's verbs: what was recorded is
// shown on the part's page, and so is why it was refused.
func (s *Server) verb(do func(context.Context, bench.Request) (bench.Answer, error)) func(*gin.Context) error {
	return func(c *gin.Context) error {
		r, err := s.asked(c)
		if err != nil {
			return s.showRefusal(c, r, err)
		}
		a, err := do(c.Request.Context(), r)
		if err != nil {
			return s.showRefusal(c, r, err)
		}
		if a.Problem != nil {
			return s.showRefusal(c, r, a.Problem)
		}
		return s.recorded(c, a.Command)
	}
}

// recorded goes on to the page that shows what was recorded.
func (s *Server) recorded(c *gin.Context, command string) error {
	c.Redirect(http.StatusSeeOther, "/P/"+c.Param("mark")+"?did="+command)
	return nil
}

// showRefusal shows a problem on the part's own page, with the one tap that
// overrules it where a person may judge.
func (s *Server) showRefusal(c *gin.Context, r bench.Request, err error) error {
	p, status := s.problemOf(c, err)
	page := partPage{Problem: p, Asked: r}
	switch clock, _ := p.Facts["clock"].(string); {
	case p.Code == "waiting":
		page.Reason = bench.Reason(parts.Clock(clock))
	case p.Code == "must-record":
		page.Reason = "It was done, nobody recorded it"
	case p.Code == "parts-missing":
		page.Reason = "They all lie on the bench"
	}
	if shown := s.showPart(c, status, page); shown != nil {
		return err
	}
	return nil
}

func (s *Server) undo(c *gin.Context) error {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return err
	}
	command, err := parts.ParseCommandID(c.PostForm("command"))
	if err != nil {
		return err
	}
	a, err := s.bench.Undo(c.Request.Context(), bench.UndoRequest{ID: id, Command: command, By: cookie(c, "who"), Reason: c.PostForm("reason")})
	if err != nil {
		return s.showRefusal(c, bench.Request{}, err)
	}
	if a.Problem != nil {
		return s.showRefusal(c, bench.Request{}, a.Problem)
	}
	return s.recorded(c, a.Command)
}

// find goes to what a typed or scanned text names: a mark, a whole address, a
// station's placard.
func (s *Server) find(c *gin.Context) error {
	text := strings.TrimSpace(c.Query("mark"))
	if _, key, ok := strings.Cut(strings.ToUpper(text), "/S/"); ok {
		c.Redirect(http.StatusSeeOther, "/S/"+strings.Trim(key, "/"))
		return nil
	}
	id, err := parts.ParseMark(text)
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/P/"+string(id))
	return nil
}

// longMemory is how long a phone remembers where it stands.
const longMemory = 180 * 24 * time.Hour

// remember sets what a phone remembers; "" makes it forget.
func remember(c *gin.Context, name, value string) {
	age := int(longMemory.Seconds())
	if value == "" {
		age = -1
	}
	c.SetSameSite(http.SameSiteLaxMode)
	c.SetCookie(name, value, age, "/", "", false, true)
}
