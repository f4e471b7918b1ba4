package server

import (
	"encoding/json"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/access"
)

// sessionCookie holds the secret of a device that is in the shop.
const sessionCookie = "shop"

// passwordField is the field of a form in which an owner says that they are.
const passwordField = "owner-password"

// admit lets those in who may open the address. Everybody else gets the way in
// instead, and what they sent is kept for them.
func (s *Server) admit(c *gin.Context) {
	address := c.Request.Method + " " + c.FullPath()
	d, known := doors[address]
	if !known {
		d = look // what is no address is nobody's to know either
	}
	var err error
	if forPrograms(c.Request.URL.Path) {
		err = s.admitProgram(c, d)
	} else {
		err = s.admitDevice(c, d)
	}
	if err == nil {
		err = s.paced(c)
	}
	if err != nil {
		s.turnAway(c, d, err)
		c.Abort()
		return
	}
	c.Next()
	if d.noted && c.Writer.Status() < http.StatusBadRequest {
		s.noteChange(c, address)
	}
}

// forPrograms reports whether an address is for programs, which carry a token.
func forPrograms(path string) bool { return strings.HasPrefix(path, "/api/") || path == "/metrics" }

// visitor is who asks.
func visitor(c *gin.Context) access.Visitor {
	v, _ := c.Get("visitor")
	who, _ := v.(access.Visitor)
	return who
}

// stillIn reports whether a device that watches may go on watching.
func (s *Server) stillIn(c *gin.Context) bool {
	if s.demo {
		return true
	}
	secret, _ := c.Cookie(sessionCookie)
	who, err := s.bench.Visitor(c.Request.Context(), secret)
	return err == nil && who.Role != access.Nobody
}

// admitDevice finds out which device asks, and whether it may. A demo is open
// to everybody, as its owner.
func (s *Server) admitDevice(c *gin.Context, d door) error {
	who := access.Visitor{Role: access.Owner, Name: cookie(c, "who")}
	if !s.demo {
		secret, _ := c.Cookie(sessionCookie)
		var err error
		if who, err = s.bench.Visitor(c.Request.Context(), secret); err != nil {
			return err
		}
	}
	if link := c.Query("link"); who.Role == access.Nobody && link != "" && c.FullPath() == "/drying.ics" {
		// A calendar carries no cookie: it comes with the link of a screen.
		err := s.tries(c, "code", func() error {
			_, err := s.bench.Invited(c.Request.Context(), link, access.Wall)
			return err
		})
		if err != nil {
			return err
		}
		who.Role = access.Viewer
	}
	c.Set("visitor", who)
	if who.Role.May(d.role) {
		return nil
	}
	switch {
	case who.Role == access.Nobody:
		return parts.Problemf(parts.Unsigned, "signed-out", "This phone is not in the shop.").
			Next("Open any page of the shop on it and let it join.")
	case d.role == access.Owner && who.Role == access.Maker:
		return s.lendFor(c, who)
	}
	return parts.Problemf(parts.Forbidden, "screen-only", "This screen only shows.").Next("Use a phone of the shop for that.")
}

// lendFor gives a maker's phone the rights of an owner when the password came
// with the form.
func (s *Server) lendFor(c *gin.Context, who access.Visitor) error {
	if c.Request.Method == http.MethodPost && c.PostForm(passwordField) != "" {
		err := s.lend(c, who, c.PostForm(passwordField))
		if err == nil {
			return nil
		}
		return err
	}
	return parts.Problemf(parts.Forbidden, "owner-asked", "Only the owner sets this up.").Next("Type the owner's password. What you wrote is kept.")
}

// tries lets whoever asks try a secret of a kind, not too often.
func (s *Server) tries(c *gin.Context, kind string, do func() error) error {
	return s.patience.try(kind+" "+c.RemoteIP(), s.bench.Now(), do)
}

// lend checks an owner's password for a device that is in.
func (s *Server) lend(c *gin.Context, who access.Visitor, password string) error {
	err := s.tries(c, "password", func() error { return s.bench.Lend(c.Request.Context(), who, password) })
	if err != nil {
		return err
	}
	secret, _ := c.Cookie(sessionCookie)
	lent, err := s.bench.Visitor(c.Request.Context(), secret)
	c.Set("visitor", lent)
	return err
}

const tokenAdvice = "Make one with `benchtally token -db FILE -scope read,scan` on the computer that has the shop's file, and send it as Authorization: Bearer TOKEN."

