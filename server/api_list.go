package server

import (
	"cmp"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

// madeJob is what a list became.
type madeJob struct {
	Code       string `json:"code"`
	Name       string `json:"name"`
	Lines      int    `json:"lines"`
	Parts      int    `json:"parts"` // without spares and test pieces
	Spares     int    `json:"spares"`
	Tests      int    `json:"tests,omitempty"` // test pieces
	Assemblies int    `json:"assemblies"`
	// Hints are worth a look, and stopped nothing.
	Hints []troubleJSON `json:"hints,omitempty"`
}

// apiList makes a job of the list in the body: all of it or nothing.
func (s *Server) apiList(c *gin.Context) error {
	ctx := c.Request.Context()
	id, err := commandID(cmp.Or(c.Query("id"), c.GetHeader("Idempotency-Key")))
	if err != nil {
		return err
	}
	choices, err := s.listChoices(c)
	if err != nil {
		return err
	}
	table, err := bodyTable(c)
	if err != nil {
		return err
	}
	p, err := s.bench.Preview(ctx, table, choices, bench.Picks{})
	if err != nil {
		return err
	}
	if len(p.List.Troubles) > 0 {
		return troubled(p.List.Troubles, s.words(ctx))
	}
	job, err := s.bench.MakeJob(ctx, id, c.Query("name"), p)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/jobs/"+job.Code+"/parts")
	return answer(c, http.StatusCreated, madeJob{Code: job.Code, Name: job.Name,
		Lines: len(p.Lines), Parts: p.Parts, Spares: p.Spares, Tests: p.Tests, Assemblies: p.Made, Hints: troublesJSON(p.Hints, s.words(ctx))})
}

// bodyTable reads the cells of the list that is the request's body.
func bodyTable(c *gin.Context) (cutlist.Table, error) {
	data, err := io.ReadAll(c.Request.Body)
	if err != nil {
		return cutlist.Table{}, fmt.Errorf("read the list: %w", err)
	}
	return cutlist.ReadFile("in the body", data)
}

// listChoices reads what the address says about the list.
func (s *Server) listChoices(c *gin.Context) (cutlist.Choices, error) {
	unit := parts.Unit(c.Query("unit"))
	switch unit {
	case "":
		unit = s.words(c.Request.Context()).Unit
	case parts.Inches, parts.Millimetres:
	default:
		return cutlist.Choices{}, parts.Problemf(parts.Invalid, "unit", "Lists are in inches or in millimetres, not in %q.", string(unit)).
			Next("Send unit=in or unit=mm.")
	}
	choices := cutlist.Choices{Unit: unit, Columns: map[string]cutlist.Field{}, Assemblies: map[string]int{}}
	for _, text := range c.QueryArray("map") {
		heading, field, err := cutlist.ParseColumn(text)
		if err != nil {
			return choices, err
		}
		choices.Columns[heading] = field
	}
	for _, text := range c.QueryArray("assemblies") {
		at := max(0, strings.LastIndexByte(text, '='))
		n, err := strconv.Atoi(strings.TrimPrefix(text[at:], "="))
		if err != nil || at == 0 {
			return choices, parts.Problemf(parts.Invalid, "assemblies-unreadable", "%q does not say how many of an assembly are made.", text).
				Next("Send assemblies=NAME=NUMBER, for example assemblies=Locker front=12.")
		}
		choices.Assemblies[text[:at]] = n
	}
	return choices, nil
}

// troubleJSON is what is wrong with a list, and where. Row and column count
// from 1; 0 means the whole list or the whole row.
type troubleJSON struct {
	Row     int    `json:"row"`
	Column  int    `json:"column"`
	Heading string `json:"heading"`
	Field   string `json:"field"`
	Code    string `json:"code"`
	Say     string `json:"say"`
	Next    string `json:"next"`
}

// troubled is the refusal of a list with every trouble in it.
func troubled(all []cutlist.Trouble, w words) error {
	return parts.Problemf(parts.Refused, "list-troubled", "Nothing was imported. Things wrong in the list: %d. The first: %s", len(all), all[0].String()).
		Next("Put them right in the list and send it again.").Fact("troubles", troublesJSON(all, w))
}

func troublesJSON(all []cutlist.Trouble, w words) []troubleJSON {
	list := make([]troubleJSON, 0, len(all))
	for _, t := range all {
		list = append(list, troubleJSON{Row: t.Row, Column: t.Column, Heading: t.Heading, Field: string(t.Field),
			Code: t.Problem.Code, Say: w.Say(t.Problem), Next: w.Do(t.Problem)})
	}
	return list
}
