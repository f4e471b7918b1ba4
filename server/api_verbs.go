package server

import (
	"cmp"
	"context"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// deed is what every request about a mark says.
type deed struct {
	ID      string        `json:"id"`
	Mark    string        `json:"mark"`
	Station parts.Station `json:"station"`
	At      time.Time     `json:"at"`
	Sent    time.Time     `json:"sent"`
	By      string        `json:"by"`
}

// scanned is a scan.
type scanned struct {
	deed
	Step     int      `json:"step"`
	Count    int      `json:"count"`
	Blanks   int      `json:"blanks"`
	Parts    []string `json:"parts"`
	Checked  bool     `json:"checked"`
	Override bool     `json:"override"`
	Reason   string   `json:"reason"`
	Batch    int      `json:"batch"` // of a coat
}

// firstChecked says that the first piece of a setup is good.
type firstChecked struct {
	deed
	Step int `json:"step"`
}

// skipped leaves steps out: it goes on at Step.
type skipped struct {
	noted
	Step int `json:"step"`
}

// unclamped says that the clamps are off.
type unclamped struct {
	noted
	Override bool `json:"override"`
}

// noted is a request with a person's words; either name will do for them.
type noted struct {
	deed
	Reason string `json:"reason"`
	Note   string `json:"note"`
}

// undone takes a command back.
type undone struct {
	ID      string `json:"id"`
	Command string `json:"command"`
	By      string `json:"by"`
	Reason  string `json:"reason"`
}

func (s *Server) apiScan(c *gin.Context) error {
	var b scanned
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := request(b.deed)
	if err != nil {
		return err
	}
	r.Step, r.Count, r.Blanks, r.Parts = b.Step, b.Count, b.Blanks, b.Parts
	r.Checked, r.Override, r.Reason, r.Batch = b.Checked, b.Override, b.Reason, int64(b.Batch)
	return s.did(c)(s.bench.Scan(c.Request.Context(), r))
}

// apiCheck records that the first piece of a setup is good.
func (s *Server) apiCheck(c *gin.Context) error {
	var b firstChecked
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := request(b.deed)
	if err != nil {
		return err
	}
	if b.Step == 0 && b.Station == "" {
		return fieldMissing("step", "Send the number of the step whose setup was checked, or the station it is at.")
	}
	r.Step = b.Step
	return s.did(c)(s.bench.CheckFirst(c.Request.Context(), r))
}

// apiSkip leaves steps out.
func (s *Server) apiSkip(c *gin.Context) error {
	var b skipped
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := noting(b.noted)
	if err != nil {
		return err
	}
	if b.Step == 0 {
		return fieldMissing("step", "Send the number of the step at which it goes on.")
	}
	r.Step = b.Step
	return s.did(c)(s.bench.Skip(c.Request.Context(), r))
}

// apiClampsOff ends a wait in clamps.
func (s *Server) apiClampsOff(c *gin.Context) error {
	var b unclamped
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := noting(b.noted)
	if err != nil {
		return err
	}
	r.Override = b.Override
	return s.did(c)(s.bench.ClampsOff(c.Request.Context(), r))
}

func (s *Server) apiHold(c *gin.Context) error { return s.note(c, s.bench.Hold) }
func (s *Server) apiTakeApart(c *gin.Context) error {
	return s.note(c, s.bench.TakeApart)
}
func (s *Server) apiRelease(c *gin.Context) error { return s.note(c, s.bench.Release) }

// note runs a verb that takes a person's words.
func (s *Server) note(c *gin.Context, do func(context.Context, bench.Request) (bench.Answer, error)) error {
	var b noted
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := noting(b)
	if err != nil {
		return err
	}
	return s.did(c)(do(c.Request.Context(), r))
}

func (s *Server) apiUndo(c *gin.Context) error {
	var b undone
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	if b.Command == "" {
		return fieldMissing("command", "Send the id of the request that is to be undone.")
	}
	command, err := parts.ParseCommandID(b.Command)
	if err != nil {
		return err
	}
	return s.did(c)(s.bench.Undo(c.Request.Context(), bench.UndoRequest{ID: id, Command: command, By: b.By, Reason: b.Reason}))
}

// request is what every verb takes.
func request(d deed) (bench.Request, error) {
	r := bench.Request{Mark: d.Mark, Station: d.Station, At: d.At, Sent: d.Sent, By: d.By}
	var err error
	if r.ID, err = commandID(d.ID); err == nil && d.Mark == "" {
		err = fieldMissing("mark", "Send what is printed under the code on the label.")
	}
	return r, err
}

// noting is what every verb with a person's words takes.
func noting(n noted) (bench.Request, error) {
	r, err := request(n.deed)
	r.Reason = cmp.Or(n.Reason, n.Note)
	r.Note = r.Reason
	return r, err
}

func fieldMissing(name, next string) error {
	return parts.Problemf(parts.Invalid, "field-missing", "The field %q is missing.", name).Next(next).Fact("field", name)
}

// notRecorded answers a request that was no error and recorded nothing.
type notRecorded struct {
	Outcome string         `json:"outcome"` // "already" or "parked"
	Command string         `json:"command"`
	Mark    parts.ID       `json:"mark,omitempty"`
	Code    string         `json:"code"`
	Detail  string         `json:"detail"`
	Next    string         `json:"next"`
	Facts   map[string]any `json:"facts"`
}

// did answers what a verb of the bench led to. A repeat is answered like the
// first time.
func (s *Server) did(c *gin.Context) func(bench.Answer, error) error {
	return func(a bench.Answer, err error) error {
		if err != nil {
			return err
		}
		p := a.Problem
		if p == nil {
			a.Said = nil // a program reads the sentences in English
			return answer(c, http.StatusOK, a)
		}
		words := s.words(c.Request.Context())
		out := notRecorded{Outcome: a.Outcome, Command: a.Command, Mark: a.Mark,
			Code: p.Code, Detail: words.Say(p), Next: words.Do(p), Facts: p.Facts}
		if out.Facts == nil {
			out.Facts = map[string]any{}
		}
		return answer(c, statuses[p.Sort], out)
	}
}
