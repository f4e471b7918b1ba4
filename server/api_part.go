package server

import (
	"context"
	"net/http"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// pieceJSON is everything about one mark. What does not apply is left out,
// next apart: null says that nothing is left to do.
type pieceJSON struct {
	Mark       parts.ID    `json:"mark"`
	Name       string      `json:"name"`
	Kind       parts.Kind  `json:"kind"`
	Job        string      `json:"job"` // its code
	Line       string      `json:"line"`
	Size       string      `json:"size,omitempty"`
	Material   string      `json:"material,omitempty"`
	Notes      string      `json:"notes,omitempty"`
	State      string      `json:"state"`
	Next       *nextJSON   `json:"next"`
	Notches    []string    `json:"notches"`
	Reworked   []int       `json:"reworked,omitempty"` // numbers of the steps that were repaired
	Spare      bool        `json:"spare,omitempty"`
	Test       bool        `json:"test,omitempty"`
	Cart       parts.ID    `json:"cart,omitempty"`
	Doubt      string      `json:"doubt,omitempty"`
	Flaws      []flawJSON  `json:"flaws,omitempty"`
	Delivered  time.Time   `json:"delivered,omitzero"`
	LabelDue   bool        `json:"label_due"`
	Copies     int         `json:"copies"`
	Held       string      `json:"held,omitempty"`
	Assembly   parts.ID    `json:"assembly,omitempty"`
	Replaces   parts.ID    `json:"replaces,omitempty"`
	ReplacedBy parts.ID    `json:"replaced_by,omitempty"`
	Spares     []parts.ID  `json:"spares,omitempty"` // free to take its place
	Parts      []parts.ID  `json:"parts,omitempty"`  // of an assembly
	Kit        []kitJSON   `json:"kit,omitempty"`    // of an assembly before dry fit
	Counts     []countJSON `json:"counts,omitempty"` // of a ticket or a cart
	Checks     []checkJSON `json:"checks,omitempty"` // of a ticket
}

// flawJSON is a defect that a piece had.
type flawJSON struct {
	Defect string `json:"defect"`
	Step   int    `json:"step,omitempty"` // number of the step at which it came about
	Spot   string `json:"spot,omitempty"`
}

// checkJSON is a first piece that was good.
type checkJSON struct {
	Step int       `json:"step"`
	At   time.Time `json:"at"`
}

// nextJSON is the step that comes next.
type nextJSON struct {
	Step    int           `json:"step"`
	Station parts.Station `json:"station"`
	Name    string        `json:"name"`
	ReadyAt time.Time     `json:"ready_at,omitzero"`
}

// kitJSON is what a dry fit needs of one line.
type kitJSON struct {
	Line  string `json:"line"`
	Need  int    `json:"need"`
	Ready int    `json:"ready"`
}

// countJSON is where some parts of a ticket are.
type countJSON struct {
	Step    string        `json:"step"` // what they need next; "" when nothing is left
	Station parts.Station `json:"station,omitempty"`
	State   string        `json:"state"`
	Count   int           `json:"count"`
}

func (s *Server) apiPart(c *gin.Context) error {
	ctx := c.Request.Context()
	p, err := s.bench.Look(ctx, c.Param("mark"))
	if err != nil {
		return err
	}
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return err
	}
	out := pieceOf(p, set)
	if p.State.Kind.Counts() {
		// A ticket and a cart have no place of their own: their pieces do.
		if out.Counts, err = s.countsOf(ctx, p); err != nil {
			return err
		}
	}
	return answer(c, http.StatusOK, out)
}

func pieceOf(p bench.Piece, set parts.Settings) pieceJSON {
	st := p.State
	out := pieceJSON{
		Mark: st.Part, Name: p.Name, Kind: st.Kind, Job: p.Job.Code, Line: p.Line.Name,
		Size: bench.SizeText(p.Line, set.Style()), Material: p.Line.Material, Notes: p.Line.Notes,
		State: p.Stands, Notches: notchNames(p.Strip), Spare: st.Spare, Test: st.Test, LabelDue: st.LabelDue, Copies: st.Copies, Held: st.Held,
		Assembly: st.In, Replaces: st.Replaces, ReplacedBy: st.ReplacedBy, Parts: st.Parts,
		Cart: st.Cart, Doubt: st.Doubt, Delivered: st.Delivered,
	}
	if p.Next != nil {
		out.Next = &nextJSON{Step: p.Next.Step, Station: p.Next.Station, Name: p.Next.Name}
		if p.Next.Ready.After(p.View.Now) {
			out.Next.ReadyAt = p.Next.Ready
		}
	}
	for i, n := range p.Strip.Notches {
		if n.Nick {
			out.Reworked = append(out.Reworked, parts.StepNumber(i, false))
		}
	}
	for _, f := range st.Flaws {
		out.Flaws = append(out.Flaws, flawJSON{Defect: f.Defect, Step: parts.StepNumber(f.Step, false), Spot: f.Spot})
	}
	for _, k := range st.Checks {
		out.Checks = append(out.Checks, checkJSON{Step: parts.StepNumber(k.Step, false), At: k.At})
	}
	for _, spare := range p.Spares {
		out.Spares = append(out.Spares, spare.Part)
	}
	for _, k := range p.Kits {
		out.Kit = append(out.Kit, kitJSON{Line: k.Line.Name, Need: k.Need, Ready: len(k.Ready)})
	}
	return out
}

// notchNames are the notches of a strip as words.
func notchNames(strip parts.Strip) []string {
	names := map[parts.NotchShape]string{
		parts.OpenNotch: "open", parts.FilledNotch: "done", parts.DottedNotch: "unrecorded", parts.HatchedNotch: "waiting",
	}
	out := make([]string, len(strip.Notches))
	for i, n := range strip.Notches {
		out[i] = names[n.Shape]
	}
	return out
}

// countsOf says where the parts of a ticket are.
func (s *Server) countsOf(ctx context.Context, p bench.Piece) ([]countJSON, error) {
	spots, err := s.bench.Spots(ctx, p)
	if err != nil {
		return nil, err
	}
	out := make([]countJSON, 0, len(spots))
	for _, spot := range spots {
		out = append(out, countJSON{Step: spot.Step, Station: spot.Station.Key, State: spot.Stands, Count: spot.Count})
	}
	return out, nil
}
