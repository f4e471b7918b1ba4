package server

import (
	"fmt"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts/bench"
)

// scanPhoto keeps the picture that is the request's body, made smaller by the
// phone. Its name is made from its bytes, so sending it twice is keeping it
// once.
func (s *Server) scanPhoto(c *gin.Context) error {
	data, err := io.ReadAll(io.LimitReader(c.Request.Body, bench.MostPhoto+1))
	if err != nil {
		return fmt.Errorf("read a picture: %w", err)
	}
	name, err := s.bench.AddPhoto(c.Request.Context(), data)
	if err != nil {
		return err
	}
	return answer(c, http.StatusCreated, photoJSON{Name: name})
}
