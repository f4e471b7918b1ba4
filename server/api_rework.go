package server

import (
	"context"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// plugged says that a hole was off and has a plug in it.
type plugged struct {
	noted
	Spot     string `json:"spot"`
	Photo    string `json:"photo"`
	Override bool   `json:"override"`
}

// mended begins the repair of a defect of the catalogue.
type mended struct {
	plugged
	Defect string       `json:"defect"`
	Coats  []int        `json:"coats"`
	Side   []parts.Face `json:"side"`
}

// doubted says that a setup was at fault, as Part shows.
type doubted struct {
	deed
	Part string `json:"part"`
}

// remade is a remake; Spare takes the part's place.
type remade struct {
	noted
	Spare string `json:"spare"`
}

// lost says that counted pieces did not come out of a step, and what is done
// instead.
type lost struct {
	noted
	Step    int    `json:"step"`
	Count   int    `json:"count"`
	Instead string `json:"instead"`
}

func (s *Server) apiPlug(c *gin.Context) error {
	var b plugged
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := s.plugging(c.Request.Context(), b)
	if err != nil {
		return err
	}
	return s.did(c)(s.bench.Plug(c.Request.Context(), r))
}

func (s *Server) apiMend(c *gin.Context) error   { return s.mend(c, s.bench.Mend) }
func (s *Server) apiReturn(c *gin.Context) error { return s.mend(c, s.bench.Return) }

// mend runs a verb that begins the repair of a defect.
func (s *Server) mend(c *gin.Context, do func(context.Context, bench.Request) (bench.Answer, error)) error {
	var b mended
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := s.plugging(c.Request.Context(), b.plugged)
	if err != nil {
		return err
	}
	if b.Defect == "" {
		return fieldMissing("defect", "Send the key of one of the defects at /api/v1/defects.")
	}
	r.Defect, r.Coats, r.Side = b.Defect, b.Coats, b.Side
	return s.did(c)(do(c.Request.Context(), r))
}

// plugging is what everything about a defect takes. A picture has to be there
// before it is named, or the part's page would show a hole.
func (s *Server) plugging(ctx context.Context, b plugged) (bench.Request, error) {
	r, err := noting(b.noted)
	if err != nil {
		return r, err
	}
	r.Spot, r.Photo, r.Override = b.Spot, b.Photo, b.Override
	if b.Photo != "" {
		_, err = s.bench.Photo(ctx, b.Photo)
	}
	return r, err
}

// apiDoubt names the pieces that were made with a setup that was at fault.
func (s *Server) apiDoubt(c *gin.Context) error {
	var b doubted
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := request(b.deed)
	if err != nil {
		return err
	}
	if b.Part == "" {
		return fieldMissing("part", "Send the mark of the piece that showed it.")
	}
	r.Part = b.Part
	return s.did(c)(s.bench.Doubt(c.Request.Context(), r))
}

// apiClear says that what was to be looked at is good.
func (s *Server) apiClear(c *gin.Context) error { return s.plain(c, s.bench.Clear) }

// apiRelabel puts a label among those that wait to be printed.
func (s *Server) apiRelabel(c *gin.Context) error { return s.plain(c, s.bench.Relabel) }

// plain runs a verb that takes nothing but the mark.
func (s *Server) plain(c *gin.Context, do func(context.Context, bench.Request) (bench.Answer, error)) error {
	var b deed
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := request(b)
	if err != nil {
		return err
	}
	return s.did(c)(do(c.Request.Context(), r))
}

func (s *Server) apiRemake(c *gin.Context) error {
	var b remade
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := noting(b.noted)
	if err != nil {
		return err
	}
	r.Note, r.Spare = "", b.Spare // kept as it always was: a repeat must be the same request
	return s.did(c)(s.bench.Remake(c.Request.Context(), r))
}

func (s *Server) apiScrap(c *gin.Context) error { return s.note(c, s.bench.Scrap) }

// apiLose scraps counted pieces of a ticket.
func (s *Server) apiLose(c *gin.Context) error {
	var b lost
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := noting(b.noted)
	switch {
	case err != nil:
		return err
	case b.Step == 0:
		return fieldMissing("step", "Send the number of the step that they did not come out of.")
	case b.Count == 0:
		return fieldMissing("count", "Send how many did not come out.")
	case b.Instead == "":
		return fieldMissing("instead", "Send spare, remake or short.")
	}
	r.Step, r.Count, r.Instead = b.Step, b.Count, b.Instead
	return s.did(c)(s.bench.Lost(c.Request.Context(), r))
}
