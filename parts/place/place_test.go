package place

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// Labels as shops buy them. The sheets are the usual generic ones, which
// close to their pages: 3 x 10 on Letter (2(3/16) + 3(2-5/8) + 2(1/8) = 8-1/2)
// and 3 x 8 on A4 (3 x 70 = 210). The roll is made for edges.
var (
	letter = Size2D{W: 21 * parts.Inch / 8, H: parts.Inch}
	a4     = Size2D{W: 70 * parts.Millimetre, H: 37 * parts.Millimetre}
	roll   = Size2D{W: 38 * parts.Millimetre, H: 18 * parts.Millimetre}
)

// piece is a line of parts of a size in inches.
func piece(t *testing.T, length, width, thick string) parts.Line {
	t.Helper()
	l := parts.Line{Kind: parts.Single, Name: "Rail", Quantity: 4}
	for i, to := range []*parts.Size{&l.Length, &l.Width, &l.Thick} {
		size, err := parts.ParseSize([]string{length, width, thick}[i], parts.Writing{Unit: parts.Inches})
		require.NoError(t, err)
		*to = size
	}
	return l
}

// into is a line of parts that go into an assembly.
func into(l parts.Line) parts.Line {
	l.Into = 7
	return l
}

// ready are the ready-made steps of a key.
func ready(t *testing.T, key string) parts.Routing {
	t.Helper()
	for _, r := range routing.ReadyMade() {
		if r.Key == key {
			return r
		}
	}
	t.Fatalf("no steps %q", key)
	return parts.Routing{}
}

func TestThePlansOfTheReadyMadeSteps(t *testing.T) {
	stile := piece(t, "34 1/2", "2 1/4", "3/4")
	tests := []struct {
		name  string
		line  parts.Line
		steps string
		label Size2D
		want  string
	}{
		{"a stile of a frame", into(stile), routing.FramePart, letter, "ticket until bored; then back until put together"},
		{"a stile of no frame", stile, routing.FramePart, letter, "ticket until bored; then back"},
		{"a slat", into(piece(t, "13 7/16", "2", "1/2")), routing.FramePart, letter, "ticket until bored; then back until put together"},
		{"a stile with dowels", into(stile), routing.DowelPart, letter, "ticket until “glue dowels in” is done; then back until put together"},
		{"a frame", parts.Line{Kind: parts.Assembly}, routing.Frame, letter, "ticket until glued up; then tag"},
		{"a screwed unit", parts.Line{Kind: parts.Assembly}, routing.ScrewedUnit, letter, "ticket until screwed together; then tag"},
		{"a shelf of sheet goods", piece(t, "15 1/4", "11 7/8", "3/4"), routing.Panel, letter, "ticket until sanded; then tag"},
		{"a panel for a frame", into(piece(t, "30", "11 7/8", "1/4")), routing.FramePanel, letter, "ticket until cut to length; then back until put together"},
		{"a loose cleat", piece(t, "9", "1 1/2", "1 1/2"), routing.LoosePart, letter, "ticket until sanded; then tag"},
		{"a scribe strip whose length is to suit", piece(t, "to suit 36", "1 1/4", "3/8"), routing.LoosePart, letter, "ticket until sanded; then tag"},
		// 1 1/4 in is 31.75 mm, and the label is 37 mm high.
		{"a strip narrower than its label", piece(t, "to suit 36", "1 1/4", "3/8"), routing.LoosePart, a4, "ticket until sanded; then place on the rack"},
		{"a narrow strip of a frame", into(piece(t, "12", "1 1/4", "3/8")), routing.FramePart, a4, "ticket until put together"},
		{"a bought handle", piece(t, "", "", ""), routing.Bought, letter, "back"},
		{"a bought part of a frame", into(piece(t, "", "", "")), routing.Bought, letter, "back until put together"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, told(Plan(tt.line, ready(t, tt.steps), tt.label)))
		})
	}
}

// told is a plan in short: where, and until when, stretch by stretch.
func told(plan []Stretch) string {
	out := ""
	for i, s := range plan {
		if i > 0 {
			out += "; then "
		}
		out += map[Place]string{Ticket: "ticket", Back: "back", Edges: "edge", Ends: "end", Tag: "tag", Rack: "place on the rack"}[s.Place]
		if i > 0 && plan[i-1].Place == s.Place {
			out += " again"
		}
		if s.Name != "" {
			out += " until " + done(s.Name)
		}
	}
	return out
}

func TestNoReadyMadePieceNeedsTwoLabels(t *testing.T) {
	for _, r := range routing.ReadyMade() {
		for _, label := range []Size2D{letter, a4, roll} {
			plan := Plan(piece(t, "34 1/2", "2 1/4", "3/4"), r, label)
			assert.Equal(t, 1, Labels(plan, len(r.Steps)), "%s: %s", r.Key, Text(plan))
		}
	}
}

