package server

import (
	"bytes"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts/bench"
)

// photo sends a picture of a defect. Its name is made from its bytes, so what
// a phone has kept never goes stale; it is kept on the phone only, because
// what a shop's pictures show is not for caches between.
func (s *Server) photo(c *gin.Context) error {
	p, err := s.bench.Photo(c.Request.Context(), c.Param("name"))
	if err != nil {
		return err
	}
	h := c.Writer.Header()
	h.Set("Content-Type", p.Type)
	h.Set("Cache-Control", fmt.Sprintf("private, max-age=%d, immutable", int((365*24*time.Hour).Seconds())))
	h.Set("ETag", `"`+p.Name+`"`)
	http.ServeContent(c.Writer, c.Request, "", time.Time{}, bytes.NewReader(p.Data))
	return nil
}

// sentPicture keeps the picture of a form; "" when there is none.
func (s *Server) sentPicture(c *gin.Context) (string, error) {
	file, err := c.FormFile("picture")
	if err != nil || file.Size == 0 {
		return "", nil
	}
	f, err := file.Open()
	if err != nil {
		return "", fmt.Errorf("open a picture: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, bench.MostPhoto+1))
	if err != nil {
		return "", fmt.Errorf("read a picture: %w", err)
	}
	return s.bench.AddPhoto(c.Request.Context(), data)
}
