package server

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
)

// formatJSON is a format that labels can be printed on. Its lengths are exact,
// written as cut lists are.
type formatJSON struct {
	Key         string            `json:"key"`
	Name        string            `json:"name"`
	Kind        labels.FormatKind `json:"kind"`
	Own         bool              `json:"own"`
	Labels      int               `json:"labels"`
	Columns     int               `json:"columns"`
	Rows        int               `json:"rows"`
	LabelWidth  string            `json:"label_width"`
	LabelHeight string            `json:"label_height"`
	PageWidth   string            `json:"page_width"`
	PageHeight  string            `json:"page_height"`
	DPI         int               `json:"dpi"`
}

// apiFormats lists what a print order may name as its sheet.
func (s *Server) apiFormats(c *gin.Context) error {
	all, err := s.bench.Formats(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]formatJSON, 0, len(all))
	for _, f := range all {
		out = append(out, formatJSON{Key: f.Key, Name: f.Name, Kind: f.Kind, Own: f.Own, Labels: f.PerPage(), Columns: f.Columns, Rows: f.Rows,
			LabelWidth: f.LabelW.String(), LabelHeight: f.LabelH.String(), PageWidth: f.PageW.String(), PageHeight: f.PageH.String(), DPI: f.DPI})
	}
	return answer(c, http.StatusOK, out)
}
