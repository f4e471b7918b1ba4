package server

import (
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/floor"
)

// boardJSON is the whole floor.
type boardJSON struct {
	Now        time.Time       `json:"now"`
	Jobs       []jobBoardJSON  `json:"jobs"`
	Conditions []conditionJSON `json:"conditions"`
}

// jobBoardJSON is where everything of one job is.
type jobBoardJSON struct {
	Code      string             `json:"code"`
	Name      string             `json:"name"`
	Pieces    int                `json:"pieces"`
	Finished  int                `json:"finished"`
	Delivered int                `json:"delivered"`
	LabelsDue int                `json:"labels_due"`
	Stations  []stationBoardJSON `json:"stations"`
	Waits     []waitJSON         `json:"waits"`
	Mending   []mentionJSON      `json:"mending"`
	Mended    []mentionJSON      `json:"mended"`
	Held      []mentionJSON      `json:"held"`
	Remade    []mentionJSON      `json:"remade"`
	Short     []mentionJSON      `json:"short"`
	Doubted   []mentionJSON      `json:"doubted"`
}

// stationBoardJSON is what stands before one station.
type stationBoardJSON struct {
	Station parts.Station `json:"station"`
	Name    string        `json:"name"`
	Ready   int           `json:"ready"`
	Waiting int           `json:"waiting"`
	Groups  []groupJSON   `json:"groups"`
}

// groupJSON is some pieces of one line that need the same step next.
type groupJSON struct {
	Line    string    `json:"line"`
	Step    string    `json:"step"`
	Ready   int       `json:"ready"`
	Waiting int       `json:"waiting"`
	Until   time.Time `json:"until,omitzero"`
	Short   bool      `json:"short,omitempty"`
	Missing string    `json:"missing,omitempty"` // the lines that those wait for
	Mark    parts.ID  `json:"mark"`
}

// waitJSON is some pieces of one line under the same clock.
type waitJSON struct {
	Line  string      `json:"line"`
	Clock parts.Clock `json:"clock"`
	Count int         `json:"count"`
	Until time.Time   `json:"until"`
	Mark  parts.ID    `json:"mark"`
	Name  string      `json:"name,omitempty"`
}

// mentionJSON is one piece that needs a person's eye.
type mentionJSON struct {
	Mark  parts.ID `json:"mark"`
	Name  string   `json:"name"`
	Note  string   `json:"note,omitempty"`
	Other parts.ID `json:"other,omitempty"`
}

func (s *Server) apiFloor(c *gin.Context) error {
	board, err := s.bench.Floor(c.Request.Context())
	if err != nil {
		return err
	}
	out := boardJSON{Now: board.Now, Jobs: []jobBoardJSON{}, Conditions: conditionsJSON(s.words(c), s.bench.Conditions())}
	for _, j := range board.Jobs {
		out.Jobs = append(out.Jobs, jobBoardOf(j))
	}
	return answer(c, http.StatusOK, out)
}

func jobBoardOf(j floor.JobBoard) jobBoardJSON {
	out := jobBoardJSON{
		Code: j.Job.Code, Name: j.Job.Name, Pieces: j.Pieces, Finished: j.Finished, Delivered: j.Gone, LabelsDue: j.Labels,
		Stations: []stationBoardJSON{}, Waits: []waitJSON{},
		Mending: mentions(j.Mending), Mended: mentions(j.Mended), Held: mentions(j.Held), Remade: mentions(j.Remade),
		Short: mentions(j.Short), Doubted: mentions(j.Doubted),
	}
	for _, st := range j.Stations {
		out.Stations = append(out.Stations, stationBoardOf(st))
	}
	for _, w := range j.Waits {
		out.Waits = append(out.Waits, waitJSON{Line: w.Line.Name, Clock: w.Clock, Count: w.Count, Until: w.Until, Mark: w.Mark, Name: w.Name})
	}
	return out
}

func stationBoardOf(st floor.StationBoard) stationBoardJSON {
	out := stationBoardJSON{Station: st.Station.Key, Name: st.Station.Name, Ready: st.Ready, Waiting: st.Waiting, Groups: []groupJSON{}}
	for _, g := range st.Groups {
		out.Groups = append(out.Groups, groupJSON{Line: g.Line.Name, Step: g.Step, Ready: g.Ready, Waiting: g.Waiting,
			Until: g.Until, Short: g.Short, Missing: g.Missing, Mark: g.Mark})
	}
	return out
}

func mentions(all []floor.Mention) []mentionJSON {
	out := make([]mentionJSON, 0, len(all))
	for _, m := range all {
		out = append(out, mentionJSON(m))
	}
	return out
}
