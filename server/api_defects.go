package server

import (
	"fmt"
	"io"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// defectJSON is a defect of the shop's catalogue.
type defectJSON struct {
	Key    string           `json:"key"`
	Name   string           `json:"name"`
	Steps  []repairStepJSON `json:"steps"`
	Again  parts.Again      `json:"again,omitempty"`
	Limit  int              `json:"limit,omitempty"`
	Remake bool             `json:"remake,omitempty"`
}

// repairStepJSON is a step of a repair, or a wait in it.
type repairStepJSON struct {
	Name    string        `json:"name"`
	Station parts.Station `json:"station,omitempty"`
	Clock   parts.Clock   `json:"clock,omitempty"`
	Minutes int           `json:"minutes,omitempty"`
}

func (s *Server) apiDefects(c *gin.Context) error {
	all, err := s.bench.Defects(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]defectJSON, 0, len(all))
	for _, d := range all {
		one := defectJSON{Key: d.Key, Name: d.Name, Steps: []repairStepJSON{}, Again: d.Again, Limit: d.Limit, Remake: d.Remake}
		for _, st := range d.Steps {
			one.Steps = append(one.Steps, repairStepJSON{Name: st.Name, Station: st.Station, Clock: st.Clock, Minutes: st.Minutes})
		}
		out = append(out, one)
	}
	return answer(c, http.StatusOK, out)
}

// photoJSON is a picture that was kept.
type photoJSON struct {
	Name string `json:"name"`
}

// apiAddPhoto keeps the picture that is the request's body. Its name is made
// from its bytes, so a repeat needs no id.
func (s *Server) apiAddPhoto(c *gin.Context) error {
	data, err := io.ReadAll(io.LimitReader(c.Request.Body, bench.MostPhoto+1))
	if err != nil {
		return fmt.Errorf("read a picture: %w", err)
	}
	name, err := s.bench.AddPhoto(c.Request.Context(), data)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/photos/"+name)
	return answer(c, http.StatusCreated, photoJSON{Name: name})
}
