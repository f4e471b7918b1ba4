package server

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/safe"
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
	// Routings are the steps that a line may still be given.
	Routings []parts.Routing
	TooSmall map[int64][]safe.Warning // by line: its pieces that are too small for a machine
	Started  bool                     // something of it was worked on
	Gone     bool                     // it was taken back
}

// jobLine is a line with its pieces.
type jobLine struct {
	parts.Line
	Into   string
	Steps  parts.Routing
	Pieces []jobPiece
	Alive  int  // pieces that are not scrapped, spares apart
	Spare  int  // free spares
	Fresh  bool // nothing of it was worked on
}

// jobPiece is one piece of a line.
type jobPiece struct {
	State  parts.State
	Stands string
	Next   string
	Strip  parts.Strip
	binds  bool // a dry fit comes next
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
	page := jobPage{Job: job.Job, Sheets: labels.Sheets(), Gone: true, TooSmall: job.Warnings()}
	if page.Routings, err = s.bench.Routings(c.Request.Context()); err != nil {
		return err
	}
	at := map[int64]int{}
	for i, l := range job.Lines {
		at[l.ID] = i
		page.Lines = append(page.Lines, jobLine{Line: l, Steps: job.Routings[job.StepsOf(l)], Fresh: true})
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
		line := &page.Lines[at[st.Line]]
		line.Pieces = append(line.Pieces, jobPieceOf(job, st, now))
		line.count(st)
		page.Started = page.Started || !line.Fresh
		page.Gone = page.Gone && st.Scrapped
	}
	waitForParts(page.Lines, job.Complete(now))
	s.page(c, http.StatusOK, "job", job.Job.Name, page)
	return nil
}

// count adds one piece to what the line has.
func (l *jobLine) count(s parts.State) {
	if len(s.Past) > 0 || s.In != "" {
		l.Fresh = false
	}
	switch {
	case s.Scrapped:
	case s.Spare:
		l.Spare++
	default:
		l.Alive++
	}
}

// jobRequest reads the form of a request about a job.
func (s *Server) jobRequest(c *gin.Context) (bench.JobRequest, error) {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	line, _ := strconv.ParseInt(c.PostForm("line"), 10, 64)
	return bench.JobRequest{ID: id, Job: c.Param("code"), Line: line, Steps: c.PostForm("steps"), By: cookie(c, "who")}, err
}

func (s *Server) changeSteps(c *gin.Context) error { return s.aboutJob(c, s.bench.ChangeSteps) }
func (s *Server) takeBackJob(c *gin.Context) error { return s.aboutJob(c, s.bench.TakeBackJob) }

func (s *Server) aboutJob(c *gin.Context, do func(context.Context, bench.JobRequest) error) error {
	r, err := s.jobRequest(c)
	if err != nil {
		return err
	}
	if err := do(c.Request.Context(), r); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/jobs/"+r.Job)
	return nil
}

// jobPieceOf is what the page shows of one piece.
func jobPieceOf(job bench.JobPieces, st parts.State, now time.Time) jobPiece {
	r := job.Routings[st.Steps]
	piece := jobPiece{State: st, Stands: bench.StateOf(st, now), Strip: parts.StripOf(r, st, now)}
	if next, ok := parts.NextStep(r, st); ok && st.In == "" {
		piece.Next, piece.binds = next.Step.Name, next.Step.Binds
	}
	return piece
}

// waitForParts marks the assemblies that cannot be dry-fitted: complete says
// how many of each line can.
func waitForParts(lines []jobLine, complete map[int64]int) {
	for _, l := range lines {
		for i := range l.Pieces {
			p := &l.Pieces[i]
			if !p.binds || p.Stands != "ready" {
				continue
			}
			if complete[l.ID]--; complete[l.ID] < 0 {
				p.Stands = "waits for parts"
			}
		}
	}
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
