package bench_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// printing is what a print order holds, and its PDF.
type printing struct {
	id      int64
	pdf     []byte
	Sheet   string          `json:"sheet"`
	Paper   string          `json:"paper"`
	Format  *labels.Format  `json:"format"`
	Adjust  labels.Adjust   `json:"adjust"`
	Labels  []labels.Label  `json:"labels"`
	Tickets []labels.Ticket `json:"tickets"`
}

// of is the error of a call.
func (printing) of(_ labels.Adjust, err error) error { return err }

// names are those of the labels, in their order.
func (p printing) names() (out []string) {
	for _, l := range p.Labels {
		out = append(out, l.Name)
	}
	return out
}

// printed orders a print of the job and gives what is in it.
func (s *shop) printed(r bench.PrintRequest) printing {
	s.Helper()
	if r.Job == "" && len(r.Marks) == 0 {
		r.Job = s.job.Job.Code
	}
	if r.ID == (parts.CommandID{}) {
		r.ID = shoptest.NewID()
	}
	order, err := s.Print(context.Background(), r)
	require.NoError(s, err)
	p := printing{id: order.ID, pdf: s.draw(order.ID)}
	require.NoError(s, json.Unmarshal(order.Content, &p))
	return p
}

func (s *shop) draw(order int64) []byte {
	s.Helper()
	var out bytes.Buffer
	require.NoError(s, s.WriteOrder(context.Background(), &out, order))
	return out.Bytes()
}

// refused orders a print that is refused, and gives the code.
func (s *shop) refused(r bench.PrintRequest) string {
	s.Helper()
	r.ID = shoptest.NewID()
	_, err := s.Print(context.Background(), r)
	return parts.CodeOf(err)
}

// hingedList has parts with a hand, with blanks and with test pieces.
const hingedList = `qty,part,length,width,thickness,material,assembly,spares,test pieces,per blank,pattern,hand
2,Hinge stile L,34 1/2,2 1/4,3/4,white oak,Locker front,,,,Hinge stile,left
2,Hinge stile R,34 1/2,2 1/4,3/4,white oak,Locker front,,,,Hinge stile,right
4,Rail,11 3/4,2 1/4,3/4,white oak,Locker front,1,3,4,,
`

func hinged(t *testing.T) *shop {
	ctx := context.Background()
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	_, err := b.SavePattern(ctx, parts.Pattern{Name: "Hinge stile", Holes: []parts.Hole{
		{Into: parts.IntoBack, Along: 3 * parts.Inch, Across: 7 * parts.Inch / 8, Diameter: parts.Inch, Depth: parts.Inch / 2}}})
	require.NoError(t, err)
	return &shop{T: t, Bench: b, clock: clock, job: shoptest.ListJob(t, b, "Tern Point lockers", hingedList, map[string]int{"Locker front": 2})}
}

