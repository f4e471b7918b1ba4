package server

import (
	"cmp"
	"encoding/hex"
	"net/http"
	"slices"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/access"
)

// devices has the addresses of the phones, screens and programs that are in
// the shop.
func (s *Server) devices(r *gin.Engine) {
	r.GET("/phones", s.try(s.phones))
	r.POST("/phones/joins", s.try(s.showJoin))
	r.GET("/phones/joins/:code", s.try(s.joined))
	r.POST("/phones/walls", s.try(s.addWall))
	r.POST("/phones/walls/:link", s.try(s.endWall))
	r.POST("/phones/ended/:device", s.try(s.endDevice))
	r.GET("/tokens", s.try(s.tokens))
	r.POST("/tokens", s.try(s.addToken))
	r.POST("/tokens/:token", s.try(s.endToken))
	r.GET("/changes", s.try(s.changed))
}

// phonesPage lists what is in the shop, and lets another one in.
type phonesPage struct {
	Devices []deviceRow
	Links   []linkRow
	Me      int64 // the device that asks
	Owner   bool
	Said    string // what was done just now
	// A code that was made just now.
	Join, Wall string // the addresses
	Calendar   string // of the same link
	Code       string // of Join, to be typed
	Until      time.Time
}

// deviceRow is a phone or a screen that is in.
type deviceRow struct {
	access.Device
	Who   string
	Owner bool
}

// linkRow is the link of a screen.
type linkRow struct {
	access.Invite
	Key string
}

func (s *Server) phones(c *gin.Context) error { return s.showPhones(c, phonesPage{}) }

func (s *Server) showPhones(c *gin.Context, page phonesPage) error {
	book, err := s.bench.AccessBook(c.Request.Context())
	if err != nil {
		return err
	}
	now := s.bench.Now()
	// By age: a list that moves while a phone is used is tapped in the wrong place.
	slices.SortFunc(book.Devices, func(a, b access.Device) int { return cmp.Compare(b.ID, a.ID) })
	for _, d := range book.Devices {
		if d.In(now) {
			page.Devices = append(page.Devices, deviceRow{d, book.People[d.Person], d.RoleAt(now) == access.Owner})
		}
	}
	for _, l := range book.Links {
		if l.Open(now) {
			page.Links = append(page.Links, linkRow{l, hex.EncodeToString(l.Hash)})
		}
	}
	page.Me, page.Owner = visitor(c).Device, visitor(c).Role == access.Owner
	s.page(c, http.StatusOK, "phones", "Phones and screens", page)
	return nil
}

// showJoin shows the code by which one more phone may join.
func (s *Server) showJoin(c *gin.Context) error {
	code, err := s.bench.NewJoin(c.Request.Context())
	if err != nil {
		return err
	}
	at := s.words(c).Address + "/join"
	return s.showPhones(c, phonesPage{Join: at + "/" + code, Code: code[:4] + "-" + code[4:], Until: s.bench.Now().Add(access.JoinFor)})
}

// joined tells the phone that shows a code what became of it: nothing while it
// waits, then the sentence that takes its place.
func (s *Server) joined(c *gin.Context) error {
	phone, over, err := s.bench.Joined(c.Request.Context(), c.Param("code"))
	if err != nil {
		return err
	}
	c.Header("Cache-Control", "no-store")
	if !over {
		c.Status(http.StatusNoContent)
		return nil
	}
	said := s.words(c).say("%s has joined", phone)
	if phone == "" {
		said = s.words(c).Language.Say("No phone joined in time")
	}
	c.String(http.StatusOK, "%s", said)
	return nil
}

// addWall makes the link of one more screen.
func (s *Server) addWall(c *gin.Context) error {
	code, err := s.bench.NewWall(c.Request.Context(), c.PostForm("name"))
	if err != nil {
		return err
	}
	return s.showPhones(c, phonesPage{Wall: s.words(c).Address + "/screen/" + code, Calendar: s.words(c).Address + "/drying.ics?link=" + code})
}

func (s *Server) endWall(c *gin.Context) error {
	if err := s.bench.EndWall(c.Request.Context(), c.Param("link")); err != nil {
		return err
	}
	return s.showPhones(c, phonesPage{Said: s.words(c).Language.Say("The link was taken back")})
}

func (s *Server) endDevice(c *gin.Context) error {
	id, err := strconv.ParseInt(c.Param("device"), 10, 64)
	if err != nil {
		return noSuchPage()
	}
	if err := s.bench.EndDevice(c.Request.Context(), id); err != nil {
		return err
	}
	return s.showPhones(c, phonesPage{Said: s.words(c).Language.Say("It was taken out")})
}

// tokensPage lists the programs that may come in.
type tokensPage struct {
	Tokens  []tokenRow
	Scopes  []scopeRow
	Made    string // the text of a token that was made just now
	Problem *parts.Problem
}

type tokenRow struct {
	access.Token
	Key string
}

type scopeRow struct {
	Scope access.Scope
	Says  string
}

var scopeRows = []scopeRow{
	{access.Read, "look at everything"},
	{access.Scan, "record what is done to parts"},
	{access.Office, "lists, prints, mixes and what the shop sets up"},
	{access.Gauge, "put in temperature and humidity"},
}

func (s *Server) tokens(c *gin.Context) error { return s.showTokens(c, http.StatusOK, tokensPage{}) }

func (s *Server) showTokens(c *gin.Context, status int, page tokensPage) error {
	book, err := s.bench.AccessBook(c.Request.Context())
	if err != nil {
		return err
	}
	for _, t := range book.Tokens {
		if t.Ended.IsZero() {
			page.Tokens = append(page.Tokens, tokenRow{t, hex.EncodeToString(t.Secret)})
		}
	}
	page.Scopes = scopeRows
	s.page(c, status, "tokens", "Programs", page)
	return nil
}

// addToken makes a token and shows it this once.
func (s *Server) addToken(c *gin.Context) error {
	var scopes []access.Scope
	for _, word := range c.PostFormArray("scope") {
		more, err := access.ParseScopes(word)
		if err != nil {
			return err
		}
		scopes = append(scopes, more...)
	}
	name, err := access.Name(c.PostForm("name"))
	if err == nil && len(scopes) == 0 {
		err = parts.Problemf(parts.Invalid, "scope-none", "A token that may do nothing is of no use.").Next("Tick what the program may do.")
	}
	if err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) { s.showTokens(c, status, tokensPage{Problem: p}) })
	}
	text, err := s.bench.AddToken(c.Request.Context(), name, scopes...)
	if err != nil {
		return err
	}
	return s.showTokens(c, http.StatusOK, tokensPage{Made: text})
}

func (s *Server) endToken(c *gin.Context) error {
	if err := s.bench.EndToken(c.Request.Context(), c.Param("token")); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/tokens")
	return nil
}
