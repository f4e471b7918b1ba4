package server

import (
	"encoding/json"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// jobJSON is a job in a list.
type jobJSON struct {
	Code string `json:"code"`
	Name string `json:"name"`
}

func (s *Server) apiJobs(c *gin.Context) error {
	jobs, err := s.bench.Jobs(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]jobJSON, 0, len(jobs))
	for _, j := range jobs {
		out = append(out, jobJSON{Code: j.Code, Name: j.Name})
	}
	return answer(c, http.StatusOK, out)
}

// partJSON is a part or an assembly in a list.
type partJSON struct {
	Mark  parts.ID   `json:"mark"`
	Name  string     `json:"name"`
	Kind  parts.Kind `json:"kind"`
	Line  string     `json:"line"`
	State string     `json:"state"`
	Spare bool       `json:"spare,omitempty"`
}

func (s *Server) apiParts(c *gin.Context) error {
	limit, err := number(c, "limit", 1)
	if err != nil {
		return err
	}
	offset, err := number(c, "offset", 0)
	if err != nil {
		return err
	}
	job, err := s.bench.Job(c.Request.Context(), c.Param("code"))
	if err != nil {
		return err
	}
	all := partsOf(job, s.bench.Now())
	all = all[min(offset, len(all)):]
	if limit > 0 {
		all = all[:min(limit, len(all))]
	}
	return answer(c, http.StatusOK, all)
}

// partsOf lists the parts and assemblies of a job in the order of its lines.
func partsOf(job bench.JobPieces, now time.Time) []partJSON {
	lines := map[int64]parts.Line{}
	for _, l := range job.Lines {
		lines[l.ID] = l
	}
	out := []partJSON{}
	for _, st := range job.States {
		if st.Kind == parts.Ticket {
			continue
		}
		l := lines[st.Line]
		out = append(out, partJSON{Mark: st.Part, Name: parts.PieceName(l, st), Kind: st.Kind, Line: l.Name,
			State: bench.StateOf(st, now), Spare: st.Spare})
	}
	return out
}

// ticketJSON is a ticket in a list. Count is without the spares that ride
// along.
type ticketJSON struct {
	Mark   parts.ID `json:"mark"`
	Name   string   `json:"name"`
	Count  int      `json:"count"`
	Spares int      `json:"spares,omitempty"`
}

func (s *Server) apiTickets(c *gin.Context) error {
	job, err := s.bench.Job(c.Request.Context(), c.Param("code"))
	if err != nil {
		return err
	}
	out := []ticketJSON{}
	for _, l := range job.Lines {
		if l.Ticket != "" {
			out = append(out, ticketJSON{Mark: l.Ticket, Name: l.Name, Count: l.Quantity, Spares: l.Spares})
		}
	}
	return answer(c, http.StatusOK, out)
}

// eventJSON is one line of the log.
type eventJSON struct {
	Seq      int             `json:"seq"`
	Command  parts.CommandID `json:"command"`
	Kind     parts.EventKind `json:"kind"`
	Mark     parts.ID        `json:"mark"` // of the part it happened to; a ticket's events are its parts'
	Station  parts.Station   `json:"station,omitempty"`
	At       time.Time       `json:"at"`
	Recorded time.Time       `json:"recorded"`
	Step     int             `json:"step,omitempty"`
	By       string          `json:"by,omitempty"`
	Note     string          `json:"note,omitempty"`
	Override string          `json:"override,omitempty"`
	Other    parts.ID        `json:"other,omitempty"`
	Ticket   parts.ID        `json:"ticket,omitempty"`
	Copy     int             `json:"copy,omitempty"`
}

func (s *Server) apiEvents(c *gin.Context) error {
	ctx := c.Request.Context()
	events, err := s.bench.Events(ctx, c.Param("mark"))
	if err != nil {
		return err
	}
	p, err := s.bench.Look(ctx, c.Param("mark"))
	if err != nil {
		return err
	}
	names := map[int64]string{}
	for _, m := range p.Moments {
		names[m.Event.By] = m.By
	}
	out := make([]eventJSON, 0, len(events))
	for _, e := range events {
		out = append(out, eventOf(e, names))
	}
	return answer(c, http.StatusOK, out)
}

func eventOf(e parts.Event, names map[int64]string) eventJSON {
	out := eventJSON{Seq: e.Seq, Command: e.Command, Kind: e.Kind, Mark: e.Part, Station: e.Station, At: e.At, Recorded: e.Recorded,
		By: names[e.By], Note: e.Detail.Note, Override: e.Detail.Override, Other: e.Detail.Other, Ticket: e.Detail.Ticket, Copy: e.Detail.Copy}
	if e.Kind == parts.Did || e.Kind == parts.Mended || e.Kind == parts.Plugged {
		out.Step = parts.StepNumber(e.Step, e.Kind == parts.Mended)
	}
	return out
}

// stationJSON is a station.
type stationJSON struct {
	Key     parts.Station `json:"key"`
	Name    string        `json:"name"`
	Caution string        `json:"caution"`
	Place   int           `json:"place"`
}

func (s *Server) apiStations(c *gin.Context) error {
	all, err := s.bench.Stations(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]stationJSON, 0, len(all))
	for _, st := range all {
		out = append(out, stationJSON(st))
	}
	return answer(c, http.StatusOK, out)
}

// lateJSON is a scan that came too late to be judged by itself.
type lateJSON struct {
	Command parts.CommandID `json:"command"`
	Kind    string          `json:"kind"`
	Mark    parts.ID        `json:"mark"`
	Asked   json.RawMessage `json:"asked"`
	Code    string          `json:"code"`
	Detail  string          `json:"detail"`
	Next    string          `json:"next"`
}

func (s *Server) apiLate(c *gin.Context) error {
	all, err := s.bench.LateScans(c.Request.Context())
	if err != nil {
		return err
	}
	words := s.words(c.Request.Context())
	out := make([]lateJSON, 0, len(all))
	for _, l := range all {
		out = append(out, lateJSON{Command: l.Command, Kind: l.Kind, Mark: l.Subject, Asked: l.Request,
			Code: l.Problem.Code, Detail: words.Say(l.Problem), Next: words.Do(l.Problem)})
	}
	return answer(c, http.StatusOK, out)
}
