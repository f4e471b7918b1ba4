package server

import (
	"context"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
	"benchtally/parts/routing"
)

// partPage is what the page of a part, a ticket or an assembly shows.
type partPage struct {
	bench.Piece
	Offers  []bench.Offer
	Spots   []bench.Spot  // of a ticket: where its parts are
	Inside  *partPage     // of a part in an assembly: the assembly
	Did     *bench.Answer // what this phone recorded just now
	Problem *parts.Problem
	Asked   bench.Request // what was refused, to ask it again with a reason
	Reason  string        // the ready-made reason to overrule the refusal
	Repair  bool          // a repair over the limit may be overruled
	Verb    string        // what was asked for, the last word of its address
	Old     int           // the copy of the label that was scanned, when a newer one was printed
	Parts   []member      // of an assembly: what was fitted into it
	Defects []parts.Defect
	Places  []string        // where a hole may be off
	Coats   []coat          // that it has had, and that may have to be repeated
	Carts   []bench.CartRow // on which it may be put
	Fit     []bench.KitRow  // of an assembly before its dry fit: the kit check
	Sheets  []bench.Paper   // its label may be printed on
}

// coat is a coat that a piece has had.
type coat struct {
	Number int // by which a request names it
	Name   string
}

// Short reports whether an assembly waits for parts.
func (p partPage) Short() bool {
	return slices.ContainsFunc(p.Kits, func(k routing.Kit) bool { return k.Short() > 0 })
}

// Doubted are the pieces of a ticket that have to be looked at.
func (p partPage) Doubted() []member {
	var out []member
	for _, s := range p.View.Group {
		if s.Doubt != "" && p.State.Kind.Counts() {
			out = append(out, member{Mark: s.Part, Name: p.View.Name(s)})
		}
	}
	return out
}

// Pieces are those of a ticket or a cart, with how they stand.
func (p partPage) Pieces() []pieceRow {
	var out []pieceRow
	for _, s := range p.View.Group {
		if !p.State.Kind.Counts() || s.Scrapped {
			continue
		}
		row := pieceRow{member: member{Mark: s.Part, Name: p.View.Name(s)}, Stands: bench.StateOf(s, p.View.Now)}
		row.Next = p.NextOf(s)
		out = append(out, row)
	}
	return out
}

// pieceRow is a piece of a ticket with what it needs next.
type pieceRow struct {
	member
	Stands, Next string
}

// Piles are the steps before which pieces of a ticket stand, with their
// numbers, for those that did not come out of one.
func (p partPage) Piles() []coat {
	var out []coat
	for _, s := range p.View.Group {
		next, ok := parts.NextStep(p.View.Routing(s), s)
		if p.State.Kind != parts.Ticket || p.Line.Kind != parts.Single || !ok || next.Repair || s.In != "" || s.Held != "" {
			continue
		}
		if !slices.ContainsFunc(out, func(c coat) bool { return c.Number == next.Number }) {
			out = append(out, coat{Number: next.Number, Name: next.Step.Name})
		}
	}
	return out
}

// Bored reports whether holes were made in it.
func (p partPage) Bored() bool {
	return slices.ContainsFunc(p.Steps[:min(p.State.Next, len(p.Steps))], func(s parts.Step) bool { return s.Bores })
}

// Ahead are the steps at which it may go on when some are left out.
func (p partPage) Ahead() []coat {
	var out []coat
	for i, st := range p.Steps {
		if !st.Wait() && i > p.behind() {
			out = append(out, coat{Number: i + 1, Name: st.Name})
		}
	}
	return out
}

// behind is the index of the next step of the piece, or of the pieces of a
// ticket that are furthest behind.
func (p partPage) behind() int {
	next := p.State.Next
	for i, s := range p.View.Group {
		if p.State.Kind == parts.Ticket && (i == 0 || s.Next < next) {
			next = s.Next
		}
	}
	return next
}

// SideOf says which coat of how many the step with a number is for which
// faces; "" where it coats them all, or nothing.
func (p partPage) SideOf(number int) string {
	i, repair := parts.StepIndex(number)
	if number == 0 || repair || i >= len(p.Steps) || len(p.Steps[i].Coats) == len(parts.Faces) {
		return ""
	}
	var out []string
	for _, side := range finish.Sides(p.Steps, i) {
		out = append(out, side.Text(p.Steps[i].Coat))
	}
	return strings.Join(out, "; ")
}

// LastCoat is the number of the coat it got last, 0 for none.
func (p partPage) LastCoat() int {
	if len(p.Coats) == 0 {
		return 0
	}
	return p.Coats[len(p.Coats)-1].Number
}

// Alive counts the parts of a ticket that are not scrapped.
func (p partPage) Alive() int {
	n := 0
	for _, s := range p.View.Group {
		if !s.Scrapped {
			n++
		}
	}
	return n
}

// FreeSpares counts the spares of a ticket that could take a place.
func (p partPage) FreeSpares() int {
	n := 0
	for _, s := range p.View.Group {
		if s.Spare && !s.Scrapped {
			n++
		}
	}
	return n
}

