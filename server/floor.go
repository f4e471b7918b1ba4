package server

import (
	"context"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts/floor"
)

// floorPage is the first page.
type floorPage struct {
	floor.Board
	Only       string // the code of the one job it shows; "" for all
	Words      words
	Late       int // scans that wait for a person
	Lost       lostAddress
	Conditions []condition // of the shop's file or its backups
}

func (s *Server) floor(c *gin.Context) error {
	page, err := s.lookFloor(c.Request.Context(), c.Query("job"))
	if err != nil {
		return err
	}
	if page.Lost, err = s.lostAddress(c.Request.Context()); err != nil {
		return err
	}
	s.page(c, http.StatusOK, "floor", "The floor", page)
	return nil
}

func (s *Server) lookFloor(ctx context.Context, only string) (floorPage, error) {
	board, err := s.bench.Floor(ctx)
	if err != nil {
		return floorPage{}, err
	}
	late, err := s.bench.LateScans(ctx)
	if err != nil {
		return floorPage{}, err
	}
	if only != "" {
		board.Jobs = slices.DeleteFunc(board.Jobs, func(j floor.JobBoard) bool { return !strings.EqualFold(j.Job.Code, only) })
	}
	w := s.words(ctx)
	return floorPage{Board: board, Only: only, Words: w, Late: len(late), Conditions: s.conditions(w)}, nil
}