// admitProgram finds out which program asks, by its token, and whether it may.
func (s *Server) admitProgram(c *gin.Context, d door) error {
	c.Header("Cache-Control", "no-store")
	if s.demo || d == open {
		return nil
	}
	scheme, text, _ := strings.Cut(c.GetHeader("Authorization"), " ")
	text = strings.TrimSpace(text)
	if !strings.EqualFold(scheme, "Bearer") || text == "" {
		return parts.Problemf(parts.Unsigned, "token-missing", "This request carries no token.").Next(tokenAdvice)
	}
	token, known, err := s.bench.Program(c.Request.Context(), text)
	if err != nil {
		return err
	}
	if !known { // each costs a look into the database
		return s.tries(c, "token", func() error {
			return parts.Problemf(parts.Unsigned, "token-unknown", "This shop does not know the token of this request.").Next(tokenAdvice)
		})
	}
	c.Set("token", token)
	if d.scope == "" || token.May(d.scope) { // what is no address is told to every program
		return nil
	}
	return parts.Problemf(parts.Forbidden, "token-scope", "This token may not do that: it lacks the scope %s.", string(d.scope)).
		Next("Make one with it: benchtally token -db FILE -scope %s", string(d.scope))
}

// paced keeps one device or program from taking the server for itself.
func (s *Server) paced(c *gin.Context) error {
	token, _ := c.Get("token")
	switch t, program := token.(access.Token); {
	case s.demo:
		return nil
	case program:
		return s.pace.ask("token "+string(t.Secret), time.Now())
	case visitor(c).Device != 0:
		return s.pace.ask("device "+strconv.FormatInt(visitor(c).Device, 10), time.Now())
	}
	return nil
}

// turnAway answers one who may not. A program and the scanning page get a
// document; a person gets the page that lets them in.
func (s *Server) turnAway(c *gin.Context, d door, err error) {
	p, status := s.problemOf(c, err)
	if p.Sort == parts.TooMany {
		c.Header("Retry-After", "30")
	}
	switch path := c.Request.URL.Path; {
	case forPrograms(path):
		s.fail(c, p)
	case strings.HasPrefix(path, "/scan/"):
		s.tryPhone(func(*gin.Context) error { return p })(c)
	case strings.HasSuffix(path, "/stream"):
		c.Status(status)
	case p.Code == "signed-out" && d.found:
		s.found(c)
	case p.Code == "signed-out":
		s.showSignIn(c, status, nil)
	case p.Code == "owner-asked" || c.PostForm(passwordField) != "":
		s.askOwner(c, status, p)
	default:
		s.fail(c, p)
	}
}

// ownerPage asks for an owner's password and sends on what was sent.
type ownerPage struct {
	Problem *parts.Problem
	Action  string
	Fields  url.Values
}

func (s *Server) askOwner(c *gin.Context, status int, p *parts.Problem) {
	page := ownerPage{Action: c.Request.URL.RequestURI(), Fields: url.Values{}}
	if p.Code != "owner-asked" {
		page.Problem = p
	}
	if c.Request.Method == http.MethodGet {
		page.Action, page.Fields = "/owner", url.Values{"next": {c.Request.URL.RequestURI()}}
	} else {
		for name, values := range c.Request.PostForm {
			if name != passwordField {
				page.Fields[name] = values
			}
		}
	}
	s.page(c, status, "owner", "Owner's password", page)
}

// noteChange writes into the book of changes what was sent to an address.
func (s *Server) noteChange(c *gin.Context, address string) {
	change := access.Change{Person: visitor(c).Person, Device: visitor(c).Device, What: address, Detail: sent(c)}
	if owner := visitor(c).Owner; owner != 0 {
		change.Person = owner
	}
	if token, ok := c.Get("token"); ok {
		change.Token = token.(access.Token).Name
	}
	if err := s.bench.Note(c.Request.Context(), change); err != nil {
		s.log.Error("note a change", "address", address, "err", err)
	}
}

// mostNoted bounds what the book of changes keeps of one form.
const mostNoted = 2000

// secretFields are never written down.
var secretFields = map[string]bool{passwordField: true, "password": true, "pin": true, "id": true, "next": true, "code": true, "change": true}

// sent gives what a handler said that it changed, or else a form without its secrets, and what the address named, as JSON.
func sent(c *gin.Context) string {
	if said, ok := c.Get("noted"); ok {
		data, _ := json.Marshal(said)
		return string(data[:min(len(data), mostNoted)])
	}
	out := map[string]string{}
	for _, p := range c.Params {
		if p.Key != "code" || strings.HasPrefix(c.FullPath(), "/jobs/") { // other codes let somebody in
			out[p.Key] = p.Value
		}
	}
	for name, values := range c.Request.PostForm {
		if !secretFields[name] {
			out[name] = strings.Join(values, ", ")
		}
	}
	data, err := json.Marshal(out)
	if err != nil || len(data) > mostNoted {
		data, _ = json.Marshal(map[string]string{"fields": strings.Join(slices.Sorted(maps.Keys(out)), ", ")})
	}
	return string(data[:min(len(data), mostNoted)])
}
