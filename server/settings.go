package server

import (
	"fmt"
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
	Backups backupsSaid
	Problem *parts.Problem
	Saved   bool
}

// backupsSaid is what the owner is told of the backups.
type backupsSaid struct {
	bench.Backups
	Tools bool // a database is backed up with its own tools
	Demo  bool // nothing is kept
}

// Size is how large the newest one is.
func (b backupsSaid) Size() string {
	if b.Newest.Size < 1_000_000 {
		return fmt.Sprintf("%d kB", b.Newest.Size/1000)
	}
	return fmt.Sprintf("%d MB", (b.Newest.Size+500_000)/1_000_000)
}

func (s *Server) backupsSaid() backupsSaid {
	return backupsSaid{Backups: s.bench.Backups(), Tools: s.bench.OnDatabase(), Demo: s.demo}
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
	s.page(c, http.StatusOK, "settings", "Settings", settingsPage{Settings: set, Sheets: sheets, Backups: s.backupsSaid(), Saved: c.Query("saved") != ""})
	return nil
}

func (s *Server) saveSettings(c *gin.Context) error {
	before, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	set := before
	set.Shop, set.Zone, set.Unit = strings.TrimSpace(c.PostForm("shop")), strings.TrimSpace(c.PostForm("zone")), parts.Unit(c.PostForm("unit"))
	set.Denominator, _ = strconv.Atoi(c.PostForm("denominator"))
	set.Address, set.Paper, set.Sheet = writtenAddress(c.PostForm("address")), c.PostForm("paper"), c.PostForm("sheet")
	set.Batches = c.PostForm("batches") != ""
	set.Guessed = before.Guessed && before.Address == set.Address // only a change is a choice
	sheets, err := s.bench.Formats(c.Request.Context())
	if err != nil {
		return err
	}
	if _, err = s.bench.Format(c.Request.Context(), set.Sheet); err == nil {
		err = s.bench.SaveSettings(c.Request.Context(), set)
	}
	if p := parts.AsProblem(err); p != nil {
		s.page(c, statuses[p.Sort], "settings", "Settings", settingsPage{Settings: set, Sheets: sheets, Backups: s.backupsSaid(), Problem: p})
		return nil
	}
	if err != nil {
		return err
	}
	c.Set("noted", changedSettings(before, set))
	c.Redirect(http.StatusSeeOther, "/settings?saved=1")
	return nil
}

// changedSettings says what became of each setting that changed.
func changedSettings(before, after parts.Settings) map[string]string {
	out := map[string]string{}
	for name, of := range map[string]func(parts.Settings) string{
		"shop": func(s parts.Settings) string { return s.Shop }, "zone": func(s parts.Settings) string { return s.Zone },
		"unit": func(s parts.Settings) string { return string(s.Unit) }, "denominator": func(s parts.Settings) string { return strconv.Itoa(s.Denominator) },
		"address": func(s parts.Settings) string { return s.Address }, "paper": func(s parts.Settings) string { return s.Paper },
		"sheet": func(s parts.Settings) string { return s.Sheet }, "batches": func(s parts.Settings) string { return strconv.FormatBool(s.Batches) },
	} {
		if was, is := of(before), of(after); was != is {
			out[name] = was + " → " + is
		}
	}
	return out
}