func TestALabelSaysWhatIsTrueWhenItIsPrinted(t *testing.T) {
	s := hinged(t)
	one := func(name string) labels.Label {
		return s.printed(bench.PrintRequest{What: "labels", Marks: []string{s.mark(name)}, Again: true}).Labels[0]
	}
	rail := one("Rail 1")
	assert.Equal(t, parts.GrainLong, rail.Grain)
	assert.Equal(t, "Keep with the ticket. After boring: on the back face.", rail.Place)
	assert.Equal(t, []string{"ticket until bored, then back face", "ticket, then back face", "back face"}, rail.PlaceShort)
	assert.Equal(t, parts.BackFace, rail.Sketch.Seat)
	assert.Equal(t, parts.Inch*47/4, rail.Sketch.Length)
	// A blank of four is four lengths, three kerfs, a trim and the snipe at
	// both ends: 4 x 11 3/4 + 3 x 1/8 + 1 + 2 x 3 in (allowances are common
	// practice, no source).
	assert.Equal(t, `54 3/8" long, a blank of 4`, rail.Rough)

	left, right := one("Hinge stile L 1"), one("Hinge stile R 1")
	assert.Equal(t, parts.Left, left.Hand)
	assert.Equal(t, parts.Right, right.Hand)
	require.Len(t, right.Sketch.Holes, 1)
	assert.False(t, left.Sketch.Holes[0].AcrossFar)
	mirrored := right.Sketch.Holes[0]
	assert.Equal(t, !left.Sketch.Holes[0].AcrossFar, mirrored.AcrossFar != mirrored.FromFar, "a right part has the holes of the left one in a mirror")
	assert.Equal(t, `41 1/2" long`, left.Rough, "one of 34 1/2 with 1 in of trim and 3 in of snipe at each end")

	tag := s.printed(bench.PrintRequest{What: "labels", Marks: []string{s.mark("Rail 1")}, Sheet: "letter-tag-3x2"}).Labels[0]
	assert.Empty(t, tag.Place, "a tag hangs")
	assert.Empty(t, tag.Sketch.Seat)
	frame := one("Locker front 1")
	assert.Empty(t, frame.Grain, "a frame has none")
	assert.Nil(t, frame.Sketch)
	assert.Empty(t, frame.Rough)

	s.mill("Rail")
	rail = one("Rail 1")
	assert.Empty(t, rail.Rough, "cut to length")
	assert.Equal(t, "On the back face.", rail.Place)
	assert.Equal(t, 3, rail.Copy)
	assert.True(t, strings.HasSuffix(rail.Address, "/P/3/"+s.mark("Rail 1")))
}

func TestATicketCountsItsBlanks(t *testing.T) {
	s := hinged(t)
	ticket := func() labels.Ticket {
		return s.printed(bench.PrintRequest{What: "tickets", Marks: []string{s.ticket("Rail")}, Again: true}).Tickets[0]
	}
	got := ticket()
	assert.Equal(t, 4, got.PerBlank)
	assert.Equal(t, 4, got.Count)
	assert.Equal(t, 4, got.Spares, "a spare and three for trying come out of the same two blanks")
	assert.Contains(t, got.Note, "3 of the spares for trying")
	// 4 x 11 3/4 in is 47 in; three kerfs of 1/8, 1 of trim and 3 of snipe at
	// each end are 7 3/8 more (allowances are common practice, no source).
	assert.Equal(t, `cut 2 blanks 54 3/8" long`, got.Rough)
	assert.Equal(t, `a blank of 4; incl. 7 3/8" for saw cuts, trimming and the planer's snipe`, got.RoughWhy)
	p, err := s.Look(context.Background(), s.ticket("Rail"))
	require.NoError(t, err)
	set, err := s.Settings(context.Background())
	require.NoError(t, err)
	assert.Contains(t, got.Rough, p.Rough.Format(set.Style()), "the page says the same length")
	s.mill("Rail")
	assert.Zero(t, ticket().PerBlank, "what is cut apart has no blanks to tear off")
	assert.Empty(t, ticket().Rough+ticket().RoughWhy, "nor a rough length")
}

// A ticket of parts that come one from a blank, of a size that is found at the
// bench, and of assemblies.
func TestTheRoughLengthOnATicket(t *testing.T) {
	s := hinged(t)
	tickets := map[string]labels.Ticket{}
	for _, tk := range s.printed(bench.PrintRequest{What: "tickets"}).Tickets {
		tickets[tk.Name] = tk
		if tk.Rough == "" {
			assert.Empty(t, tk.RoughWhy, tk.Name)
		}
	}
	assert.Equal(t, `cut the blanks 41 1/2" long`, tickets["Hinge stile L"].Rough)
	assert.Equal(t, `incl. 7" for trimming and the planer's snipe`, tickets["Hinge stile L"].RoughWhy)
	// Once the mill is past only a part made again is rough.
	s.mill("Rail")
	_, err := s.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Rail 1"), Reason: "split"})
	require.NoError(t, err)
	again := s.printed(bench.PrintRequest{What: "tickets", Marks: []string{s.ticket("Rail")}, Again: true}).Tickets[0]
	assert.Equal(t, `cut 1 blank 54 3/8" long`, again.Rough)
}

