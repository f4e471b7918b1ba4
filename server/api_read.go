package server

import (
	"net/http"
	"slices"
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
	Test  bool       `json:"test,omitempty"`
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
			State: bench.StateOf(st, now), Spare: st.Spare, Test: st.Test})
	}
	return out
}

// ticketJSON is a ticket in a list. Count is without the spares and test
// pieces that ride along.
type ticketJSON struct {
	Mark     parts.ID `json:"mark"`
	Name     string   `json:"name"`
	Number   int      `json:"number"` // of its line
	Count    int      `json:"count"`
	Spares   int      `json:"spares,omitempty"`
	Tests    int      `json:"tests,omitempty"`
	PerBlank int      `json:"per_blank,omitempty"`
}

func (s *Server) apiTickets(c *gin.Context) error {
	job, err := s.bench.Job(c.Request.Context(), c.Param("code"))
	if err != nil {
		return err
	}
	out := []ticketJSON{}
	for _, l := range job.Lines {
		if l.Ticket != "" {
			out = append(out, ticketJSON{Mark: l.Ticket, Name: l.Name, Number: l.Number, Count: l.Quantity,
				Spares: l.Spares, Tests: l.Tests, PerBlank: l.PerBlank})
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
	Defect   string          `json:"defect,omitempty"`
	Spot     string          `json:"spot,omitempty"`
	Photo    string          `json:"photo,omitempty"`
	ClockOff int             `json:"clock_off,omitempty"`
	Batch    int64           `json:"batch,omitempty"`
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

// aboutSteps are the kinds of event that are about one step.
var aboutSteps = []parts.EventKind{parts.Did, parts.Mended, parts.Confirmed, parts.Plugged, parts.Flawed, parts.Returned, parts.Checked, parts.CheckFell}

func eventOf(e parts.Event, names map[int64]string) eventJSON {
	out := eventJSON{Seq: e.Seq, Command: e.Command, Kind: e.Kind, Mark: e.Part, Station: e.Station, At: e.At, Recorded: e.Recorded,
		By: names[e.By], Note: e.Detail.Note, Override: e.Detail.Override, Other: e.Detail.Other, Ticket: e.Detail.Ticket, Copy: e.Detail.Copy,
		Defect: e.Detail.Defect, Spot: e.Detail.Spot, Photo: e.Detail.Photo, ClockOff: e.Detail.ClockOff, Batch: e.Detail.Batch}
	if slices.Contains(aboutSteps, e.Kind) && e.Step >= 0 {
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
