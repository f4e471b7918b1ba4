package server

import (
	"cmp"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// scanPerson is somebody whose badge a phone may read without a network.
type scanPerson struct {
	Person int64  `json:"person"`
	Name   string `json:"name"`
}

// scanWho says who uses the phone, like a badge does; without a person it is
// nobody's.
func (s *Server) scanWho(c *gin.Context) error {
	var b scanPerson
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	name := ""
	if b.Person != 0 {
		var err error
		if name, err = s.bench.PersonByID(c.Request.Context(), b.Person); err != nil {
			return err
		}
	}
	remember(c, "who", name)
	return s.showShop(c, placeOf(c), name)
}

// placeOf is the station that a phone stands at.
func placeOf(c *gin.Context) parts.Station {
	return parts.Station(cmp.Or(c.Query("station"), cookie(c, "station")))
}
