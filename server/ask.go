package server

import (
	"context"
	"net/http"
	"path"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// asked reads the form of a request about a part.
func (s *Server) asked(c *gin.Context) (bench.Request, error) {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return bench.Request{}, err
	}
	r := bench.Request{
		ID: id, Mark: c.Param("mark"), Station: parts.Station(c.PostForm("station")), By: visitor(c).Name,
		Override: c.PostForm("override") != "", Reason: c.PostForm("reason"), Note: c.PostForm("note"), Spare: c.PostForm("spare"),
		Instead: c.PostForm("instead"), Part: c.PostForm("part"), Cart: c.PostForm("cart"), Defect: c.PostForm("defect"),
		Spot: strings.TrimSpace(c.PostForm("spot")), Parts: c.PostFormArray("parts"), Checked: c.PostForm("checked") != "", Photo: c.PostForm("photo"),
	}
	r.Parts = append(r.Parts, strings.FieldsFunc(c.PostForm("marks"), func(r rune) bool {
		return unicode.IsSpace(r) || r == ',' || r == ';'
	})...)
	for _, face := range c.PostFormArray("side") {
		r.Side = append(r.Side, parts.Face(face))
	}
	for _, text := range c.PostFormArray("coat") {
		n, err := strconv.Atoi(text)
		if err != nil {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The coat %q is not a number.", text).Next("Open the page again.")
		}
		r.Coats = append(r.Coats, n)
	}
	for name, to := range map[string]*int{"step": &r.Step, "count": &r.Count, "blanks": &r.Blanks} {
		text := strings.TrimSpace(c.PostForm(name))
		if _, asked := c.GetPostForm(name); text == "" && (!asked || name == "step") {
			continue // an empty count is no count, and is asked for
		}
		if *to, err = strconv.Atoi(text); err != nil || *to < 1 {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The %s %q is not a number from 1 up.", name, text).Next("Write it in digits.")
		}
	}
	if text := c.PostForm("batch"); text != "" {
		if r.Batch, err = strconv.ParseInt(text, 10, 64); err != nil {
			return r, parts.Problemf(parts.Invalid, "number-unreadable", "The batch %q is not a number.", text).Next("Open the page again.")
		}
	}
	if text := c.PostForm("at"); text != "" {
		if r.At, err = time.Parse(time.RFC3339, text); err != nil {
			return r, parts.Problemf(parts.Invalid, "time-unreadable", "The time %q cannot be read.", text).Next("Open the page again.")
		}
	}
	return s.withPhoto(c, r)
}

// withPhoto keeps the picture that was sent with the form, if there is one.
func (s *Server) withPhoto(c *gin.Context, r bench.Request) (bench.Request, error) {
	name, err := s.sentPicture(c)
	if name != "" {
		r.Photo = name
	}
	return r, err
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

// takeOnCart puts what a person names on the cart of the address.
func (s *Server) takeOnCart(c *gin.Context) error {
	r, err := s.asked(c)
	if err != nil {
		return s.showRefusal(c, r, err)
	}
	r.Mark, r.Cart = c.PostForm("mark"), r.Mark
	a, err := s.bench.Load(c.Request.Context(), r)
	if err == nil && a.Problem != nil {
		err = a.Problem
	}
	if err != nil {
		return s.showRefusal(c, r, err)
	}
	return s.recorded(c, a.Command)
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
	switch verb := path.Base(c.FullPath()); verb {
	case "scan", "skip", "clamps-off":
		page.Verb, page.Reason = verb, overruling(p)
	case "mend", "plug", "return":
		page.Verb, page.Repair = verb, p.Code == "limit" || p.Code == "remake-better"
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
	a, err := s.bench.Undo(c.Request.Context(), bench.UndoRequest{ID: id, Command: command, By: visitor(c).Name, Reason: c.PostForm("reason")})
	if err != nil {
		return s.showRefusal(c, bench.Request{}, err)
	}
	if a.Problem != nil {
		return s.showRefusal(c, bench.Request{}, a.Problem)
	}
	return s.recorded(c, a.Command)
}
