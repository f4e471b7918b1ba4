package routing_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/routing"
)

// as is a state with more said of it.
func as(s parts.State, also ...func(*parts.State)) parts.State {
	for _, change := range also {
		change(&s)
	}
	return s
}

func inDoubt(s *parts.State) { s.Doubt = "same setup as Stile 9, which was off" }

func TestChosenPartsAtTheDryFit(t *testing.T) {
	top1, top2, top3 := done(tops, 1), done(tops, 2), done(tops, 3)
	bottom1, bottom2 := done(bottoms, 1), done(bottoms, 2)
	left1, left2, right1 := done(lefts, 1), done(lefts, 2), done(rights, 1)
	all := []parts.State{top1, top2, bottom1, bottom2, left1, left2, right1}
	with := func(extra ...parts.State) []parts.State { return append([]parts.State{top1, left1, right1}, extra...) }
	unbored := piece(bottoms, 1, fpBore)
	ids := func(states ...parts.State) []parts.ID {
		var out []parts.ID
		for _, s := range states {
			out = append(out, s.Part)
		}
		return out
	}
	tests := []struct {
		name   string
		group  []parts.State
		chosen []parts.ID
		over   bool
		code   string
		bound  []parts.ID // top, bottom, left, right
	}{
		{"nothing named: any that are ready", all, nil, false, "", ids(top1, bottom1, left1, right1)},
		{"a named one goes before lower numbers", all, ids(top2), false, "", ids(top2, bottom1, left1, right1)},
		{"all four named", all, ids(right1, left2, bottom2, top2), false, "", ids(top2, bottom2, left2, right1)},
		{"named twice is named once", all, ids(left2, left2), false, "", ids(top1, bottom1, left2, right1)},
		{"a second left is no right", all, ids(left1, left2), false, "does-not-fit", nil},
		{"one that nobody knows here", all, ids(parts.State{Part: "Z9"}), false, "does-not-fit", nil},
		{"one of a line it does not take", append([]parts.State{done(stiles, 1)}, all...), ids(done(stiles, 1)), false, "does-not-fit", nil},
		{"one of a line it does not take, whatever a person says", append([]parts.State{done(stiles, 1)}, all...), ids(done(stiles, 1)), true, "does-not-fit", nil},

		{"a second bottom serves as the top", all, ids(bottom1, bottom2), false, "", ids(bottom2, bottom1, left1, right1)},
		{"a third of two alike places", append([]parts.State{top3}, all...), ids(top1, top2, top3), false, "does-not-fit", nil},
		{"the only bottom is named and stays the bottom", with(bottom1), ids(bottom1), false, "", ids(top1, bottom1, left1, right1)},
		{"no bottom: a second top is lent", with(top2), nil, false, "", ids(top1, top2, left1, right1)},
		{"no bottom, and the lent top is named: the other is lent", with(top2), ids(top2), false, "", ids(top2, top1, left1, right1)},
		{"no bottom and one top", with(), ids(top1), false, "parts-missing", nil},

		{"named and not bored", with(unbored), ids(unbored), false, "does-not-fit", nil},
		{"named and not bored, and a person says it is", with(unbored), ids(unbored), true, "", ids(top1, unbored, left1, right1)},
		{"unfinished, not named, and it all lies on the bench", with(unbored), nil, true, "", ids(top1, unbored, left1, right1)},
		{"an unfinished top is lent when it all lies on the bench", with(piece(tops, 2, fpBore)), nil, true, "", ids(top1, top2, left1, right1)},
		{"named and in doubt", with(as(bottom1, inDoubt)), ids(bottom1), false, "does-not-fit", nil},
		{"named and in doubt, and a person says it is good", with(as(bottom1, inDoubt)), ids(bottom1), true, "", ids(top1, bottom1, left1, right1)},
		{"named and held", with(as(bottom1, held)), ids(bottom1), true, "does-not-fit", nil},
		{"named and scrapped", with(as(bottom1, scrapped)), ids(bottom1), true, "does-not-fit", nil},
		{"named and in another front", with(as(bottom1, inAssembly)), ids(bottom1), true, "does-not-fit", nil},
	}
	for _, tt := range tests {
		for from, step := range map[string]int{"": frDryFit + 1, ", clamps on": frGlue + 1} {
			t.Run(tt.name+from, func(t *testing.T) {
				front := piece(fronts, 1, frDryFit)
				events, err := routing.Advance(view(front, tt.group...), parts.Scan{Station: "glue", Step: step, At: noon, Parts: tt.chosen, Override: tt.over, Reason: "it is"})
				require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
				if tt.code != "" {
					require.NotEmpty(t, parts.AsProblem(err).Do)
					return
				}
				assert.Equal(t, tt.bound, events[0].Detail.Parts)
				after := parts.Apply(front, events[0])
				assert.Equal(t, step+map[int]int{frDryFit + 1: 0, frGlue + 1: 2}[step], after.Next)
				for i, e := range events[1:] {
					assert.Equal(t, []any{tt.bound[i], parts.Fitted, front.Part}, []any{e.Part, e.Kind, e.Detail.Other})
				}
			})
		}
	}
}

