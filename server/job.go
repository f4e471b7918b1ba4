package server

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
	"benchtally/parts/safe"
)

// jobPage is one job: its lines with where their parts are, its tickets and
// its assemblies.
type jobPage struct {
	Job    parts.Job
	Lines  []jobLine
	Parts  int
	Spares int
	Tests  int
	Made   int // assemblies
	Sheets []bench.Paper
	Labels int // that wait to be printed
	Inked  int // that were printed before, of what is not inside an assembly
	// Stations are those at which something of it comes next.
	Stations []parts.StationRow
	// Routings are the steps that a line may still be given.
	Routings []parts.Routing
	TooSmall map[int64][]safe.Warning // by line: its pieces that are too small for a machine
	Started  bool                     // something of it was worked on
	Gone     bool                     // it was taken back

	Short     []shortage // scrapped, and nothing takes its place
	Finished  int        // pieces that could be delivered
	Delivered int
	Jars      []finish.Jar // for touching up, that go along with what is finished
}

// shortage is a piece that was scrapped and not replaced.
type shortage struct {
	Mark parts.ID
	Name string
}

// jobLine is a line with its pieces.
type jobLine struct {
	parts.Line
	Into   string
	Steps  parts.Routing
	Pieces []jobPiece
	Alive  int  // pieces that are not scrapped, spares apart
	Spare  int  // free spares
	Test   int  // test pieces
	Fresh  bool // nothing of it was worked on
	// Newer is a newer version of its steps, nil for none.
	Newer *parts.Routing
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
	page := jobPage{Job: job.Job, Stations: job.Waiting(), Gone: true, TooSmall: job.Warnings()}
	if page.Routings, err = s.bench.Routings(c.Request.Context()); err != nil {
		return err
	}
	if page.Sheets, err = s.bench.Papers(c.Request.Context()); err != nil {
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
		page.countDone(line.Line, st)
		page.Started = page.Started || !line.Fresh
		page.Gone = page.Gone && st.Scrapped
	}
	if page.Jars, err = s.bench.Jars(c.Request.Context(), job); err != nil {
		return err
	}
	page.newerSteps()
	waitForParts(page.Lines, job.Complete(now))
	s.page(c, http.StatusOK, "job", job.Job.Name, page)
	return nil
}

// countDone counts what is short, what could be delivered and what was.
func (p *jobPage) countDone(l parts.Line, s parts.State) {
	switch {
	case s.Short():
		p.Short = append(p.Short, shortage{Mark: s.Part, Name: parts.PieceName(l, s)})
	case s.Scrapped || s.In != "" || s.Spare || l.Into != 0:
	case !s.Delivered.IsZero():
		p.Delivered++
	case s.Finished && !s.Mending() && s.Held == "":
		p.Finished++
	}
}

// newerSteps finds the lines whose steps have a newer version.
func (p *jobPage) newerSteps() {
	for i := range p.Lines {
		l := &p.Lines[i]
		for j, r := range p.Routings {
			if r.Key == l.Steps.Key && r.Version > l.Steps.Version {
				l.Newer = &p.Routings[j]
			}
		}
	}
}

// count adds one piece to what the line has.
func (l *jobLine) count(s parts.State) {
	if len(s.Past) > 0 || s.In != "" {
		l.Fresh = false
	}
	switch {
	case s.Scrapped:
	case s.Test:
		l.Test++
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
	onAt, _ := strconv.Atoi(c.PostForm("on_at"))
	return bench.JobRequest{ID: id, Job: c.Param("code"), Line: line, Steps: c.PostForm("steps"), OnAt: onAt, By: visitor(c).Name}, err
}

func (s *Server) changeSteps(c *gin.Context) error { return s.aboutJob(c, s.bench.ChangeSteps) }
func (s *Server) takeBackJob(c *gin.Context) error { return s.aboutJob(c, s.bench.TakeBackJob) }

func (s *Server) deliver(c *gin.Context) error {
	return s.aboutJob(c, func(ctx context.Context, r bench.JobRequest) error {
		_, err := s.bench.Deliver(ctx, r)
		return err
	})
}

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
	if s.WantsLabel() {
		p.Labels++
	}
	if s.Copies > 0 && s.Kind != parts.Ticket && !s.Scrapped && s.In == "" {
		p.Inked++
	}
	switch {
	case s.Scrapped, s.Kind == parts.Ticket:
	case s.Kind == parts.Assembly:
		p.Made++
	case s.Test:
		p.Tests++
	case s.Spare:
		p.Spares++
	default:
		p.Parts++
	}
}
