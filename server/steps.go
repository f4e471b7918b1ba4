package server

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// stepsPage is the editor of one list of steps.
type stepsPage struct {
	parts.Routing
	Stations []parts.StationRow
	Clocks   []parts.Clock
	Sets     []parts.Dimension
	Problem  *parts.Problem
}

// stepLists is the page of every list of steps.
type stepLists struct {
	Lists []parts.Routing
	At    map[parts.Station]string // stations as people say them
}

func (s *Server) steps(c *gin.Context) error {
	all, err := s.bench.Routings(c.Request.Context())
	if err != nil {
		return err
	}
	stations, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	page := stepLists{Lists: all, At: map[parts.Station]string{}}
	for _, st := range stations {
		page.At[st.Key] = st.Name
	}
	s.page(c, http.StatusOK, "steps", "Steps", page)
	return nil
}

func (s *Server) editSteps(c *gin.Context) error {
	r, err := s.routingOf(c)
	if err != nil {
		return err
	}
	return s.showSteps(c, http.StatusOK, r, nil)
}

// routingOf gives the steps of the address; "new" starts a list.
func (s *Server) routingOf(c *gin.Context) (parts.Routing, error) {
	if c.Param("key") == "new" {
		r := parts.Routing{For: parts.Single}
		if c.Query("for") == string(parts.Assembly) {
			r.For = parts.Assembly
		}
		return r, nil
	}
	all, err := s.bench.Routings(c.Request.Context())
	if err != nil {
		return parts.Routing{}, err
	}
	i := slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == c.Param("key") })
	if i < 0 {
		return parts.Routing{}, parts.Problemf(parts.Missing, "steps-unknown", "There are no steps called %q.", c.Param("key")).Next("Choose from the list of steps.")
	}
	return all[i], nil
}

func (s *Server) showSteps(c *gin.Context, status int, r parts.Routing, p *parts.Problem) error {
	stations, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	title := r.Name
	if title == "" {
		title = "New steps"
	}
	s.page(c, status, "steps_edit", title, stepsPage{Routing: r, Stations: stations, Clocks: parts.Clocks, Sets: parts.Dimensions, Problem: p})
	return nil
}

func (s *Server) saveSteps(c *gin.Context) error {
	r, err := s.routingOf(c)
	if err != nil {
		return err
	}
	if kind := parts.Kind(c.PostForm("for")); r.Key == "" && kind == parts.Assembly {
		r.For = kind
	}
	r.Name = c.PostForm("name")
	if r.Steps, err = sentSteps(c); err == nil {
		_, err = s.bench.SaveRouting(c.Request.Context(), r)
	}
	if p := parts.AsProblem(err); p != nil {
		return s.showSteps(c, statuses[p.Sort], r, p)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/steps")
	return nil
}

// sentSteps reads the rows of the editor: equally long lists of fields. A row
// without a name is left out; rows go by the number in their first field.
func sentSteps(c *gin.Context) ([]parts.Step, error) {
	names, orders := c.PostFormArray("step"), c.PostFormArray("order")
	at, waits, flags, sets := c.PostFormArray("at"), c.PostFormArray("hours"), c.PostFormArray("kind"), c.PostFormArray("sets")
	if len(orders) != len(names) || len(at) != len(names) || len(waits) != len(names) || len(flags) != len(names) || len(sets) != len(names) {
		return nil, parts.Problemf(parts.Invalid, "steps-torn", "The form did not arrive whole.").Next("Send it again.")
	}
	type row struct {
		order float64
		step  parts.Step
	}
	var rows []row
	for i, name := range names {
		if strings.TrimSpace(name) == "" {
			continue
		}
		order, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(orders[i]), ",", "."), 64)
		if err != nil {
			return nil, parts.Problemf(parts.Invalid, "step-order", "The place %q of %s is not a number.", orders[i], name).Next("Number the steps; 3.5 goes between 3 and 4.")
		}
		step, err := sentStep(name, at[i], waits[i], flags[i], sets[i])
		if err != nil {
			return nil, err
		}
		rows = append(rows, row{order, step})
	}
	slices.SortStableFunc(rows, func(a, b row) int {
		switch {
		case a.order < b.order:
			return -1
		case a.order > b.order:
			return 1
		}
		return 0
	})
	steps := make([]parts.Step, len(rows))
	for i, r := range rows {
		steps[i] = r.step
	}
	return steps, nil
}

// sentStep reads one row: at is a station's key, or "wait:" and a clock.
func sentStep(name, at, hours, kind, sets string) (parts.Step, error) {
	step := parts.Step{Name: strings.TrimSpace(name)}
	clock, isWait := strings.CutPrefix(at, "wait:")
	if !isWait {
		step.Station, step.Sets = parts.Station(at), parts.Dimension(sets)
		step.Record = kind == "record" || kind == "binds" || kind == "glues"
		step.Binds, step.Bores, step.Glues = kind == "binds", kind == "bores", kind == "glues"
		return step, nil
	}
	if strings.TrimSpace(hours) == "" {
		return step, parts.Problemf(parts.Invalid, "step-hours", "%s waits, and does not say how long.", step.Name).Next("Write hours, such as 24 or 0.5.")
	}
	h, err := strconv.ParseFloat(strings.ReplaceAll(strings.TrimSpace(hours), ",", "."), 64)
	if err != nil || h < 0 || h > 24*365 {
		return step, parts.Problemf(parts.Invalid, "step-hours", "%s waits %q hours.", step.Name, hours).Next("Write hours, such as 24 or 0.5.")
	}
	step.Clock, step.Minutes = parts.Clock(clock), int(h*60+0.5)
	return step, nil
}
