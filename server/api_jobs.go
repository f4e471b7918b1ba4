package server

import (
	"context"
	"net/http"
	"slices"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// jobAsked is what every request about a whole job says.
type jobAsked struct {
	ID  string `json:"id"`
	Job string `json:"job"`
	By  string `json:"by"`
}

// stepsChanged lets the pieces of a line follow other steps.
type stepsChanged struct {
	jobAsked
	Line  int    `json:"line"` // its place in the list, from 1
	Steps string `json:"steps"`
	OnAt  int    `json:"on_at"`
}

// jobRecorded answers a request about a job.
type jobRecorded struct {
	Outcome string    `json:"outcome"`
	Command string    `json:"command"`
	Job     string    `json:"job"`
	Name    string    `json:"name"`
	Did     string    `json:"did"`
	Count   int       `json:"count"` // pieces it is about
	At      time.Time `json:"at"`
}

// apiDeliver hands over what is finished of a job.
func (s *Server) apiDeliver(c *gin.Context) error {
	var b jobAsked
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, job, err := s.aboutAJob(c.Request.Context(), b)
	if err != nil {
		return err
	}
	return s.didJob(c, job.Job)(s.bench.Deliver(c.Request.Context(), r))
}

// apiChangeSteps lets the pieces of a line follow other steps.
func (s *Server) apiChangeSteps(c *gin.Context) error {
	var b stepsChanged
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, job, err := s.aboutAJob(c.Request.Context(), b.jobAsked)
	switch {
	case err != nil:
		return err
	case b.Line == 0:
		return fieldMissing("line", "Send the number of the line, as the job's tickets give it.")
	case b.Steps == "":
		return fieldMissing("steps", "Send the key of the steps that it is to follow.")
	}
	i := slices.IndexFunc(job.Lines, func(l parts.Line) bool { return l.Number == b.Line })
	if i < 0 {
		return parts.Problemf(parts.Missing, "line-unknown", "Job %s has no line %d.", job.Job.Code, b.Line).
			Next("Its lines are numbered from 1 to %d.", len(job.Lines)).Fact("field", "line")
	}
	r.Line, r.Steps, r.OnAt = job.Lines[i].ID, b.Steps, b.OnAt
	return s.didJob(c, job.Job)(s.bench.Reroute(c.Request.Context(), r))
}

// aboutAJob reads what every request about a job says.
func (s *Server) aboutAJob(ctx context.Context, b jobAsked) (bench.JobRequest, bench.JobPieces, error) {
	id, err := commandID(b.ID)
	if err == nil && b.Job == "" {
		err = fieldMissing("job", "Send the code of the job.")
	}
	if err != nil {
		return bench.JobRequest{}, bench.JobPieces{}, err
	}
	job, err := s.bench.Job(ctx, b.Job)
	return bench.JobRequest{ID: id, Job: job.Job.Code, By: b.By}, job, err
}

// didJob answers what a request about a job led to.
func (s *Server) didJob(c *gin.Context, job parts.Job) func(bench.Answer, error) error {
	return func(a bench.Answer, err error) error {
		if err != nil || a.Problem != nil {
			return s.did(c)(a, err)
		}
		return answer(c, http.StatusOK, jobRecorded{Outcome: a.Outcome, Command: a.Command, Job: job.Code, Name: a.Name,
			Did: a.Did, Count: a.Count, At: a.At})
	}
}