// A refusal names what would fit, and says so when the piece only comes too
// early.
func TestWhatWouldFit(t *testing.T) {
	group := []parts.State{done(tops, 1), piece(bottoms, 1, fpBore), done(lefts, 1), done(lefts, 2), done(rights, 1), done(bottoms, 2, held),
		done(bottoms, 3, inAssembly), done(stiles, 1), done(tops, 2, inDoubt), done(tops, 3, scrapped)}
	tests := []struct {
		name   string
		chosen []parts.ID
		says   string
	}{
		{"a second left", []parts.ID{"K1", "K2"}, "Stile 2 (left Stile) has no place in Front 1 any more. What would fit: " +
			"1 Top rail: Top rail 1 I1; 1 Bottom rail (none is ready); 1 right Stile: Stile 1 L1."},
		{"not bored", []parts.ID{"J1", "I1", "K1", "L1"}, "Bottom rail 1 is not ready to be fitted. What would fit: " +
			"1 Bottom rail (none is ready). If it is ready all the same, say so."},
		{"in doubt", []parts.ID{"I2"}, "Top rail 2 has to be looked at first: same setup as Stile 9, which was off. What would fit: " +
			"1 Top rail: Top rail 1 I1; 1 Bottom rail (none is ready); 1 left Stile: Stile 1 K1, Stile 2 K2; 1 right Stile: Stile 1 L1. If it is ready all the same, say so."},
		{"held", []parts.ID{"J2"}, "Bottom rail 2 is held: a knot. What would fit"},
		{"scrapped", []parts.ID{"I3"}, "Top rail 3 was scrapped. What would fit"},
		{"in another", []parts.ID{"J3"}, "Bottom rail 3 is part of FR01. What would fit"},
		{"of another frame", []parts.ID{"C1"}, "Stile 1 is none of the parts that Front 1 takes. What would fit"},
		{"a mark of something else", []parts.ID{"Z9"}, "Z9 is none of the parts that Front 1 takes. What would fit"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := routing.Advance(view(piece(fronts, 1, frDryFit), group...), parts.Scan{Station: "glue", At: noon, Parts: tt.chosen})
			require.ErrorContains(t, err, tt.says)
			assert.NotEmpty(t, parts.AsProblem(err).Facts["part"])
		})
	}
	whole := []parts.State{done(tops, 1), done(bottoms, 1), done(lefts, 1), done(rights, 1), done(tops, 2)}
	_, err := routing.Advance(view(piece(fronts, 1, frDryFit), whole...), parts.Scan{Station: "glue", At: noon, Parts: []parts.ID{"I1", "J1", "K1", "L1", "Z9"}})
	require.ErrorContains(t, err, "Z9 is none of the parts that Front 1 takes. Everything it needs is on the bench.")
}

func TestAfterTheDryFitAPartIsThisFramesOrWrong(t *testing.T) {
	in := func(s *parts.State) { s.In = "H1" }
	front := piece(fronts, 1, frGlue, func(s *parts.State) { s.Parts = []parts.ID{"I1", "J1", "K1", "L1"} })
	v := view(front, done(tops, 1, in), done(bottoms, 1, in), done(lefts, 1, in), done(rights, 1, in))
	events, err := routing.Advance(v, parts.Scan{Station: "glue", At: noon, Parts: []parts.ID{"L1", "I1"}})
	require.NoError(t, err)
	require.Len(t, events, 1, "its own parts are bound already")

	_, err = routing.Advance(v, parts.Scan{Station: "glue", At: noon, Parts: []parts.ID{"I1", "K2"}, Override: true})
	require.Equal(t, "does-not-fit", parts.CodeOf(err))
	assert.Equal(t, "K2 is not one of the parts that Front 1 was dry-fitted with. "+
		"Its own parts are Top rail 1 I1, Bottom rail 1 J1, Stile 1 K1, Stile 1 L1.", err.Error())
	assert.Equal(t, []string{"Top rail 1 I1", "Bottom rail 1 J1", "Stile 1 K1", "Stile 1 L1"}, parts.AsProblem(err).Facts["would_fit"])

	_, err = routing.Advance(view(piece(rails, 1, 0)), parts.Scan{Station: "crosscut", At: noon, Parts: []parts.ID{"I1"}})
	assert.ErrorContains(t, err, "Rail 1 is not put together of parts at this step. Leave the parts out.")
}

// coated has a coat on its faces before it is put together; then comes what
// the test says.
func coated(faces []parts.Face, then ...parts.Step) parts.Routing {
	return parts.Routing{ID: 40, Name: "Finished before", For: parts.Single, Steps: append([]parts.Step{
		{Name: "rip to width", Station: "rip", Cuts: faces},
		{Name: "topcoat", Station: "topcoat", Record: true, Coat: "topcoat", Coats: faces},
		{Name: "dry", Clock: parts.Drying, Minutes: 60},
	}, then...)}
}