// What is remade has no ticket of its own: its page, its label and the queue
// say the same of it.
func TestWhereTheLabelOfARemadePartGoes(t *testing.T) {
	ctx := context.Background()
	s := hinged(t)
	s.mill("Rail")
	a, err := s.Remake(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark("Rail 1"), Reason: "split"})
	require.NoError(t, err)
	const want = "Tie to the blank. After boring: on the back face."
	fresh := string(a.New)
	p, err := s.Look(ctx, fresh)
	require.NoError(t, err)
	assert.Equal(t, want, p.Label.String())
	queue, err := s.LabelQueue(ctx)
	require.NoError(t, err)
	said := ""
	for _, at := range queue[0].Places {
		for _, l := range at.Labels {
			if string(l.Mark) == fresh {
				said = l.Place.String()
			}
		}
	}
	assert.Equal(t, want, said)
	l := s.printed(bench.PrintRequest{What: "labels", Marks: []string{fresh}}).Labels[0]
	assert.Equal(t, want, l.Place)
	assert.Equal(t, "on the blank, then back face", l.PlaceShort[1])
	assert.Equal(t, parts.BackFace, l.Sketch.Seat)
}

// Tickets of a shop whose labels come on a roll are printed on its paper: a
// roll has none.
func TestTicketsNeedPaper(t *testing.T) {
	s := openShop(t)
	assert.Equal(t, "letter", s.printed(bench.PrintRequest{What: "tickets", Sheet: "roll-57x32"}).Paper)
	assert.Equal(t, "a4", s.printed(bench.PrintRequest{What: "tickets", Sheet: "a4-3x8"}).Paper)
}

func TestLabelsOfEveryFormat(t *testing.T) {
	s := openShop(t)
	all, err := s.Formats(context.Background())
	require.NoError(t, err)
	for _, f := range all {
		p := s.printed(bench.PrintRequest{What: "labels", Sheet: f.Key})
		assert.Equal(t, f.Format, *p.Format)
		assert.Equal(t, p.pdf, s.draw(p.id), "%s: the same order, the same bytes", f.Key)
		same := s.printed(bench.PrintRequest{What: "labels", Sheet: f.Key})
		assert.Equal(t, f.Key, same.Sheet)
	}
}

// The labels of a roll scan one after the other, by programs that know
// nothing of ours.
func TestLabelsOfARollScan(t *testing.T) {
	s := openShop(t)
	p := s.printed(bench.PrintRequest{What: "labels", Sheet: "roll-100x50", Marks: []string{s.mark("Stile 1"), s.mark("Locker front 2")}})
	text, codes := printedOn(t, p.pdf)
	assert.ElementsMatch(t, []string{p.Labels[0].Address, p.Labels[1].Address}, codes)
	assert.Contains(t, text, "grain lengthwise")
	assert.Contains(t, text, "Locker front 2")
}

