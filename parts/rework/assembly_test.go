package rework_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/rework"
)

// A bench back of two stiles and a ladder, and the ladder of two rails: F1
// holds S1, S2 and L1, which holds S3 and S4.
func benchBack(next int, also ...func(*parts.State)) (parts.State, []parts.State) {
	back := front(next, also...)
	if next > 0 {
		back.Parts = []parts.ID{"S1", "S2", "L1"}
	}
	in := func(id parts.ID) func(*parts.State) { return func(s *parts.State) { s.In = id } }
	ladder := front(frWrap, fit, in("F1"))
	ladder.Part, ladder.Parts = "L1", []parts.ID{"S3", "S4"}
	return back, []parts.State{stile(1, in("F1")), stile(2, in("F1")), ladder, stile(3, in("L1")), stile(4, in("L1"))}
}

func TestAGluedAssemblyIsRemadeWithAllThatIsInIt(t *testing.T) {
	back, inside := benchBack(frSand)
	events, err := rework.Remake(shop(back, inside...), "", fresh("NEW"), "dropped", by)
	require.NoError(t, err)
	before := append(inside, back)
	after := happened(events, before...)
	require.Len(t, after, 2*len(before), "one new one for each")
	for _, was := range before {
		old := after[was.Part]
		require.True(t, old.Scrapped, was.Part)
		assert.False(t, old.Short())
		made := after[old.ReplacedBy]
		assert.Equal(t, []any{was.Kind, was.Line, was.Number, was.Steps, was.Part, 0, true, parts.ID(""), 0},
			[]any{made.Kind, made.Line, made.Number, made.Steps, made.Replaces, made.Next, made.LabelDue, made.In, len(made.Parts)}, "it starts over in pieces")
	}
}

func TestWhatIsNotGluedIsTakenApartFirst(t *testing.T) {
	leftOut := func(s *parts.State) { s.Past[1].How = parts.WasSkipped }
	filled := func(s *parts.State) { s.Past[1].How = parts.WasFilled }
	tests := []struct {
		name  string
		next  int
		also  func(*parts.State)
		apart string // code of taking it apart
		scrap string // code of scrapping or remaking it
	}{
		{"in pieces", 0, nil, "not-together", ""},
		{"dry-fitted", 1, nil, "", "take-apart-first"},
		{"glued", frSand, nil, "glued", ""},
		{"glued, and nobody recorded it", frSand, filled, "glued", ""},
		{"the glue was left out: it is screwed", frSand, leftOut, "", "take-apart-first"},
		{"finished", frWrap + 1, nil, "glued", ""},
		{"scrapped", frSand, scrapped, "scrapped", "scrapped"},
		{"in another assembly", frSand, func(s *parts.State) { s.In = "B9" }, "in-assembly", "in-assembly"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			back, inside := benchBack(tt.next)
			if tt.also != nil {
				tt.also(&back)
			}
			if tt.scrap == "scrapped" {
				back.ReplacedBy = "NEW9"
			}
			v := shop(back, inside...)
			events, err := rework.TakeApart(v, by)
			assert.Equal(t, tt.apart, parts.CodeOf(err), "%v", err)
			if tt.apart == "" {
				after := happened(events, append(inside, back)...)
				assert.Equal(t, []any{0, 0, parts.ID(""), parts.ID("")}, []any{after["F1"].Next, len(after["F1"].Parts), after["S1"].In, after["L1"].In})
				assert.Equal(t, parts.ID("L1"), after["S3"].In, "the ladder stays together")
			}
			_, err = rework.Remake(v, "", fresh("NEW"), "dropped", by)
			assert.Equal(t, tt.scrap, parts.CodeOf(err), "%v", err)
			_, err = rework.Scrap(v, "dropped", by)
			assert.Equal(t, tt.scrap, parts.CodeOf(err), "%v", err)
		})
	}
	_, err := rework.TakeApart(shop(stile(1)), by)
	assert.Equal(t, "not-an-assembly", parts.CodeOf(err))
}

func TestAPartOfAGluedAssemblyIsNotRemadeAlone(t *testing.T) {
	_, inside := benchBack(frSand)
	_, err := rework.Remake(shop(inside[0]), "", fresh("NEW"), "split", by)
	require.Equal(t, "in-assembly", parts.CodeOf(err))
	assert.Equal(t, parts.ID("F1"), parts.AsProblem(err).Facts["assembly"])
	assert.ErrorContains(t, err, "If it is glued, repair it there or remake all of it.")
}

