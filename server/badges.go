package server

import (
	"bytes"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// badgesPage is where badges and the placards of racks are chosen. It is also
// what a phone sees that scanned a badge.
type badgesPage struct {
	People []bench.Badge
	Carts  []bench.CartRow
	Added  string // whose name was added just now; "" for nobody's
	Me     string // who just said with a badge that the phone is theirs; "" for nobody
}

func (s *Server) badges(c *gin.Context) error { return s.showBadges(c, "") }

func (s *Server) showBadges(c *gin.Context, me string) error {
	page := badgesPage{Me: me, Added: c.Query("added")}
	var err error
	if page.People, err = s.bench.Badges(c.Request.Context()); err != nil {
		return err
	}
	if page.Carts, err = s.bench.Carts(c.Request.Context()); err != nil {
		return err
	}
	s.page(c, http.StatusOK, "badges", "Badges and racks", page)
	return nil
}

// addPerson makes a name known that has recorded nothing yet.
func (s *Server) addPerson(c *gin.Context) error {
	name := strings.Join(strings.Fields(c.PostForm("name")), " ")
	if err := s.bench.AddPerson(c.Request.Context(), name); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/badges?added="+url.QueryEscape(name))
	return nil
}

// scanBadge sets who uses the phone that scanned a badge. It changes nothing
// else.
func (s *Server) scanBadge(c *gin.Context) error {
	number, badge, _ := strings.Cut(c.Param("person"), "-")
	id, err := strconv.ParseInt(number, 10, 64)
	if err != nil {
		return noSuchPage()
	}
	_, err = s.signOn(c, bench.SignOn{Person: id, Badge: badge})
	if p := parts.AsProblem(err); p != nil && p.Sort == parts.Forbidden {
		return s.showWho(c, statuses[p.Sort], p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/who?now=1")
	return nil
}

// badgeCards sends the badges to print, of everybody or of those named.
func (s *Server) badgeCards(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WriteBadges(c.Request.Context(), &out, c.QueryArray("names")); err != nil {
		return err
	}
	sendPDF(c, "badges.pdf", out.Bytes())
	return nil
}

// rackPlacard sends the placard of a rack to print.
func (s *Server) rackPlacard(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WriteRackPlacard(c.Request.Context(), &out, c.Query("name"), c.Query("cart")); err != nil {
		return err
	}
	sendPDF(c, "rack.pdf", out.Bytes())
	return nil
}