// work is a step of work that touches faces.
func work(name string, touched ...parts.Face) parts.Step {
	return parts.Step{Name: name, Station: "sand", Bears: touched}
}

func coat(name string, faces ...parts.Face) parts.Step {
	return parts.Step{Name: name, Station: "topcoat", Coat: "topcoat", Coats: faces}
}

func dry() parts.Step { return parts.Step{Name: "dry", Clock: parts.Drying, Minutes: 60} }

func TestPlanRules(t *testing.T) {
	all := parts.Faces
	cut := parts.Step{Name: "cut", Station: "crosscut", Makes: parts.ToLength}
	apart := parts.Step{Name: "cut apart", Station: "crosscut", Parts: true}
	board := func() parts.Line { return piece(t, "20", "6", "3/4") }
	blank := board()
	blank.PerBlank = 3
	front := []parts.Face{parts.ShowFace, parts.Edges, parts.Ends}
	tests := []struct {
		name  string
		line  parts.Line
		label Size2D
		steps []parts.Step
		want  string
	}{
		{"nothing to do", board(), letter, nil, "back"},
		{"nothing touched", board(), letter, []parts.Step{work("look")}, "back"},
		{"the show face alone is no place", board(), letter, []parts.Step{work("look", parts.BackFace, parts.Edges, parts.Ends)}, "ticket until “look” is done; then back"},
		{"the back is gone once and comes again", board(), letter, []parts.Step{work("look"), work("sand", parts.BackFace)}, "back until sanded; then back again"},
		{"an edge outlives the back", board(), roll, []parts.Step{work("look"), work("sand", parts.BackFace), work("trim", parts.Edges)}, "end"},
		{"an edge takes turns with the back", piece(t, "20", "1", "3/4"), roll,
			[]parts.Step{work("trim", parts.BackFace), work("scrape", parts.BackFace), work("oil", parts.Edges), work("wrap", parts.Edges)},
			"edge until oiled; then back"},
		{"the label is too high for the edge", board(), letter, []parts.Step{work("sand", parts.BackFace)}, "ticket until sanded; then back"},
		{"a wait is no step to outlive", board(), letter, []parts.Step{dry(), work("sand", parts.BackFace), dry()}, "ticket until sanded; then back"},
		{"a part of its size only", board(), letter, []parts.Step{work("look"), cut, work("look")}, "ticket until cut; then back"},
		{"a part in a blank", blank, letter, []parts.Step{work("look"), apart, work("look")}, "ticket until cut apart; then back"},
		{"no blank, nothing to cut apart", board(), letter, []parts.Step{work("look"), apart, work("look")}, "back"},
		{"coats all over", board(), letter, []parts.Step{work("look"), coat("oil", all...), dry(), coat("oil again", all...), dry(), work("wrap")},
			"back until oiled; then tag"},
		{"coats on the front only", board(), letter, []parts.Step{coat("oil", front...), dry(), coat("oil again", front...), work("wrap")}, "back"},
		{"front and back in turn", board(), letter, []parts.Step{coat("oil", front...), dry(), coat("paint", parts.BackFace), dry(), work("wrap")}, "tag"},
		{"coats on all but the edges, which are glued where it goes", into(board()), roll,
			[]parts.Step{coat("oil", parts.ShowFace, parts.BackFace, parts.Ends), dry(), work("wrap")}, "edge until put together"},
		{"coats on a long stick under its ticket", board(), letter, []parts.Step{coat("oil", all...), dry(), cut, work("look")}, "ticket until cut; then back"},
		{"coats before the last cuts", board(), letter, []parts.Step{coat("oil", all...), work("sand", all...), work("wrap", all...)}, "tag"},
		{"an edge is glued where the part goes", into(piece(t, "20", "1/2", "3/4")), roll, []parts.Step{work("bore", parts.Ends)}, "edge until put together"},
		{"its back is not", into(board()), roll, []parts.Step{work("sand", parts.BackFace)}, "edge until put together"},
		{"no room anywhere", piece(t, "2", "1/2", "1/2"), letter, []parts.Step{work("bore"), work("sand", all...)}, "ticket"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, told(Plan(tt.line, parts.Routing{For: parts.Single, Steps: tt.steps}, tt.label)))
		})
	}
}

