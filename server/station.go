package server

import (
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/safe"
	"benchtally/parts/setup"
)

// stationPage is what a phone set to a station shows until something is
// scanned: how the machine must be set, what can be done with each setting
// now, and what will want it later.
type stationPage struct {
	Station parts.StationRow
	Setups  []setup.Setup
	// TooSmall is what comes here and is too small for the machine.
	TooSmall []safe.Warning
}

// setStation sets the phone that opened a placard to its station.
func (s *Server) setStation(c *gin.Context) error {
	st, err := s.bench.Station(c.Request.Context(), parts.Station(strings.ToLower(c.Param("station"))))
	if err != nil {
		return err
	}
	remember(c, "station", string(st.Key))
	c.Set("station", string(st.Key))
	setups, err := s.bench.Setups(c.Request.Context(), st.Key)
	if err != nil {
		return err
	}
	small, err := s.bench.TooSmall(c.Request.Context(), st.Key)
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "station", capital(st.Name), stationPage{Station: st, Setups: setups, TooSmall: small})
	return nil
}

func (s *Server) leaveStation(c *gin.Context) error {
	remember(c, "station", "")
	c.Redirect(http.StatusSeeOther, "/stations")
	return nil
}

func (s *Server) setWho(c *gin.Context) error {
	on := bench.SignOn{Name: c.PostForm("who"), PIN: c.PostForm("pin")}
	if text := c.PostForm("person"); text != "" {
		var err error
		if on.Person, err = strconv.ParseInt(text, 10, 64); err != nil {
			return noSuchPage()
		}
	}
	if _, err := s.signOn(c, on); err != nil {
		p := parts.AsProblem(err)
		if p == nil {
			return err
		}
		return s.showWho(c, statuses[p.Sort], p)
	}
	c.Redirect(http.StatusSeeOther, "/who?now=1")
	return nil
}
