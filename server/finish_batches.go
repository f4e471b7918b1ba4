package server

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// batchPage is one batch.
type batchPage struct {
	bench.BatchLook
	Mixed   bool // just now
	Problem *parts.Problem
}

// Cautions are what can hurt.
func (p batchPage) Cautions() []string { return finish.Cautions(p.Of) }

// Part is how much of it is left, in percent.
func (p batchPage) Part() int {
	if p.Batch.Volume <= 0 || p.Left <= 0 {
		return 0
	}
	return int(100 * p.Left / p.Batch.Volume)
}

func (s *Server) batch(c *gin.Context) error { return s.showBatch(c, http.StatusOK, nil) }

func (s *Server) showBatch(c *gin.Context, status int, problem *parts.Problem) error {
	number, err := strconv.ParseInt(c.Param("number"), 10, 64)
	if err != nil {
		return noSuchPage()
	}
	look, err := s.bench.Batch(c.Request.Context(), number)
	if err != nil {
		return err
	}
	s.page(c, status, "batch", fmt.Sprintf("Batch %d", number), batchPage{BatchLook: look, Mixed: c.Query("mixed") != "", Problem: problem})
	return nil
}

// changeBatch corrects what is left, sets a jar aside, closes or opens it.
func (s *Server) changeBatch(c *gin.Context) error {
	number, err := strconv.ParseInt(c.Param("number"), 10, 64)
	if err != nil {
		return noSuchPage()
	}
	var change bench.BatchChange
	for name, to := range map[string]**finish.Volume{"left": &change.Left, "jar": &change.Jar} {
		text, sent := c.GetPostForm(name)
		if !sent {
			continue
		}
		v, p := finish.ParseVolume(text)
		if p != nil {
			return s.showBatch(c, statuses[p.Sort], p)
		}
		*to = &v
	}
	if text, sent := c.GetPostForm("open"); sent {
		open := text == "1"
		change.Open = &open
	}
	err = s.bench.ChangeBatch(c.Request.Context(), number, change)
	if p := parts.AsProblem(err); p != nil && p.Sort != parts.Missing {
		return s.showBatch(c, statuses[p.Sort], p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, fmt.Sprintf("/finish/batches/%d", number))
	return nil
}
