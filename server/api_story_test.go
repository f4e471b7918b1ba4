package server

import (
	"image/png"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// storyList is two locker fronts: the rails travel two to a blank, with a test
// piece and a spare.
const storyList = `qty,part,length,width,thickness,material,assembly,spares,test pieces,per blank
4,Stile,34 1/2,2 1/4,3/4,white oak,Locker front,,,
4,Rail,11 3/4,2 1/4,3/4,white oak,Locker front,1,1,2
`

// story is a job that a program follows from the list to a second delivery.
type story struct {
	*program
	mark func(string) string
}

// look reads everything about a mark.
func (s story) look(mark string) pieceJSON {
	s.Helper()
	var p pieceJSON
	s.get("/api/v1/parts/" + mark).into(&p)
	return p
}

// One job over the API alone: blanks, test pieces, a doubted setup, a remake
// of a remake, a delivery and a return.
func TestAJobOverTheAPIAlone(t *testing.T) {
	p := openProgram(t, false)
	r := p.send("POST", "/api/v1/lists?name=Tern+Point+lockers&assemblies=Locker+front=2&id="+shoptest.NewID().String(), storyList).is(201, "")
	require.Equal(t, []any{8.0, 1.0, 1.0, 2.0}, []any{r.field("parts"), r.field("spares"), r.field("tests"), r.field("assemblies")})
	s := story{p, p.marks("TERN-POINT-LOCKERS")}
	s.millInBlanks()
	s.doubtTheDrill()
	last := s.remakeTwice()
	s.glueUp(last)
	s.finish(s.mark("Locker front 1"))
	s.deliverAndTakeBack(s.mark("Locker front 1"))
}

// millInBlanks takes both lines to the drill. Three blanks are six rails, and
// one blank that stays behind is two.
func (s story) millInBlanks() {
	s.Helper()
	var tickets []ticketJSON
	s.get("/api/v1/jobs/TERN-POINT-LOCKERS/tickets").into(&tickets)
	require.Equal(s, ticketJSON{Mark: parts.ID(s.mark("ticket Rail")), Name: "Rail", Number: 2, Count: 4, Spares: 1, Tests: 1, PerBlank: 2}, tickets[1])
	rails, stiles := s.mark("ticket Rail"), s.mark("ticket Stile")
	r := s.scan(rails, "crosscut", "blanks", 2)
	require.Equal(s, []any{4.0, 2.0, 1.0}, []any{r.field("count"), r.field("behind"), r.field("behind_at")})
	require.EqualValues(s, 2, s.scan(rails, "crosscut", "blanks", 1).field("count"))
	s.post("/api/v1/scans", body("mark", rails, "step", 2, "blanks", 4)).is(422, "count")
	s.scan(stiles, "crosscut")
	for _, ticket := range []string{rails, stiles} {
		s.scan(ticket, "rip")
	}
	s.clock.Pass(24 * time.Hour)
	for _, ticket := range []string{rails, stiles} {
		s.scan(ticket, "joint")
		s.scan(ticket, "rip", "checked", true)
		s.scan(ticket, "plane")
	}
	r = s.scan(rails, "crosscut")
	require.Equal(s, []any{6.0, "length of the first piece, with the rule", 7.0}, []any{r.field("count"), r.field("check"), r.field("check_step")})
	s.post("/api/v1/checks", body("mark", rails, "step", 7)).is(200, "")
	require.Len(s, s.look(rails).Checks, 2, "the fence and the stop")
	s.scan(stiles, "crosscut", "checked", true)
	require.True(s, s.look(s.mark("Rail 6 (test piece)")).Test)
}

// doubtTheDrill bores the stiles with a setup that turns out to be off.
func (s story) doubtTheDrill() {
	s.Helper()
	stiles, off := s.mark("ticket Stile"), s.mark("Stile 2")
	s.scan(s.mark("ticket Rail"), "bore", "checked", true)
	s.scan(stiles, "bore", "checked", true)
	s.post("/api/v1/plugs", body("mark", off, "station", "bore", "spot", "left end, hole 2", "note", "2 mm off")).is(200, "")
	require.EqualValues(s, 3, s.post("/api/v1/doubts", body("mark", stiles, "part", off)).is(200, "").field("count"))
	other := s.look(s.mark("Stile 1"))
	require.Equal(s, []any{"to be looked at", "same setup as Stile 2, which was off"}, []any{other.State, other.Doubt})
	require.Len(s, s.look(stiles).Checks, 2, "the drill has to be checked again")
	var board boardJSON
	s.get("/api/v1/floor").into(&board)
	require.Len(s, board.Jobs[0].Doubted, 3)
	s.post("/api/v1/scans", body("mark", s.mark("Locker front 1"), "station", "glue")).is(422, "parts-missing")

	s.post("/api/v1/clearances", body("mark", s.mark("Stile 1"))).is(200, "")
	require.EqualValues(s, 2, s.post("/api/v1/clearances", body("mark", stiles)).is(200, "").field("count"), "the others of the ticket")
	s.post("/api/v1/scans", body("mark", off, "station", "bore")).is(422, "waiting")
	s.clock.Pass(2 * time.Hour)
	s.scan(off, "bore")
	mended := s.look(off)
	require.Equal(s, []flawJSON{{Defect: "hole-off", Step: 8, Spot: "left end, hole 2"}}, mended.Flaws)
	require.Equal(s, []any{"finished", []int{8}}, []any{mended.State, mended.Reworked})
}

// remakeTwice lets a test piece stand in for one rail, and makes another anew
// twice. It gives the last one's mark.
func (s story) remakeTwice() string {
	s.Helper()
	test := s.mark("Rail 6 (test piece)")
	s.post("/api/v1/remakes", body("mark", s.mark("Rail 2"), "reason", "split at the end", "spare", test)).is(200, "")
	stood := s.look(test)
	require.Equal(s, []any{parts.ID(s.mark("Rail 2")), false, "Rail 6"}, []any{stood.Replaces, stood.Test, stood.Name})

	first := s.post("/api/v1/remakes", body("mark", s.mark("Rail 1"), "reason", "knot fell out")).is(200, "").field("new").(string)
	s.scan(first, "plane", "override", true, "reason", "dry stock from the rack")
	again := body("mark", first, "reason", "snipe")
	second := s.post("/api/v1/remakes", again).is(200, "").field("new").(string)
	require.Equal(s, second, s.post("/api/v1/remakes", again).field("new"), "a repeat starts nothing over")
	old, middle, fresh := s.look(s.mark("Rail 1")), s.look(first), s.look(second)
	require.Equal(s, []parts.ID{parts.ID(first), parts.ID(second), ""}, []parts.ID{old.ReplacedBy, middle.ReplacedBy, fresh.ReplacedBy})
	require.Equal(s, []parts.ID{parts.ID(first), parts.ID(s.mark("Rail 1"))}, []parts.ID{fresh.Replaces, middle.Replaces})
	require.True(s, fresh.LabelDue)
	s.scan(second, "bore")
	return second
}

// glueUp puts the first front together out of the parts on the bench.
func (s story) glueUp(rail string) {
	s.Helper()
	front := s.mark("Locker front 1")
	r := s.scan(front, "glue", "step", 2, "parts", []string{rail, s.mark("Stile 2")})
	require.Equal(s, []any{"glue up, clamps on", "in clamps"}, []any{r.field("did"), r.field("state")})
	require.Equal(s, parts.ID(front), s.look(rail).Assembly)
	s.post("/api/v1/remakes", body("mark", rail, "reason", "split")).is(422, "in-assembly")
	s.post("/api/v1/clamps-off", body("mark", front)).is(422, "waiting")
	s.clock.Pass(time.Hour)
	r = s.post("/api/v1/clamps-off", body("mark", front, "by", "Ann")).is(200, "")
	require.Equal(s, []any{"clamps off", "setting"}, []any{r.field("did"), r.field("state")})
	s.post("/api/v1/clamps-off", body("mark", front)).is(200, "not-in-clamps")
}

// finish sands and coats a front and wraps it.
func (s story) finish(front string) {
	s.Helper()
	s.clock.Pass(24 * time.Hour)
	s.scan(front, "sand")
	for _, station := range []string{"stain", "stain", "topcoat", "topcoat"} {
		s.scan(front, station)
		s.clock.Pass(24 * time.Hour)
	}
	s.scan(front, "wrap")
	require.Equal(s, "finished", s.look(front).State)
}

// deliverAndTakeBack hands a front over; it comes back with a drip, is
// coated again and handed over again. The other front stays.
func (s story) deliverAndTakeBack(front string) {
	s.Helper()
	deliver := func() map[string]any { return body("job", "TERN-POINT-LOCKERS", "by", "Ann") }
	require.EqualValues(s, 1, s.post("/api/v1/deliveries", deliver()).is(200, "").field("count"))
	require.Equal(s, []any{"delivered", s.clock.Now()}, []any{s.look(front).State, s.look(front).Delivered})
	s.post("/api/v1/deliveries", deliver()).is(422, "nothing-finished")
	s.post("/api/v1/scraps", body("mark", s.mark("Locker front 2"))).is(400, "reason-missing")

	s.clock.Pass(48 * time.Hour)
	photo := s.send("POST", "/api/v1/photos", string(picture(s.T, png.Encode))).is(201, "").field("name")
	s.post("/api/v1/returns", body("mark", front, "defect", "drip-or-sag", "reason", "a drip on the lower rail",
		"coats", []int{12}, "side", []string{"show face"}, "photo", photo)).is(200, "")
	back := s.look(front)
	require.Equal(s, []any{true, "ready", "sand back"}, []any{back.Delivered.IsZero(), back.State, back.Next.Name})
	s.scan(front, "sand")
	s.scan(front, "topcoat")
	s.post("/api/v1/deliveries", deliver()).is(422, "nothing-finished")
	s.clock.Pass(24 * time.Hour)
	s.scan(front, "wrap")
	require.EqualValues(s, 1, s.post("/api/v1/deliveries", deliver()).is(200, "").field("count"))

	var kinds []parts.EventKind
	var events []eventJSON
	s.get("/api/v1/parts/" + front + "/events").into(&events)
	for _, e := range events[len(events)-6:] {
		kinds = append(kinds, e.Kind)
	}
	require.Equal(s, []parts.EventKind{parts.Delivered, parts.Returned, parts.Mended, parts.Mended, parts.Mended, parts.Delivered}, kinds)
	require.Equal(s, photo, events[len(events)-5].Photo)
	var board boardJSON
	s.get("/api/v1/floor").into(&board)
	require.Equal(s, []int{1, 0}, []int{board.Jobs[0].Delivered, board.Jobs[0].Finished})
}
