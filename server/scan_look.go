package server

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// scanLook is what a phone shows of a mark before anything is recorded.
type scanLook struct {
	Mark    parts.ID    `json:"mark"`
	Kind    parts.Kind  `json:"kind"`
	Line    string      `json:"line,omitempty"` // what its line is called
	Name    string      `json:"name"`
	Size    string      `json:"size,omitempty"`
	Inside  string      `json:"inside,omitempty"` // what was scanned, when it is a part of this assembly
	Stands  string      `json:"stands"`
	Shape   string      `json:"shape"`
	Until   string      `json:"until,omitempty"` // when the clock that runs now ends, as people say it
	Then    string      `json:"then,omitempty"`  // when the last of its clocks ends, when that is later
	Why     string      `json:"why,omitempty"`   // a person's reason: held for, doubted for
	Newer   parts.ID    `json:"newer,omitempty"` // what took its place
	Count   int         `json:"count"`           // pieces it stands for
	Counts  bool        `json:"counts"`
	Offers  []scanOffer `json:"offers"`
	Clamps  *scanClamps `json:"clamps"` // null for what is in none
	Kit     []scanKit   `json:"kit"`
	Members []parts.ID  `json:"members"` // of an assembly: what was fitted into it
	Wrong   *scanWrong  `json:"wrong"`   // null for a cart
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
	Batch    int64         `json:"batch,omitempty"` // of a coat: that it would be of
	Sets     string        `json:"sets,omitempty"`  // when that sets in its pot
	Warn     string        `json:"warn,omitempty"`  // of a coat: why it would be refused, or what is doubtful
	WarnDo   string        `json:"warn_do,omitempty"`
	Stops    bool          `json:"stops,omitempty"` // it would be refused
}

// scanClamps is the offer to say that the clamps are off.
type scanClamps struct {
	Until    string `json:"until"`
	Overrule string `json:"overrule,omitempty"` // the reason to take them off before that
}

// scanKit is a line of an assembly's kit check.
type scanKit struct {
	Name  string `json:"name"`
	Need  int    `json:"need"`
	Ready int    `json:"ready"`
}

func (s *Server) scanLook(c *gin.Context) error {
	if frame := c.Query("into"); frame != "" {
		if err := s.canFit(c, frame, c.QueryArray("with"), c.Query("mark")); err != nil {
			return err
		}
	}
	look, err := s.lookOf(c, c.Query("mark"), placeOf(c))
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
	look := scanLook{Mark: p.State.Part, Kind: p.State.Kind, Line: p.Line.Name, Name: p.Name, Size: bench.SizeText(p.Line, words.Style()),
		Stands: p.Stands, Shape: shapeOf(p.Stands), Why: cmp.Or(p.State.Held, p.State.Doubt),
		Newer: p.Newer, Count: 1, Counts: p.State.Kind.Counts(), Offers: []scanOffer{}, Kit: []scanKit{}, Members: []parts.ID{}}
	if look.Counts {
		look.Count = partPage{Piece: p}.Alive()
	}
	if p.Wait != nil {
		look.Until = words.When(p.Wait.Ends())
		if p.Wait.Ends().Before(p.Ready) {
			look.Then = words.When(p.Ready)
		}
	}
	if look.Stands == "ready" && (partPage{Piece: p}).Short() {
		look.Stands, look.Shape = "short of parts", "waiting"
	}
	for _, k := range p.Kits {
		look.Kit = append(look.Kit, scanKit{Name: k.Line.Name, Need: k.Need, Ready: len(k.Ready)})
	}
	if look.Kind == parts.Assembly {
		look.Members = append(look.Members, p.State.Parts...)
	}
	offers, err := s.bench.Offers(ctx, p, here)
	if err != nil {
		return look, err
	}
	if u := p.Unclamp(); u != nil {
		look.Clamps = &scanClamps{Until: words.When(u.Until), Overrule: u.Reason}
	}
	for _, o := range offers {
		look.Offers = append(look.Offers, phoneOffer(o, words))
	}
	look.Wrong, err = s.wrongOf(ctx, p)
	return look, err
}

// canFit refuses a mark that cannot go into a frame beside the others that lie
// on the bench.
func (s *Server) canFit(ctx context.Context, frame string, with []string, mark string) error {
	p, err := s.bench.Look(ctx, frame)
	if err != nil {
		return err
	}
	var marks []parts.ID
	for _, text := range append(with, mark) {
		id, err := parts.ParseMark(text)
		if err != nil {
			return err
		}
		marks = append(marks, id)
	}
	return s.bench.CanFit(ctx, p, stepFor("fit", p), marks)
}

// scanNames names what is in the shop, for when the network is away.
func (s *Server) scanNames(c *gin.Context) error {
	names, err := s.bench.Names(c.Request.Context())
	if err != nil {
		return err
	}
	for i := range names {
		names[i].Step = capital(names[i].Step)
	}
	var out bytes.Buffer
	if err := json.NewEncoder(&out).Encode(names); err != nil {
		return fmt.Errorf("write the names: %w", err)
	}
	c.Header("Vary", "Accept-Encoding")
	data := out.Bytes()
	if strings.Contains(c.GetHeader("Accept-Encoding"), "gzip") { // most of it is the same words again and again
		c.Header("Content-Encoding", "gzip")
		data = squeezed(data)
	}
	c.Data(http.StatusOK, "application/json", data)
	return nil
}

// phoneOffer puts an offer into the words of the shop.
func phoneOffer(o bench.Offer, words words) scanOffer {
	out := scanOffer{Step: o.Number, Name: capital(o.Step.Name), Station: o.Station.Key, Place: o.Station.Name, Here: o.Here,
		Due: o.Due, Most: o.Most, Blanks: o.Blanks, Check: o.Check, Filled: append([]string{}, o.Filled...),
		Binds: o.Step.Binds, Glues: o.Step.Glues}
	if o.Wait != nil {
		out.Until, out.Overrule = words.When(o.Wait.Until), o.Reason
	}
	if a := o.Ahead; a != nil {
		out.Batch, out.Stops = a.Batch.Number, a.Refused != nil
		if until := a.Batch.Until(); !until.IsZero() {
			out.Sets = words.When(until)
		}
		if p := a.First(); p != nil {
			out.Warn, out.WarnDo = words.Say(p), words.Do(p)
		}
	}
	return out
}
