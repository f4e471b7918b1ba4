package server

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/setup"
)

// stationPage is what a phone set to a station shows until something is
// scanned: how the machine must be set, what can be done with each setting
// now, and what will want it later.
type stationPage struct {
	Station parts.StationRow
	Setups  []setup.Setup
}

// setStation sets the phone that opened a placard to its station.
func (s *Server) setStation(c *gin.Context) error {
	st, err := s.bench.Station(c.Request.Context(), parts.Station(strings.ToLower(c.Param("station"))))
	if err != nil {
		return err
	}
	remember(c, "station", string(st.Key))
	c.Request.AddCookie(&http.Cookie{Name: "station", Value: string(st.Key)})
	setups, err := s.bench.Setups(c.Request.Context(), st.Key)
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "station", capital(st.Name), stationPage{Station: st, Setups: setups})
	return nil
}

func (s *Server) leaveStation(c *gin.Context) error {
	remember(c, "station", "")
	c.Redirect(http.StatusSeeOther, "/stations")
	return nil
}

func (s *Server) setWho(c *gin.Context) error {
	who := strings.TrimSpace(c.PostForm("who"))
	if len([]rune(who)) > 40 {
		return parts.Problemf(parts.Invalid, "name-long", "That name is longer than 40 characters.").Next("Write the name people call you by.")
	}
	remember(c, "who", who)
	c.Redirect(http.StatusSeeOther, "/stations")
	return nil
}

func (s *Server) stations(c *gin.Context) error {
	all, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "stations", "Stations", all)
	return nil
}

func (s *Server) saveStation(c *gin.Context) error {
	place, err := strconv.Atoi(strings.TrimSpace(c.PostForm("place")))
	if err != nil || place < 1 || place > 999 {
		return parts.Problemf(parts.Invalid, "station-place", "The place %q is not a number from 1 to 999.", c.PostForm("place")).Next("Number the stations in the order of the floor.")
	}
	st := parts.StationRow{Key: parts.Station(strings.TrimSpace(c.PostForm("key"))), Name: strings.TrimSpace(c.PostForm("name")),
		Caution: strings.TrimSpace(c.PostForm("caution")), Place: place}
	if _, err := s.bench.Station(c.Request.Context(), st.Key); err == nil && c.PostForm("change") == "" {
		return parts.Problemf(parts.Refused, "station-there", "There is a station %q already.", string(st.Key)).Next("Change that one below its name, or choose another short name.")
	}
	if err := s.bench.SaveStation(c.Request.Context(), st); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/stations")
	return nil
}