func TestWhatToPrintIsChosen(t *testing.T) {
	s := openShop(t)
	line := func(name string) int64 {
		for _, l := range s.job.Lines {
			if l.Name == name {
				return l.ID
			}
		}
		t.Fatalf("no line %s", name)
		return 0
	}
	choose := func(r bench.PrintRequest) []string {
		r.What, r.Again = "labels", true
		return s.printed(r).names()
	}
	assert.Equal(t, []string{"Shelf"}, choose(bench.PrintRequest{Line: line("Shelf")}))
	assert.Len(t, choose(bench.PrintRequest{Line: line("Locker front")}), 4+5+2, "an assembly and all that goes into it")
	s.mill("Stile")
	assert.Equal(t, []string{"Stile 1", "Stile 2", "Stile 3", "Stile 4", "Rail 1", "Rail 2", "Rail 3", "Rail 4", "Rail 5 (spare)", "Shelf", "Locker front 1", "Locker front 2"}, choose(bench.PrintRequest{}))
	assert.Equal(t, []string{"Stile 1", "Stile 2", "Stile 3", "Stile 4", "Locker front 1", "Locker front 2"}, choose(bench.PrintRequest{Station: "glue"}),
		"what is ready for its assembly is wanted where that is put together")
	assert.Equal(t, []string{"Stile 2", "Rail 3"}, choose(bench.PrintRequest{Marks: []string{s.mark("Rail 3"), s.mark("Stile 2")}}), "without a job, that of the marks")
	assert.Equal(t, "print-nothing", s.refused(bench.PrintRequest{Job: s.job.Job.Code, What: "labels", Remade: true}))

	_, err := s.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Rail 2"), Reason: "split"})
	require.NoError(t, err)
	_, err = s.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: s.mark("Rail 1"), Reason: "split", Spare: s.mark("Rail 5 (spare)")})
	require.NoError(t, err)
	remade := []string{"Rail 2", "Rail 5"} // one made again, and the spare that took a place
	assert.Equal(t, remade, choose(bench.PrintRequest{Remade: true}))
	lately, err := s.RemadeLately(context.Background())
	require.NoError(t, err)
	require.Len(t, lately, 1)
	assert.Equal(t, 2, lately[0].Count)
	at := s.clock.Now()
	s.clock.Set(time.Date(at.Year(), at.Month(), at.Day()+1, 23, 59, 0, 0, time.UTC))
	assert.Equal(t, remade, choose(bench.PrintRequest{Remade: true}), "late on the next day it is of yesterday")
	s.clock.Pass(2 * time.Minute)
	assert.Equal(t, "print-nothing", s.refused(bench.PrintRequest{Job: s.job.Job.Code, What: "labels", Remade: true}))
}

func TestLabelsThatCannotBePrinted(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	other := shoptest.ListJob(t, s.Bench, "Tern Point benches", shoptest.FramesList, map[string]int{"Locker front": 2})
	var stranger string
	for _, st := range other.States {
		stranger = string(st.Part)
	}
	carts := carts(t, s.Bench, 1)
	_, err := s.Remake(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark("Stile 1"), Reason: "split"})
	require.NoError(t, err)
	code := s.job.Job.Code
	for _, tt := range []struct {
		want string
		r    bench.PrintRequest
	}{
		{"label-void", bench.PrintRequest{Job: code, What: "labels", Marks: []string{s.mark("Stile 1")}}},
		{"print-other", bench.PrintRequest{Job: code, What: "labels", Marks: []string{s.ticket("Rail")}}},
		{"print-other", bench.PrintRequest{Job: code, What: "tickets", Marks: []string{s.mark("Rail 1")}}},
		{"mark-elsewhere", bench.PrintRequest{Job: code, What: "labels", Marks: []string{stranger}}},
		{"marks-mixed", bench.PrintRequest{What: "labels", Marks: []string{s.mark("Rail 1"), stranger}}},
		{"label-none", bench.PrintRequest{What: "labels", Marks: carts}},
		{"first-out", bench.PrintRequest{Job: code, What: "labels", Sheet: "roll-57x32", First: 2}},
		{"sheet-unknown", bench.PrintRequest{Job: code, What: "labels", Sheet: "wall"}},
	} {
		assert.Equal(t, tt.want, s.refused(tt.r))
	}
	assert.Empty(t, must(s.Orders(ctx, 9)), "nothing was recorded as printed")

	// An address that is too long for a small label is said before anything
	// counts as printed.
	set, err := s.Settings(ctx)
	require.NoError(t, err)
	set.Address = "http://" + strings.Repeat("very-long-name.", 12) + "example:8080"
	require.NoError(t, s.SaveSettings(ctx, set))
	assert.Equal(t, "address-too-long", s.refused(bench.PrintRequest{Job: code, What: "labels", Sheet: "roll-38x18"}))
	assert.Empty(t, must(s.Orders(ctx, 9)))
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// What waits is printed in the order in which the parts will come: by the
// station of the next step along the floor, then by line and number. The same
// request sent twice has the same answer, though nothing waits any more.
func TestTheQueueIsInTheOrderOfTheFloor(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	s.mill("Stile")
	s.mill("Rail")
	s.must(s.mark("Locker front 2"), "glue")
	_, err := s.Remake(ctx, bench.Request{ID: shoptest.NewID(), Mark: s.mark("Rail 4"), Reason: "split"})
	require.NoError(t, err)
	queue, err := s.LabelQueue(ctx)
	require.NoError(t, err)
	require.Len(t, queue, 1)
	var order, stations []string
	for _, at := range queue[0].Places {
		stations = append(stations, string(at.Station.Key))
		for _, l := range at.Labels {
			order = append(order, string(l.Mark))
			assert.NotEmpty(t, l.Place)
		}
	}
	assert.Len(t, order, queue[0].Count)
	known := must(s.Stations(ctx))
	last := -1
	for _, key := range stations {
		i := len(known)
		for j, st := range known {
			if string(st.Key) == key {
				i = j
			}
		}
		assert.Greater(t, i, last, "%v are in the order of the floor, each once", stations)
		last = i
	}
	assert.Contains(t, stations, "crosscut", "the remade rail")

	r := bench.PrintRequest{ID: shoptest.NewID(), Job: s.job.Job.Code, What: "labels", Due: true, Again: true, Marks: order[1:]}
	p := s.printed(r)
	var got []string
	for _, l := range p.Labels {
		got = append(got, l.Mark)
	}
	assert.Equal(t, order[1:], got)
	assert.Equal(t, p.id, s.printed(r).id)
	left := must(s.LabelQueue(ctx))
	require.Len(t, left, 1)
	assert.Equal(t, 1, left[0].Count, "what was not ticked still waits")
}