func TestNoSpareTakesAnAssemblysPlace(t *testing.T) {
	back, inside := benchBack(frSand)
	_, err := rework.Remake(shop(back, inside...), "S1", fresh("NEW"), "dropped", by)
	assert.Equal(t, "spare-gone", parts.CodeOf(err))
}

func TestScrapLeavesAShortage(t *testing.T) {
	back, inside := benchBack(frSand)
	tests := []struct {
		name  string
		state parts.State
		group []parts.State
		code  string
		short map[parts.ID]bool
	}{
		{"a part", stile(1), nil, "", map[parts.ID]bool{"S1": true}},
		{"a held part", stile(1, held), nil, "", map[parts.ID]bool{"S1": true}},
		{"a spare: nothing is short without it", stile(5), nil, "", map[parts.ID]bool{"S5": false}},
		{"a glued assembly: all that is in it", back, inside, "", map[parts.ID]bool{"F1": true, "S1": true, "S2": true, "L1": true, "S3": true, "S4": true}},
		{"scrapped", stile(1, scrapped), nil, "scrapped", nil},
		{"a ticket", stileTicket, nil, "not-a-part", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			events, err := rework.Scrap(shop(tt.state, tt.group...), "split", by)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if tt.code != "" {
				return
			}
			short := map[parts.ID]bool{}
			for id, s := range happened(events, append(tt.group, tt.state)...) {
				assert.True(t, s.Scrapped, id)
				short[id] = s.Short()
			}
			assert.Equal(t, tt.short, short)
		})
	}
}

func TestWhatWasScrappedIsMadeAfterAll(t *testing.T) {
	gone := stile(1, scrapped)
	events, err := rework.Remake(shop(gone, stile(5)), "", fresh("NEW"), "", by)
	require.NoError(t, err)
	after := happened(events, gone)
	assert.Equal(t, []any{parts.ID("NEW"), false, parts.ID("S1")}, []any{after["S1"].ReplacedBy, after["S1"].Short(), after["NEW"].Replaces})

	events, err = rework.Remake(shop(gone, stile(5)), "S5", fresh("NEW"), "", by)
	require.NoError(t, err)
	after = happened(events, gone, stile(5))
	assert.Equal(t, []any{parts.ID("S5"), parts.ID("S1"), false}, []any{after["S1"].ReplacedBy, after["S5"].Replaces, after["S5"].Spare})

	for name, s := range map[string]parts.State{
		"replaced already":  stile(1, scrapped, func(s *parts.State) { s.ReplacedBy = "S9" }),
		"listed by mistake": stile(1, scrapped, func(s *parts.State) { s.Void = true }),
	} {
		_, err = rework.Remake(shop(s), "", fresh("NEW"), "split", by)
		assert.Equal(t, "scrapped", parts.CodeOf(err), name)
	}
}

// Of an assembly that was scrapped all that is still missing is made, and what
// was made by itself meanwhile is not made twice.
func TestAScrappedAssemblyIsMadeAfterAll(t *testing.T) {
	back, inside := benchBack(frSand, scrapped)
	for i := range inside {
		inside[i].Scrapped = true
	}
	inside[0].ReplacedBy = "S9"
	events, err := rework.Remake(shop(back, inside...), "", fresh("NEW"), "", by)
	require.NoError(t, err)
	after := happened(events, append(inside, back)...)
	for _, was := range append(inside[1:], back) {
		made := after[after[was.Part].ReplacedBy]
		assert.Equal(t, []any{was.Part, was.Line, 0}, []any{made.Replaces, made.Line, made.Next})
	}
	assert.Equal(t, parts.ID("S9"), after["S1"].ReplacedBy)
	assert.Len(t, after, 6+5)
}

func TestARemakeIsRemade(t *testing.T) {
	old := stile(1)
	first, err := rework.Remake(shop(old), "", fresh("NEW1"), "split", by)
	require.NoError(t, err)
	after := happened(first, old)
	second, err := rework.Remake(shop(after["NEW1"]), "", fresh("NEW2"), "split again", by)
	require.NoError(t, err)
	after = happened(second, after["S1"], after["NEW1"])
	assert.Equal(t, []any{parts.ID("NEW1"), parts.ID("NEW2"), parts.ID("NEW1"), 1}, []any{after["S1"].ReplacedBy, after["NEW1"].ReplacedBy, after["NEW2"].Replaces, after["NEW2"].Number})
	_, err = rework.Remake(shop(after["NEW1"]), "", fresh("NEW3"), "split", by)
	assert.ErrorContains(t, err, "NEW2 takes its place.")
}
