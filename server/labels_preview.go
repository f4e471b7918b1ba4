package server

import (
	"cmp"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts/bench"
)

// labelPage shows the label of a piece on a format of the reader's choice.
type labelPage struct {
	bench.Piece
	Formats []bench.Format
	Sheet   string // key of the one that is shown
}

// label shows the page. A piece that has no label now says why.
func (s *Server) label(c *gin.Context) error {
	ctx := c.Request.Context()
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	page := labelPage{Sheet: cmp.Or(c.Query("format"), set.Sheet)}
	if page.Piece, err = s.bench.Look(ctx, c.Param("mark")); err != nil {
		return err
	}
	if _, err := s.bench.LabelPreview(ctx, c.Param("mark"), page.Sheet); err != nil {
		return err
	}
	if page.Formats, err = s.bench.Formats(ctx); err != nil {
		return err
	}
	s.page(c, http.StatusOK, "label", "Label of "+page.Name, page)
	return nil
}

// labelPreview draws the label of a piece as it would be printed now.
func (s *Server) labelPreview(c *gin.Context) error {
	svg, err := s.bench.LabelPreview(c.Request.Context(), c.Param("mark"), c.Query("format"))
	if err != nil {
		return err
	}
	c.Header("Cache-Control", "no-store") // its notches change with every step
	c.Data(http.StatusOK, "image/svg+xml", []byte(svg))
	return nil
}