func TestPlanOfAnAssembly(t *testing.T) {
	fit := parts.Step{Name: "dry fit", Station: "glue", Binds: true}
	glue := parts.Step{Name: "glue up, clamps on", Station: "glue", Glues: true, Joins: []parts.Face{parts.Edges}}
	all := parts.Faces
	tests := []struct {
		name  string
		steps []parts.Step
		want  string
	}{
		{"of finished parts", []parts.Step{fit, glue, dry(), work("wrap")}, "ticket until glued up; then back"},
		{"its parts keep theirs until the glue-up", []parts.Step{fit, work("look"), glue, dry(), work("wrap")}, "ticket until glued up; then back"},
		{"nothing is glued", []parts.Step{fit, work("look"), work("wrap")}, "ticket until “dry fit” is done; then back"},
		{"its hidden back is never coated", []parts.Step{fit, glue, coat("oil", parts.ShowFace, parts.Edges, parts.Ends), dry(), work("wrap")}, "ticket until glued up; then back"},
		{"the back outlives one step and not all", []parts.Step{fit, glue, work("look"), work("sand", all...), work("wrap")}, "ticket until glued up; then back until sanded; then tag"},
		{"sanded at once", []parts.Step{fit, glue, work("sand", all...), work("wrap")}, "ticket until glued up; then tag"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, told(Plan(parts.Line{Kind: parts.Assembly}, parts.Routing{For: parts.Assembly, Steps: tt.steps}, letter)))
		})
	}
}

func TestEveryWayOfTouchingEndsALabel(t *testing.T) {
	back := []parts.Face{parts.BackFace}
	for name, step := range map[string]parts.Step{
		"cuts": {Name: "sand", Station: "sand", Cuts: back}, "bears": {Name: "sand", Station: "sand", Bears: back},
		"glues": {Name: "sand", Station: "sand", Joins: back}, "coats": {Name: "sand", Station: "sand", Coat: "oil", Coats: back},
	} {
		steps := []parts.Step{work("look"), step, work("wrap")}
		plan := Plan(piece(t, "20", "6", "1/4"), parts.Routing{Steps: steps}, letter)
		require.NotEmpty(t, plan, name)
		assert.Equal(t, Stretch{From: -1, To: 1, Place: Back, Name: "sand", Prints: true}, plan[0], name)
	}
}

// 3/4 in is 19.05 mm exactly, by the definition of the inch, and 13/16 in,
// which charts of hardwood give for 4/4 stock surfaced on two sides (from
// memory), is 20.6 mm: a label one inch high fits neither edge.
func TestRoomForALabel(t *testing.T) {
	mm := func(n parts.Length) parts.Length { return n * parts.Millimetre }
	tests := []struct {
		name                 string
		length, width, thick string
		label                Size2D
		want                 []parts.Face
	}{
		{"3/4 stock and the roll for edges", "34 1/2", "2 1/4", "3/4", roll, []parts.Face{parts.BackFace, parts.Edges, parts.Ends}},
		{"3/4 stock and an inch", "34 1/2", "2 1/4", "3/4", letter, []parts.Face{parts.BackFace}},
		{"13/16 stock and an inch", "34 1/2", "2 1/4", "13/16", letter, []parts.Face{parts.BackFace}},
		{"19.05 mm high", "34 1/2", "2 1/4", "3/4", Size2D{mm(50), 3 * parts.Inch / 4}, []parts.Face{parts.BackFace, parts.Edges, parts.Ends}},
		{"19.1 mm high", "34 1/2", "2 1/4", "3/4", Size2D{mm(50), mm(191) / 10}, []parts.Face{parts.BackFace}},
		{"longer than the end is wide", "34 1/2", "1 3/8", "3/4", roll, []parts.Face{parts.BackFace, parts.Edges}},
		{"turned by a quarter", "3", "40", "3/4", Size2D{W: mm(100), H: mm(50)}, []parts.Face{parts.BackFace}},
		{"nothing known", "", "", "", roll, []parts.Face{parts.BackFace}},
		{"thickness to suit", "34 1/2", "2 1/4", "to suit 3/4", roll, []parts.Face{parts.BackFace}},
		{"length to suit", "to suit 36", "2 1/4", "3/4", roll, []parts.Face{parts.BackFace, parts.Ends}},
		{"length to suit, too narrow", "to suit 36", "1/2", "3/4", roll, nil},
		{"too small all over", "1", "1", "1", roll, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := piece(t, tt.length, tt.width, tt.thick)
			assert.Equal(t, tt.want, onCourse(l, parts.Routing{}, tt.label).faces)
			assert.Equal(t, tt.want, onCourse(l, parts.Routing{}, Size2D{W: tt.label.H, H: tt.label.W}).faces, "the label turned")
		})
	}
}

// A step that leaves no place makes the ticket stand for the part: then more
// touched faces are fewer labels, because there is none to lose.
func TestTheTicketSavesLabels(t *testing.T) {
	l, all := piece(t, "20", "6", "1/4"), parts.Faces
	less := Plan(l, parts.Routing{Steps: []parts.Step{work("look"), work("sand", all...)}}, letter)
	more := Plan(l, parts.Routing{Steps: []parts.Step{work("look", all...), work("sand", all...)}}, letter)
	assert.Equal(t, 2, Labels(less, 2), Text(less))
	assert.Equal(t, 1, Labels(more, 2), Text(more))
}
