package server

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// settingsPage is the form of what the shop says once.
type settingsPage struct {
	parts.Settings
	Sheets  []bench.Format
	Problem *parts.Problem
	Saved   bool
}

// Denominators are the fractions of an inch that rules have.
func (settingsPage) Denominators() []int { return []int{8, 16, 32, 64, 128} }

func (s *Server) settings(c *gin.Context) error {
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	sheets, err := s.bench.Formats(c.Request.Context())
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "settings", "Settings", settingsPage{Settings: set, Sheets: sheets, Saved: c.Query("saved") != ""})
	return nil
}

func (s *Server) saveSettings(c *gin.Context) error {
	denominator, _ := strconv.Atoi(c.PostForm("denominator"))
	set := parts.Settings{
		Shop: strings.TrimSpace(c.PostForm("shop")), Zone: strings.TrimSpace(c.PostForm("zone")), Unit: parts.Unit(c.PostForm("unit")),
		Denominator: denominator, Address: strings.TrimRight(strings.TrimSpace(c.PostForm("address")), "/"),
		Paper: c.PostForm("paper"), Sheet: c.PostForm("sheet"),
	}
	sheets, err := s.bench.Formats(c.Request.Context())
	if err != nil {
		return err
	}
	if _, err = s.bench.Format(c.Request.Context(), set.Sheet); err == nil {
		err = s.bench.SaveSettings(c.Request.Context(), set)
	}
	if p := parts.AsProblem(err); p != nil {
		s.page(c, statuses[p.Sort], "settings", "Settings", settingsPage{Settings: set, Sheets: sheets, Problem: p})
		return nil
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/settings?saved=1")
	return nil
}