func TestThePreviewIsTheLabel(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	mark := s.mark("Stile 1")
	svg := must(s.LabelPreview(ctx, strings.ToLower(mark), ""))
	assert.Contains(t, svg, mark)
	p := s.printed(bench.PrintRequest{What: "labels", Marks: []string{mark}})
	drawn, err := labels.LabelSVG(*p.Format, p.Labels[0])
	require.NoError(t, err)
	assert.Equal(t, drawn, svg)
	assert.NotEqual(t, svg, must(s.LabelPreview(ctx, mark, "roll-38x18")))
	for code, ask := range map[string][2]string{"sheet-unknown": {mark, "x"}, "print-other": {s.ticket("Rail"), ""}, "mark-unreadable": {"!", ""}} {
		_, err := s.LabelPreview(ctx, ask[0], ask[1])
		assert.Equal(t, code, parts.CodeOf(err))
	}
	assert.Len(t, must(s.Orders(ctx, 9)), 1, "looking prints nothing")
}

// An order of before formats were kept in it has the key of a ready-made one,
// and still gives the bytes that it gave then.
func TestOldOrdersNameTheirFormatByKey(t *testing.T) {
	shoptest.NeedSQLite(t, "it writes into the shop's file")
	ctx := context.Background()
	dsn := shoptest.DSN(t)
	open := func() *bench.Bench {
		b, err := bench.Open(ctx, dsn, bench.Options{Clock: shoptest.NewClock().Now})
		require.NoError(t, err)
		return b
	}
	b := open()
	require.NoError(t, b.SaveSettings(ctx, parts.Settings{Shop: "Test shop", Zone: "UTC", Unit: "in", Denominator: 32,
		Address: "http://192.168.1.20:8080", Paper: "letter", Sheet: "letter-2x5"}))
	s := &shop{T: t, Bench: b, job: shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})}
	p := s.printed(bench.PrintRequest{What: "labels"})
	require.NoError(t, b.Close())

	db, err := sql.Open("sqlite3", dsn+"?vfs=pagesum")
	require.NoError(t, err)
	_, err = db.Exec("UPDATE print_orders SET content = json_remove(content, '$.format')")
	require.NoError(t, err)
	require.NoError(t, db.Close())

	s.Bench = open()
	defer s.Close()
	order, err := s.Order(ctx, p.id)
	require.NoError(t, err)
	require.NotContains(t, string(order.Content), `"format"`)
	assert.Equal(t, p.pdf, s.draw(p.id))
}
