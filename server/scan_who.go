package server

import (
	"cmp"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// scanPerson is somebody whose badge a phone may read without a network.
type scanPerson struct {
	Person int64  `json:"person"`
	Name   string `json:"name"`
	Badge  string `json:"badge,omitempty"` // its secret half
}

// scanWho says who uses the phone, like a badge does, or by a name alone, since
// whoever is named by a scan is known from then on; without either it is
// nobody's.
func (s *Server) scanWho(c *gin.Context) error {
	var b scanPerson
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	name, err := s.signOn(c, bench.SignOn{Person: b.Person, Name: b.Name, Badge: b.Badge})
	if err != nil {
		return err
	}
	return s.showShop(c, placeOf(c), name)
}

// placeOf is the station that a phone stands at.
func placeOf(c *gin.Context) parts.Station {
	return parts.Station(cmp.Or(c.Query("station"), cookie(c, "station")))
}