// NextOf is the next step of another part of the line, "" for none.
func (p partPage) NextOf(s parts.State) string {
	next, _ := parts.NextStep(p.View.Routing(s), s)
	return next.Step.Name
}

// Glued reports whether an assembly holds for good.
func (p partPage) Glued() bool {
	for i := range p.State.Past {
		if i < len(p.Steps) && p.Steps[i].Glues {
			return true
		}
	}
	return false
}

// member is a part of an assembly.
type member struct {
	Mark parts.ID
	Name string
}

func (s *Server) part(c *gin.Context) error {
	return s.showPart(c, http.StatusOK, partPage{})
}

// partCopy opens the second and later copies of a label, which say which copy
// they are.
func (s *Server) partCopy(c *gin.Context) error {
	n, err := strconv.Atoi(c.Param("mark"))
	if err != nil || n < 2 {
		return noSuchPage()
	}
	c.Params = gin.Params{{Key: "mark", Value: c.Param("second")}}
	return s.showPart(c, http.StatusOK, partPage{Old: n})
}

func (s *Server) lowerCase(c *gin.Context) error {
	c.Redirect(http.StatusMovedPermanently, "/P/"+strings.ToUpper(c.Param("mark")))
	return nil
}

// showPart shows the page of the mark in the address.
func (s *Server) showPart(c *gin.Context, status int, page partPage) error {
	ctx := c.Request.Context()
	here := parts.Station(cookie(c, "station"))
	old := page.Old
	page, err := s.lookPart(ctx, c.Param("mark"), here, page)
	if err != nil {
		return err
	}
	if page.Sheets, err = s.bench.Papers(ctx); err != nil {
		return err
	}
	if old == 0 {
		old = 1
	}
	page.Old = 0
	// A link from another page is no label that somebody scanned.
	if old < page.State.Copies && c.GetHeader("Referer") == "" {
		page.Old = old
	}
	if id, err := parts.ParseCommandID(c.Query("did")); err == nil && page.Problem == nil {
		if a, found, err := s.bench.Answered(ctx, id); err != nil {
			return err
		} else if found {
			page.Did = &a
		}
	}
	s.page(c, status, "part", page.Name, page)
	return nil
}

// lookPart reads what the page shows.
func (s *Server) lookPart(ctx context.Context, mark string, here parts.Station, page partPage) (partPage, error) {
	var err error
	if page.Piece, err = s.bench.Look(ctx, mark); err != nil {
		return page, err
	}
	if page.Offers, err = s.bench.Offers(ctx, page.Piece, here); err != nil {
		return page, err
	}
	if page.Carts, err = s.bench.Carts(ctx); err != nil {
		return page, err
	}
	if page.State.Kind.Counts() {
		page.Spots, err = s.bench.Spots(ctx, page.Piece)
		return page, err
	}
	if page.State.In != "" {
		inside, err := s.lookPart(ctx, string(page.State.In), here, partPage{})
		page.Inside = &inside
		return page, err
	}
	if page, err = s.lookRepairs(ctx, page); err != nil {
		return page, err
	}
	if page.Fit, err = s.bench.KitCheck(ctx, page.Piece); err != nil {
		return page, err
	}
	for _, st := range page.View.Group {
		if page.State.Kind == parts.Assembly && st.In == page.State.Part {
			page.Parts = append(page.Parts, member{Mark: st.Part, Name: page.View.Name(st)})
		}
	}
	return page, nil
}

// lookRepairs reads what may be said of a defect.
func (s *Server) lookRepairs(ctx context.Context, page partPage) (partPage, error) {
	var err error
	if page.Defects, err = s.bench.Defects(ctx); err != nil {
		return page, err
	}
	for i, st := range page.Steps {
		if st.Coat != "" && i < len(page.State.Past) && page.State.Past[i].How != parts.WasSkipped {
			page.Coats = append(page.Coats, coat{Number: i + 1, Name: st.Name})
		}
	}
	page.Places, err = s.bench.HolePlaces(ctx, page.Line)
	return page, err
}

// find goes to what a typed or scanned text names: a mark, a whole address, a
// station's placard.
func (s *Server) find(c *gin.Context) error {
	text := strings.TrimSpace(c.Query("mark"))
	if _, key, ok := strings.Cut(strings.ToUpper(text), "/S/"); ok {
		c.Redirect(http.StatusSeeOther, "/S/"+strings.Trim(key, "/"))
		return nil
	}
	id, err := parts.ParseMark(text)
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/P/"+string(id))
	return nil
}

// longMemory is how long a phone remembers where it stands.
const longMemory = 180 * 24 * time.Hour

// remember sets what a phone remembers; "" makes it forget.
func remember(c *gin.Context, name, value string) {
	age := int(longMemory.Seconds())
	if value == "" {
		age = -1
	}
	c.SetSameSite(http.SameSiteLaxMode)
	c.SetCookie(name, value, age, "/", "", false, true)
}
