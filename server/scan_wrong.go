package server

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
)

// scanWrong is what a phone needs to say of a piece that something is off, or
// that it goes elsewhere, without asking again.
type scanWrong struct {
	Defects []scanDefect         `json:"defects"` // that can be said of it now
	Coats   []scanCoat           `json:"coats"`   // that it has had
	Spares  []scanSpare          `json:"spares"`  // free to take its place
	Piles   []scanPile           `json:"piles"`   // of a ticket: the steps that some may not have come out of
	Free    int                  `json:"free"`    // of a ticket: its spares
	Spots   []scanSpot           `json:"spots"`   // its holes
	Sketch  *labels.ScreenSketch `json:"sketch"`  // the picture of its label; null when its size is not known
	Cart    string               `json:"cart,omitempty"`
	Held    string               `json:"held,omitempty"`
	Mending bool                 `json:"mending,omitempty"`
	Doubt   bool                 `json:"doubt,omitempty"`
	Gone    bool                 `json:"gone,omitempty"` // scrapped or delivered: its own page has what may still be done
	Waits   bool                 `json:"label_due,omitempty"`
}

// scanDefect is a defect of the shop's catalogue.
type scanDefect struct {
	Key    string      `json:"key"`
	Name   string      `json:"name"`
	Again  parts.Again `json:"again,omitempty"`
	Remake bool        `json:"remake,omitempty"`
	Repair string      `json:"repair,omitempty"` // what is done about it, in a few words
}

// scanCoat is a step with its number.
type scanCoat struct {
	Number int    `json:"number"`
	Name   string `json:"name"`
}

// scanPile is how many of a ticket stand before a step.
type scanPile struct {
	scanCoat
	Station parts.Station `json:"station"`
	Count   int           `json:"count"`
}

// scanSpare is a spare with what it still needs.
type scanSpare struct {
	Mark  parts.ID `json:"mark"`
	Test  bool     `json:"test,omitempty"`
	Needs string   `json:"needs,omitempty"`
}

// scanSpot is a hole: its name in the log, the face it is in and its number
// there.
type scanSpot struct {
	Spot string `json:"spot"`
	Face string `json:"face"`
	Hole int    `json:"hole"`
}

// The picture of a part is laid into so many units; the page makes them as
// large as its screen.
const (
	screenWide = 100.0
	screenHigh = 60.0
)

// wrongOf reads what may be said of a piece that is in nothing else.
func (s *Server) wrongOf(ctx context.Context, p bench.Piece) (*scanWrong, error) {
	st := p.State
	if st.Kind == parts.Cart {
		return nil, nil
	}
	page := partPage{Piece: p}
	var err error
	if !st.Kind.Counts() {
		if page, err = s.lookRepairs(ctx, page); err != nil {
			return nil, err
		}
	}
	out := &scanWrong{Defects: []scanDefect{}, Coats: []scanCoat{}, Piles: pilesOf(page), Spares: []scanSpare{}, Spots: []scanSpot{},
		Free: page.FreeSpares(), Held: st.Held, Mending: st.Mending(), Doubt: st.Doubt != "", Gone: st.Scrapped || !st.Delivered.IsZero(), Waits: st.LabelDue}
	for _, d := range page.Defects {
		if !out.Mending && said(d, page) {
			out.Defects = append(out.Defects, scanDefect{Key: d.Key, Name: d.Name, Again: d.Again, Remake: d.Remake, Repair: repairText(d)})
		}
	}
	for _, c := range page.Coats {
		out.Coats = append(out.Coats, scanCoat(c))
	}
	for _, o := range p.Spares {
		out.Spares = append(out.Spares, scanSpare{Mark: o.Part, Test: o.Test, Needs: page.NextOf(o)})
	}
	if out.Cart, err = s.cartOf(ctx, st); err != nil {
		return nil, err
	}
	return out, s.pointAt(ctx, p.Line, out)
}

// said reports whether a defect can be said of a piece: no coat is spoiled
// that it has not got, and no hole is off that was not bored.
func said(d parts.Defect, page partPage) bool {
	switch d.Again {
	case parts.CoatsAgain:
		return d.Remake || len(page.Coats) > 0
	case parts.BoreAgain:
		return d.Remake || page.Bored()
	}
	return true
}

// repairText says in a few words what a repair is made of.
func repairText(d parts.Defect) string {
	var words []string
	for _, st := range d.Steps {
		words = append(words, st.Name)
	}
	return strings.Join(words, ", ")
}

// pilesOf are the piles of a ticket with their counts.
func pilesOf(page partPage) []scanPile {
	out := []scanPile{}
	for _, c := range page.Piles() {
		pile := scanPile{scanCoat: scanCoat(c)}
		for _, s := range page.View.Group {
			next, ok := parts.NextStep(page.View.Routing(s), s)
			if ok && !next.Repair && next.Number == c.Number && !s.Scrapped && s.In == "" && s.Held == "" {
				pile.Station, pile.Count = next.Step.Station, pile.Count+1
			}
		}
		out = append(out, pile)
	}
	return out
}

// cartOf names the cart that a piece lies on.
func (s *Server) cartOf(ctx context.Context, st parts.State) (string, error) {
	if st.Cart == "" {
		return "", nil
	}
	carts, err := s.bench.Carts(ctx)
	i := slices.IndexFunc(carts, func(c bench.CartRow) bool { return c.Part == st.Cart })
	if err != nil || i < 0 {
		return "", err
	}
	return carts[i].Name, nil
}

// pointAt adds the picture and the holes.
func (s *Server) pointAt(ctx context.Context, l parts.Line, out *scanWrong) error {
	at, err := s.bench.PointAt(ctx, l)
	if err != nil {
		return err
	}
	for _, name := range at.Holes {
		face, number, _ := strings.Cut(name, ", hole ")
		n, err := strconv.Atoi(number)
		if err != nil {
			n = 0 // a place without a number is called what it is called
		}
		out.Spots = append(out.Spots, scanSpot{Spot: name, Face: face, Hole: n})
	}
	if picture, known := at.Sketch.Screen(screenWide, screenHigh); known {
		out.Sketch = &picture
	}
	return nil
}
