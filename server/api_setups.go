package server

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/setup"
)

// setupJSON is one way a machine is set, with everything that wants it.
type setupJSON struct {
	Step   string           `json:"step"`
	Sets   parts.Dimension  `json:"sets,omitempty"`
	Size   string           `json:"size,omitempty"`
	Ready  int              `json:"ready"`
	Later  int              `json:"later"`
	Here   []setupGroupJSON `json:"here"`
	Coming []setupGroupJSON `json:"coming"`
}

// setupGroupJSON is some pieces of one line that want a setup.
type setupGroupJSON struct {
	Line  string   `json:"line"`
	Count int      `json:"count"`
	Mark  parts.ID `json:"mark"`
	Where string   `json:"where,omitempty"`
}

// apiSetups lists what a station's machine must be set to.
func (s *Server) apiSetups(c *gin.Context) error {
	key := parts.Station(c.Query("station"))
	if key == "" {
		return fieldMissing("station", "Send the key of a station in the address: /api/v1/setups?station=KEY.")
	}
	st, err := s.bench.Station(c.Request.Context(), key)
	if err != nil {
		return err
	}
	all, err := s.bench.Setups(c.Request.Context(), st.Key)
	if err != nil {
		return err
	}
	out := make([]setupJSON, 0, len(all))
	for _, u := range all {
		out = append(out, setupJSON{Step: u.Step, Sets: u.Sets, Size: u.Size, Ready: u.Ready, Later: u.Later,
			Here: setupGroups(u.Here), Coming: setupGroups(u.Coming)})
	}
	return answer(c, http.StatusOK, out)
}

func setupGroups(groups []setup.Group) []setupGroupJSON {
	out := make([]setupGroupJSON, 0, len(groups))
	for _, g := range groups {
		out = append(out, setupGroupJSON{Line: g.Line.Name, Count: g.Count, Mark: g.Mark, Where: g.Where})
	}
	return out
}
