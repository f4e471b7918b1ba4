package server

import (
	"cmp"
	"strings"
	"unicode/utf8"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// longestName is how many characters somebody's name may have.
const longestName = 60

// scanPerson is somebody whose badge a phone may read without a network.
type scanPerson struct {
	Person int64  `json:"person"`
	Name   string `json:"name"`
}

// scanWho says who uses the phone, like a badge does, or by a name alone, since
// whoever is named by a scan is known from then on; without either it is
// nobody's.
func (s *Server) scanWho(c *gin.Context) error {
	var b scanPerson
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	name := strings.TrimSpace(b.Name)
	if utf8.RuneCountInString(name) > longestName {
		return parts.Problemf(parts.Invalid, "name-long", "A name has %d characters at most.", longestName).Next("Write a shorter one.")
	}
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
