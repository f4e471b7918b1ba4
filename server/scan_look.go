package server

import (
	"cmp"
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// scanLook is what a phone shows of a mark before anything is recorded.
type scanLook struct {
	Mark    parts.ID    `json:"mark"`
	Kind    parts.Kind  `json:"kind"`
	Name    string      `json:"name"`
	Size    string      `json:"size,omitempty"`
	Inside  string      `json:"inside,omitempty"` // what was scanned, when it is a part of this assembly
	Stands  string      `json:"stands"`
	Shape   string      `json:"shape"`
	Until   string      `json:"until,omitempty"` // when it is ready, as people say it
	Why     string      `json:"why,omitempty"`   // a person's reason: held for, doubted for
	Newer   parts.ID    `json:"newer,omitempty"` // what took its place
	Count   int         `json:"count"`           // pieces it stands for
	Counts  bool        `json:"counts"`
	Offers  []scanOffer `json:"offers"`
	Kit     []scanKit   `json:"kit"`
	Members []parts.ID  `json:"members"` // of an assembly: what was fitted into it
}

// scanOffer is one thing that can be recorded now.
type scanOffer struct {
	Step     int           `json:"step,omitempty"`
	Name     string        `json:"name"`
	Station  parts.Station `json:"station"`
	Place    string        `json:"place"` // its name
	Here     bool          `json:"here"`
	Due      int           `json:"due"`
	Most     int           `json:"most"`
	Blanks   int           `json:"blanks,omitempty"` // parts in each blank
	Check    string        `json:"check,omitempty"`
	Filled   []string      `json:"filled"`
	Until    string        `json:"until,omitempty"`    // a clock that still runs
	Overrule string        `json:"overrule,omitempty"` // the reason to overrule it
	Binds    bool          `json:"binds"`
	Glues    bool          `json:"glues"`
}

// scanKit is a line of an assembly's kit check.
type scanKit struct {
	Name  string `json:"name"`
	Need  int    `json:"need"`
	Ready int    `json:"ready"`
}

func (s *Server) scanLook(c *gin.Context) error {
	here := parts.Station(cmp.Or(c.Query("station"), cookie(c, "station")))
	look, err := s.lookOf(c, c.Query("mark"), here)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, look)
}

// lookOf looks at a mark; at the assembly when the part is in one, because
// what is done to that is done to the part.
func (s *Server) lookOf(ctx context.Context, mark string, here parts.Station) (scanLook, error) {
	p, err := s.bench.Look(ctx, mark)
	if err != nil {
		return scanLook{}, err
	}
	if p.State.In != "" && !p.State.Scrapped {
		look, err := s.lookOf(ctx, string(p.State.In), here)
		if look.Inside == "" {
			look.Inside = p.Name
		}
		return look, err
	}
	words := s.words(ctx)
	look := scanLook{Mark: p.State.Part, Kind: p.State.Kind, Name: p.Name, Size: bench.SizeText(p.Line, words.Style()),
		Stands: p.Stands, Shape: shapeOf(p.Stands), Until: words.When(p.Ready), Why: cmp.Or(p.State.Held, p.State.Doubt),
		Newer: p.Newer, Count: 1, Counts: p.State.Kind.Counts(), Offers: []scanOffer{}, Kit: []scanKit{}, Members: []parts.ID{}}
	if look.Counts {
		look.Count = partPage{Piece: p}.Alive()
	}
	for _, k := range p.Kits {
		look.Kit = append(look.Kit, scanKit{Name: k.Line.Name, Need: k.Need, Ready: len(k.Ready)})
	}
	if look.Kind == parts.Assembly {
		look.Members = append(look.Members, p.State.Parts...)
	}
	offers, err := s.bench.Offers(ctx, p, here)
	for _, o := range offers {
		look.Offers = append(look.Offers, phoneOffer(o, words))
	}
	return look, err
}

// phoneOffer puts an offer into the words of the shop.
func phoneOffer(o bench.Offer, words words) scanOffer {
	out := scanOffer{Step: o.Number, Name: capital(o.Step.Name), Station: o.Station.Key, Place: o.Station.Name, Here: o.Here,
		Due: o.Due, Most: o.Most, Blanks: o.Blanks, Check: o.Check, Filled: append([]string{}, o.Filled...),
		Binds: o.Step.Binds, Glues: o.Step.Glues}
	if o.Wait != nil {
		out.Until, out.Overrule = words.When(o.Wait.Until), o.Reason
	}
	return out
}

// scanTally says how far a line is past a step: "31 of 48; 2 are still at the
// jointer".
type scanTally struct {
	Done int         `json:"done"`
	Of   int         `json:"of"`
	Here int         `json:"here"` // can be done next
	Away []scanGroup `json:"away"`
}

// tally counts the pieces of a piece's line at the step that was just done;
// nil when there is nothing to count.
func (s *Server) tally(ctx context.Context, a bench.Answer, step int) (*scanTally, error) {
	p, err := s.bench.Look(ctx, string(a.Mark))
	if err != nil || p.State.Kind == parts.Cart {
		return nil, err
	}
	index := doneAt(p, a, step)
	if p.State.Kind != parts.Ticket && p.Line.Ticket != "" {
		if p, err = s.bench.Look(ctx, string(p.Line.Ticket)); err != nil {
			return nil, err
		}
	}
	if index < 0 || p.State.Kind != parts.Ticket {
		return nil, nil
	}
	t := &scanTally{Away: []scanGroup{}}
	for _, st := range p.View.Group {
		if st.Scrapped {
			continue
		}
		t.Of++
		if st.In != "" || st.Next > index {
			t.Done++
			continue
		}
		where, err := s.whereabouts(ctx, p, st)
		if err != nil {
			return nil, err
		}
		t.add(where, a.Station)
	}
	return t, nil
}

// add counts a piece that has the step before it.
func (t *scanTally) add(where parts.StationRow, here parts.Station) {
	if where.Key == here {
		t.Here++
		return
	}
	for i := range t.Away {
		if t.Away[i].Where == where.Name {
			t.Away[i].Count++
			return
		}
	}
	t.Away = append(t.Away, scanGroup{Count: 1, Where: where.Name})
}

// whereabouts is where a piece is, as people say it: at a station, held, or in
// the middle of a wait.
func (s *Server) whereabouts(ctx context.Context, p bench.Piece, st parts.State) (parts.StationRow, error) {
	if stands := bench.StateOf(st, p.View.Now); stands != "ready" {
		return parts.StationRow{Name: stands}, nil
	}
	next, _ := parts.NextStep(p.View.Routing(st), st)
	row, err := s.bench.Station(ctx, next.Step.Station)
	if parts.AsProblem(err) != nil {
		return parts.StationRow{Name: string(next.Step.Station)}, nil // the shop closed that station
	}
	return row, err
}

// doneAt is the index of the step that an answer tells of, -1 for a repair or
// anything else.
func doneAt(p bench.Piece, a bench.Answer, step int) int {
	if index, repair := parts.StepIndex(step); step > 0 && !repair && index < len(p.Steps) {
		return index
	}
	furthest := p.State.Next
	for _, st := range p.View.Group {
		if p.State.Kind == parts.Ticket && st.Line == p.State.Line {
			furthest = max(furthest, st.Next)
		}
	}
	for i := min(furthest, len(p.Steps)) - 1; i >= 0; i-- {
		if p.Steps[i].Name == a.Did && p.Steps[i].Station == a.Station {
			return i
		}
	}
	return -1
}
