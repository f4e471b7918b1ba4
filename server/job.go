package server

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
)

// jobPage is one job: its lines with where their parts are, its tickets and
// its assemblies.
type jobPage struct {
	Job    parts.Job
	Lines  []jobLine
	Parts  int
	Spares int
	Made   int // assemblies
	Sheets []labels.Sheet
	Labels int // that wait to be printed
}

// jobLine is a line with its pieces.
type jobLine struct {
	parts.Line
	Into   string
	Steps  parts.Routing
	Pieces []jobPiece
}

// jobPiece is one piece of a line.
type jobPiece struct {
	State  parts.State
	Stands string
	Next   string
	Strip  parts.Strip
}

func (s *Server) jobs(c *gin.Context) error {
	jobs, err := s.bench.Jobs(c.Request.Context())
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "jobs", "Jobs", jobs)
	return nil
}

func (s *Server) job(c *gin.Context) error {
	job, err := s.bench.Job(c.Request.Context(), c.Param("code"))
	if err != nil {
		return err
	}
	page := jobPage{Job: job.Job, Sheets: labels.Sheets()}
	at := map[int64]int{}
	for i, l := range job.Lines {
		at[l.ID] = i
		page.Lines = append(page.Lines, jobLine{Line: l, Steps: job.Routings[l.Steps]})
	}
	for i, l := range page.Lines {
		if l.Line.Into != 0 {
			page.Lines[i].Into = page.Lines[at[l.Line.Into]].Name
		}
	}
	now := s.bench.Now()
	for _, st := range job.States {
		page.count(st)
		if st.Kind == parts.Ticket {
			continue
		}
		piece := jobPiece{State: st, Stands: bench.StateOf(st, now), Strip: parts.StripOf(job.Routings[st.Steps], st, now)}
		if next, ok := parts.NextStep(job.Routings[st.Steps], st); ok && st.In == "" {
			piece.Next = next.Step.Name
		}
		page.Lines[at[st.Line]].Pieces = append(page.Lines[at[st.Line]].Pieces, piece)
	}
	s.page(c, http.StatusOK, "job", job.Job.Name, page)
	return nil
}

func (p *jobPage) count(s parts.State) {
	switch {
	case s.LabelDue:
		p.Labels++
	}
	switch {
	case s.Scrapped, s.Kind == parts.Ticket:
	case s.Kind == parts.Assembly:
		p.Made++
	case s.Spare:
		p.Spares++
	default:
		p.Parts++
	}
}
