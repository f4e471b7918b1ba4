package server

import (
	"encoding/json"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/store"
)

// lateRow is a late scan with what it asked for.
type lateRow struct {
	store.Late
	Asked bench.Request
}

func (s *Server) late(c *gin.Context) error {
	all, err := s.bench.LateScans(c.Request.Context())
	if err != nil {
		return err
	}
	var rows []lateRow
	for _, l := range all {
		row := lateRow{Late: l}
		if err := json.Unmarshal(l.Request, &row.Asked); err != nil {
			return err
		}
		rows = append(rows, row)
	}
	s.page(c, http.StatusOK, "late", "Late scans", rows)
	return nil
}

// settleLate takes a late scan off the list: a person looked at it, and had
// it recorded as of now or not at all.
func (s *Server) settleLate(c *gin.Context) error {
	id, err := parts.ParseCommandID(c.Param("command"))
	if err != nil {
		return err
	}
	if c.PostForm("do") == "record" {
		fresh, err := parts.ParseCommandID(c.PostForm("id"))
		if err != nil {
			return err
		}
		if _, err := s.bench.RecordLate(c.Request.Context(), fresh, id); err != nil {
			return err
		}
	}
	if err := s.bench.Settle(c.Request.Context(), id); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/late")
	return nil
}
