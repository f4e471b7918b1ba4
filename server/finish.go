package server

import (
	"net/http"
	"net/url"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// finishPage is what is to be coated and what for.
type finishPage struct {
	bench.FinishBoard
	Measures []finish.Measure
	Kept     bool
	Problem  *parts.Problem
}

// JobName names a job by its id.
func (p finishPage) JobName(id int64) string {
	for _, j := range p.Jobs {
		if j.ID == id {
			return j.Name
		}
	}
	return ""
}

// JobCode is the code of a job by its id.
func (p finishPage) JobCode(id int64) string {
	for _, j := range p.Jobs {
		if j.ID == id {
			return j.Code
		}
	}
	return ""
}

// LineNames are those of a colour group.
func (p finishPage) LineNames(ids []int64) []string {
	var out []string
	for _, l := range p.Lines {
		for _, id := range ids {
			if l.ID == id {
				out = append(out, l.Name)
			}
		}
	}
	return out
}

// LinesOf are the lines of a job that are coated.
func (p finishPage) LinesOf(job int64) []parts.Line {
	var out []parts.Line
	for _, l := range p.Lines {
		if l.Job == job {
			out = append(out, l)
		}
	}
	return out
}

// ToBuy are the ingredients that are missing, over all mixes.
func (p finishPage) ToBuy() []finish.Supply {
	var out []finish.Supply
	for _, m := range p.Mixes {
		for _, s := range m.Supplies {
			if s.Buy <= 0 {
				continue
			}
			at := -1
			for i := range out {
				if out[i].Name == s.Name {
					at = i
				}
			}
			if at < 0 {
				out = append(out, s)
				continue
			}
			// Two mixes that share an ingredient share what is there of it.
			out[at].Needed += s.Needed
			out[at].Buy = max(out[at].Needed-out[at].Have, 0)
		}
	}
	return out
}

func (s *Server) finish(c *gin.Context) error { return s.showFinish(c, http.StatusOK, nil) }

func (s *Server) showFinish(c *gin.Context, status int, problem *parts.Problem) error {
	ctx := c.Request.Context()
	board, err := s.bench.Finish(ctx)
	if err != nil {
		return err
	}
	page := finishPage{FinishBoard: board, Problem: problem, Kept: c.Query("kept") != ""}
	if page.Measures, err = s.bench.Measures(ctx); err != nil {
		return err
	}
	s.page(c, status, "finish", "Finish", page)
	return nil
}

// saveFinish keeps one form of the page with save, or shows the page again
// with why not.
func (s *Server) saveFinish(save func(c *gin.Context, form url.Values) error) gin.HandlerFunc {
	return s.try(func(c *gin.Context) error {
		form, err := sentForm(c)
		if err == nil {
			err = save(c, form)
		}
		if p := parts.AsProblem(err); p != nil && statuses[p.Sort] != 0 {
			return s.showFinish(c, statuses[p.Sort], p)
		}
		if err != nil {
			return err
		}
		c.Redirect(http.StatusSeeOther, "/finish?kept=1")
		return nil
	})
}

// saveCan puts a can on the shelf or says anew what is in it.
func (s *Server) saveCan(c *gin.Context, form url.Values) error {
	can := bench.Can{}
	can.ID, _ = strconv.ParseInt(form.Get("can"), 10, 64)
	can.Name, can.Lot = written(form.Get("name")), written(form.Get("lot"))
	var p *parts.Problem
	if can.Left, p = finish.ParseVolume(form.Get("left")); p != nil {
		return p
	}
	zone := s.words(c).zone
	for name, to := range map[string]*time.Time{"opened": &can.Opened, "expires": &can.Expires} {
		if form.Get(name) == "" {
			continue
		}
		day, err := time.ParseInLocation(time.DateOnly, form.Get(name), zone)
		if err != nil {
			return parts.Problemf(parts.Invalid, "can-day", "“%s” is not a day.", short(form.Get(name))).Next("Write it like 2026-03-02.")
		}
		*to = day.UTC()
	}
	return s.bench.SaveCan(c.Request.Context(), can)
}

// saveGroup says what of a job stands side by side.
func (s *Server) saveGroup(c *gin.Context, form url.Values) error {
	var lines []int64
	for _, text := range form["line"] {
		id, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return parts.Problemf(parts.Invalid, "group-line", "The line “%s” is not a number.", short(text)).Next("Open the page again.")
		}
		lines = append(lines, id)
	}
	return s.bench.SaveColourGroup(c.Request.Context(), form.Get("job"), written(form.Get("name")), lines)
}

// saveMeasure adds what finish is dosed with.
func (s *Server) saveMeasure(c *gin.Context, form url.Values) error {
	ms := finish.Measure{Name: written(form.Get("name"))}
	ms.Holds, _ = strconv.Atoi(form.Get("holds"))
	var p *parts.Problem
	if form.Get("unit") == "g" {
		ms.Grams, p = finish.ParseDecimal(form.Get("mark"))
	} else {
		ms.Mark, p = finish.ParseVolume(form.Get("mark") + " " + form.Get("unit"))
	}
	if p != nil {
		return p
	}
	return s.bench.AddMeasure(c.Request.Context(), ms)
}