// Glue holds on wood and not on a coat: the edges and ends of a frame's parts
// are its glue faces.
func TestGlueOnAFinishedFace(t *testing.T) {
	scuff := parts.Step{Name: "scuff the edges", Station: "sand", Scuff: true}
	coat := parts.Step{Name: "topcoat again", Station: "topcoat", Coat: "topcoat", Coats: parts.Faces}
	tests := []struct {
		name  string
		steps parts.Routing
		past  int  // steps that lie behind the coated part
		over  bool // a person says that it is scuffed
		own   bool // the frame has a step of its own that scuffs
		code  string
	}{
		{"coated all over", coated(parts.Faces), 3, false, false, "scuff-first"},
		{"coated on an edge", coated([]parts.Face{parts.Edges}), 3, false, false, "scuff-first"},
		{"coated on the show face only", coated([]parts.Face{parts.ShowFace, parts.BackFace}), 3, false, false, ""},
		{"not coated yet", coated(parts.Faces), 1, false, false, ""},
		{"coated and scuffed", coated(parts.Faces, scuff), 4, false, false, ""},
		{"coated, scuffed and coated again", coated(parts.Faces, scuff, coat), 5, false, false, "scuff-first"},
		{"coated, the scuff still to come", coated(parts.Faces, scuff), 3, false, false, "scuff-first"},
		{"coated, and a person says that it is scuffed", coated(parts.Faces), 3, true, false, ""},
		{"coated, and the frame's own steps scuff", coated(parts.Faces), 3, false, true, ""},
	}
	for _, tt := range tests {
		for _, fitted := range []bool{true, false} {
			t.Run(tt.name+map[bool]string{true: ", dry-fitted before", false: ", clamps on at once"}[fitted], func(t *testing.T) {
				panel := piece(rails, 1, 0, func(s *parts.State) {
					s.Steps, s.Next, s.Finished = 40, tt.past, true
					s.Past = make([]parts.Past, tt.past)
				})
				group := []parts.State{panel, done(rails, 2), done(stiles, 1), done(stiles, 2)}
				front := piece(frames, 1, frDryFit)
				if fitted {
					for i := range group {
						group[i].In = front.Part
						front.Parts = append(front.Parts, group[i].Part)
					}
					front.Next, front.Past = frGlue, []parts.Past{{How: parts.WasDone}}
				}
				v := view(front, group...)
				v.Routings[40] = tt.steps
				glue := frGlue
				if tt.own {
					r := v.Routings[frame]
					r.Steps = append([]parts.Step{r.Steps[0], scuff}, r.Steps[1:]...)
					v.Routings[frame], glue = r, frGlue+1
				}
				events, err := routing.Advance(v, parts.Scan{Station: "glue", Step: glue + 1, At: noon, Override: tt.over, Reason: "scuffed at the bench"})
				require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
				if tt.code != "" {
					assert.Equal(t, panel.Part, parts.AsProblem(err).Facts["part"])
					return
				}
				if tt.over {
					assert.Equal(t, "scuffed at the bench", events[0].Detail.Override)
				}
			})
		}
	}
}

func TestAssembliesOfATicketArePutTogetherOneByOne(t *testing.T) {
	ticket := parts.State{Part: "103N", Seq: 1, Kind: parts.Ticket, Line: frames}
	fitted := func(s *parts.State) { s.Parts = []parts.ID{"B1", "B2", "C1", "C2"} }
	tests := []struct {
		name  string
		group []parts.State
		scan  parts.Scan
		code  string
		moved int
	}{
		{"a dry fit", []parts.State{piece(frames, 1, frDryFit), piece(frames, 2, frDryFit)}, parts.Scan{Station: "glue"}, "one-by-one", 0},
		{"clamps on", []parts.State{piece(frames, 1, frDryFit), piece(frames, 2, frDryFit)}, parts.Scan{Station: "glue", Step: frGlue + 1}, "one-by-one", 0},
		{"sanding before the dry fit", []parts.State{piece(frames, 1, frDryFit), piece(frames, 2, frDryFit)}, parts.Scan{Station: "sand", Override: true}, "one-by-one", 0},
		{"clamps on after the dry fit", []parts.State{piece(frames, 1, frGlue, fitted), piece(frames, 2, frGlue, fitted)}, parts.Scan{Station: "glue"}, "one-by-one", 0},
		{"sanding what is glued", []parts.State{piece(frames, 1, frSand, fitted), piece(frames, 2, frSand, fitted)}, parts.Scan{Station: "sand"}, "", 2},
		{"sanding the one that is glued", []parts.State{piece(frames, 1, frSand, fitted), piece(frames, 2, frDryFit)}, parts.Scan{Station: "sand"}, "", 1},
		{"sanding both, and one is in pieces", []parts.State{piece(frames, 1, frSand, fitted), piece(frames, 2, frDryFit)}, parts.Scan{Station: "sand", Count: 2}, "count", 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.scan.At = noon
			events, err := routing.Advance(view(ticket, tt.group...), tt.scan)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Len(t, events, tt.moved)
		})
	}
}
