package finish

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

func size(inches parts.Length) parts.Size { return parts.Size{Length: inches * parts.Inch} }

// board is 10 by 4 by 1 inches.
func board() parts.Line {
	return parts.Line{ID: 1, Number: 1, Kind: parts.Single, Name: "Shelf", Length: size(10), Width: size(4), Thick: size(1), Steps: 1}
}

func TestArea(t *testing.T) {
	tests := []struct {
		name   string
		change func(*parts.Line)
		faces  []parts.Face
		want   Surface
		known  bool
	}{
		{"show face", nil, []parts.Face{parts.ShowFace}, 40 * SquareInch, true},
		{"back", nil, []parts.Face{parts.BackFace}, 40 * SquareInch, true},
		{"two edges", nil, []parts.Face{parts.Edges}, 20 * SquareInch, true},
		{"two ends", nil, []parts.Face{parts.Ends}, 8 * SquareInch, true},
		{"all round", nil, parts.Faces, 108 * SquareInch, true},
		{"a face named twice is one", nil, []parts.Face{parts.Ends, parts.Ends}, 8 * SquareInch, true},
		{"none", nil, nil, 0, true},
		{"no length", func(l *parts.Line) { l.Length = parts.Size{} }, parts.Faces, 8 * SquareInch, false},
		{"no length, and the ends do not take one", func(l *parts.Line) { l.Length = parts.Size{} }, []parts.Face{parts.Ends}, 8 * SquareInch, true},
		{"to suit counts as its blank", func(l *parts.Line) { l.Length.ToSuit = true }, parts.Faces, 108 * SquareInch, true},
		{"to suit without a blank", func(l *parts.Line) { l.Length = parts.Size{ToSuit: true} }, []parts.Face{parts.ShowFace}, 0, false},
		{"a metre by a metre", func(l *parts.Line) {
			l.Length, l.Width = parts.Size{Length: parts.Metre}, parts.Size{Length: parts.Metre}
		}, []parts.Face{parts.ShowFace}, SquareMetre, true},
		{"the longest that is read", func(l *parts.Line) {
			l.Length, l.Width = parts.Size{Length: parts.LongestLength}, parts.Size{Length: parts.LongestLength}
		}, []parts.Face{parts.ShowFace}, 10_000 * SquareMetre, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := board()
			if tt.change != nil {
				tt.change(&l)
			}
			area, known := Area(l, tt.faces)
			assert.Equal(t, tt.known, known)
			assert.Equal(t, tt.want, area)
		})
	}
	area, _ := Area(board(), parts.Faces)
	assert.Equal(t, "0.75 ft²", area.Format(parts.Style{Unit: parts.Inches}))
	assert.Equal(t, "0.07 m²", area.Format(parts.Style{Unit: parts.Millimetres}))
	assert.Equal(t, "0,07 m²", area.Format(parts.Style{Unit: parts.Millimetres, Comma: true}))
}

func TestAreaIsThatOfABox(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) parts.Length {
			return parts.Inch / 32 * parts.Length(rapid.IntRange(1, 3000).Draw(t, name))
		}
		l := board()
		l.Length.Length, l.Width.Length, l.Thick.Length = draw("length"), draw("width"), draw("thickness")
		all, known := Area(l, parts.Faces)
		require.True(t, known)
		// 2(ab + bc + ac) in inches, by the floats of another kind of sum.
		a, b, c := float64(l.Length.Length)/float64(parts.Inch), float64(l.Width.Length)/float64(parts.Inch), float64(l.Thick.Length)/float64(parts.Inch)
		assert.InEpsilon(t, 2*(a*b+b*c+a*c), float64(all)/float64(SquareInch), 1e-6)
		var sum Surface
		for _, f := range parts.Faces {
			one, _ := Area(l, []parts.Face{f})
			sum += one
		}
		assert.InDelta(t, float64(all), float64(sum), 4, "the faces add up to the whole, each rounded by itself")
		l.Length, l.Width = l.Width, l.Length
		turned, _ := Area(l, parts.Faces)
		assert.Equal(t, all, turned)
	})
}

// coats are the steps of a board: backs first, then the rest, twice.
var coats = []parts.Step{
	{Name: "sand to 120 grit", Station: "sand", Cuts: parts.Faces, Scuff: true},
	{Name: "sand to 150 grit", Station: "sand", Cuts: parts.Faces, Scuff: true},
	{Name: "stain the backs", Station: "stain", Coat: "stain", Coats: []parts.Face{parts.BackFace}, Record: true},
	{Name: "turn and dry", Clock: parts.Drying, Minutes: 60},
	{Name: "stain the fronts", Station: "stain", Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.Edges, parts.Ends}, Record: true},
	{Name: "dry", Clock: parts.Drying, Minutes: 60},
	{Name: "stain the fronts again", Station: "stain", Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.Edges}, Record: true},
	{Name: "topcoat", Station: "topcoat", Coat: "topcoat", Coats: parts.Faces, Record: true},
}

// lockers has shelves and a frame of two rails, whose panel was stained by
// itself.
func lockers(states ...parts.State) Shop {
	return Shop{
		Lines: map[int64]parts.Line{
			1: board(),
			2: {ID: 2, Number: 2, Kind: parts.Assembly, Name: "Locker front", Steps: 1},
			3: {ID: 3, Number: 3, Kind: parts.Single, Name: "Rail", Length: size(10), Width: size(2), Thick: size(1), Into: 2, Each: 2, Steps: 2},
			4: {ID: 4, Number: 4, Kind: parts.Single, Name: "Panel", Length: size(12), Width: size(12), Thick: size(1), Into: 2, Each: 1, Steps: 3},
		},
		Routings: map[int64]parts.Routing{
			1: {Steps: coats}, 2: {Steps: []parts.Step{{Name: "cut", Station: "crosscut", Cuts: []parts.Face{parts.Ends}}}},
			3: {Steps: []parts.Step{{Name: "stain", Station: "stain", Coat: "stain", Coats: parts.Faces}}},
		},
		States: states,
	}
}

func shelf(next int) parts.State {
	return parts.State{Kind: parts.Single, Line: 1, Steps: 1, Next: next}
}

func TestStillToCoat(t *testing.T) {
	scrapped, gone, done := shelf(2), shelf(2), shelf(len(coats))
	scrapped.Scrapped, gone.In, done.Finished = true, "FR01", true
	shop := lockers(shelf(0), shelf(4), shelf(6), scrapped, gone, done, parts.State{Kind: parts.Ticket, Line: 1, Steps: 1})
	list := StillToCoat(shop, "stain")
	require.Len(t, list, 3)
	assert.Equal(t, []any{"stain the backs", 1, 1, 1, 40 * SquareInch}, []any{list[0].Does, list[0].N, list[0].Of, list[0].Pieces, list[0].Area})
	assert.Equal(t, []any{"stain the fronts", 1, 2, 2, 2 * 68 * SquareInch}, []any{list[1].Does, list[1].N, list[1].Of, list[1].Pieces, list[1].Area})
	assert.Equal(t, []any{"stain the fronts again", 2, 2, 3, 3 * 60 * SquareInch}, []any{list[2].Does, list[2].N, list[2].Of, list[2].Pieces, list[2].Area})
	area, unknown := AreaLeft(list)
	assert.Equal(t, 356*SquareInch, area)
	assert.Zero(t, unknown)
	assert.Empty(t, StillToCoat(shop, "varnish"))
	assert.Empty(t, StillToCoat(Shop{}, "stain"))
}

func TestARepairCoatsToo(t *testing.T) {
	mended := shelf(len(coats))
	mended.Finished = true
	mended.Repair = []parts.Step{{Name: "sand back", Station: "sand"}, {Name: "stain the spot", Station: "stain", Coat: "stain", Coats: []parts.Face{parts.ShowFace}}}
	list := StillToCoat(lockers(mended), "stain")
	require.Len(t, list, 1)
	assert.True(t, list[0].Repair)
	assert.Equal(t, 40*SquareInch, list[0].Area)
	assert.Zero(t, list[0].N)
	mended.Mend = 2
	assert.Empty(t, StillToCoat(lockers(mended), "stain"))
}

func TestAnAssemblyHasTheFacesOfWhatGoesIn(t *testing.T) {
	frame := parts.State{Kind: parts.Assembly, Line: 2, Steps: 1, Next: 6}
	list := StillToCoat(lockers(frame), "stain")
	require.Len(t, list, 1)
	assert.Equal(t, 80*SquareInch, list[0].Area, "two rails, show face 20 and edges 20 each, and not the panel, which was stained by itself")
	list = StillToCoat(lockers(frame), "topcoat")
	require.Len(t, list, 1)
	rail := Surface(2*(20+10+2)) * SquareInch
	panel := Surface(2*(144+12+12)) * SquareInch
	assert.Equal(t, 2*rail+panel, list[0].Area, "the topcoat goes on the panel too")

	shop := lockers(frame)
	l := shop.Lines[3]
	l.Width = parts.Size{}
	shop.Lines[3] = l
	list = StillToCoat(shop, "topcoat")
	require.Len(t, list, 1)
	assert.True(t, list[0].Unknown)
	_, unknown := AreaLeft(list)
	assert.Equal(t, 1, unknown)
}

// Lines that go into each other come from no cut list, and still end.
func TestLinesInACircleHaveNoArea(t *testing.T) {
	shop := lockers(parts.State{Kind: parts.Assembly, Line: 2, Steps: 1})
	shop.Lines = map[int64]parts.Line{
		2: {ID: 2, Kind: parts.Assembly, Into: 3, Each: 1, Steps: 2}, 3: {ID: 3, Kind: parts.Assembly, Into: 2, Each: 1, Steps: 2},
	}
	list := StillToCoat(shop, "stain")
	require.NotEmpty(t, list)
	for _, todo := range list {
		assert.True(t, todo.Unknown)
	}
}

func TestHalvingWhatIsLeftHalvesWhatIsNeeded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 50).Draw(t, "pieces")
		states := make([]parts.State, 2*n)
		for i := range states {
			states[i] = shelf(0)
		}
		all, _ := AreaLeft(StillToCoat(lockers(states...), "stain"))
		half, _ := AreaLeft(StillToCoat(lockers(states[:n]...), "stain"))
		assert.Equal(t, all, 2*half)
		need, p := Need(stain(), half, 1)
		require.Nil(t, p)
		// area / coverage / (1 - loss) x (1 + reserve), by math/big.
		want := new(big.Rat).Mul(big.NewRat(int64(half), int64(SquareMetre)), big.NewRat(110, 12*90))
		litres, _ := want.Float64()
		assert.InDelta(t, litres*float64(Litre), float64(need), 2, "rounded up to the smallest unit")
	})
}

func TestSides(t *testing.T) {
	assert.Equal(t, []Side{{Faces: []parts.Face{parts.BackFace}, N: 1, Of: 1}}, Sides(coats, 2))
	assert.Equal(t, []Side{{Faces: []parts.Face{parts.ShowFace, parts.Edges}, N: 1, Of: 2}, {Faces: []parts.Face{parts.Ends}, N: 1, Of: 1}}, Sides(coats, 4))
	assert.Equal(t, "stain, coat 2 of 2: show face, edges", Sides(coats, 6)[0].Text("stain"))
	assert.Equal(t, "topcoat, coat 1 of 1", Sides(coats, 7)[0].Text("topcoat"))
	for _, i := range []int{-1, 0, 3, len(coats)} {
		assert.Empty(t, Sides(coats, i))
	}
}

func TestGrit(t *testing.T) {
	for name, want := range map[string]int{
		"sand to 150 grit": 150, "sand, 120 then 180 grit": 180, "P220": 220, "sand p 320": 320, "sand with grit 80": 80, "180-grit by hand": 180,
		"sand": 0, "plane to 19 mm": 0, "coat 2 of 3": 0, "": 0, "step 150": 0,
	} {
		assert.Equal(t, want, Grit(name), name)
	}
	assert.Equal(t, 150, LastGrit(coats, 4))
	assert.Equal(t, 120, LastGrit(coats, 1))
	assert.Equal(t, 150, LastGrit(coats, 99))
	assert.Zero(t, LastGrit(coats, 0))
	assert.Zero(t, LastGrit(coats, -5))
}

func TestAColourIsNeverScuffed(t *testing.T) {
	colours := func(coat string) bool { return coat == "stain" }
	assert.Nil(t, CheckScuff(coats, colours))
	scuff := parts.Step{Name: "scuff", Station: "sand", Scuff: true}
	stained := append(append([]parts.Step{}, coats[:7]...), scuff)
	assert.Equal(t, CodeColourScuffed, codeOf(CheckScuff(stained, colours)))
	clearOver := append(append([]parts.Step{}, coats...), scuff, coats[7])
	assert.Nil(t, CheckScuff(clearOver, colours), "between two clear coats its data sheet decides")
	back := append(append([]parts.Step{}, coats[:7]...), coats[1])
	assert.Nil(t, CheckScuff(back, colours), "sanded back to the wood")
}

// A panel that was bought finished gets no finish, whatever is coated around
// it, and neither do ends that are glued into a joint.
func TestWhatComesFinishedIsNotCounted(t *testing.T) {
	frame := parts.State{Kind: parts.Assembly, Line: 2, Steps: 1, Next: 6}
	rail, panel := Surface(2*(20+10+2))*SquareInch, Surface(2*(144+12+12))*SquareInch
	area := func(shop Shop) Surface {
		list := StillToCoat(shop, "topcoat")
		require.Len(t, list, 1)
		return list[0].Area
	}
	shop := lockers(frame)
	require.Equal(t, 2*rail+panel, area(shop))
	require.Empty(t, shop.LeftOut(shop.Lines[2]))

	l := shop.Lines[4]
	l.Steps, l.Notes = 2, "oak veneer, bought finished"
	shop.Lines[4] = l
	require.Equal(t, 2*rail, area(shop), "the list says so")
	require.Equal(t, []string{"Panel"}, shop.LeftOut(shop.Lines[2]))

	shop = lockers(frame)
	shop.Routings[4] = parts.Routing{Steps: []parts.Step{{Name: "looked over on arrival", Station: "wrap", Record: true}}}
	l = shop.Lines[4]
	l.Steps = 4
	shop.Lines[4] = l
	require.Equal(t, 2*rail, area(shop), "no step works it")

	shop = lockers(frame)
	r := shop.Routings[1]
	r.Steps = append([]parts.Step{{Name: "glue up", Station: "glue", Glues: true, Joins: []parts.Face{parts.Ends}}}, r.Steps...)
	shop.Routings[1] = r
	require.Equal(t, 2*Surface(2*(20+10))*SquareInch+Surface(2*(144+12))*SquareInch, area(shop), "without the ends")
}

// What is due now stands apart from the coat after it, and from what has to be
// put together first.
func TestWhatIsDueNow(t *testing.T) {
	list := StillToCoat(lockers(shelf(4), shelf(3), shelf(6)), "stain")
	require.Len(t, list, 2)
	assert.Equal(t, []int{2, 0, 0}, []int{list[0].Now, list[0].Later(), list[0].Unglued}, "the first coat")
	assert.Equal(t, []int{1, 2, 0}, []int{list[1].Now, list[1].Later(), list[1].Unglued}, "the second")
	assert.Equal(t, 2*list[0].Each+list[1].Each, AreaNow(list))

	shop := lockers(parts.State{Kind: parts.Assembly, Line: 2, Steps: 1})
	r := shop.Routings[1]
	r.Steps = append([]parts.Step{{Name: "glue up", Station: "glue", Glues: true}}, r.Steps...)
	shop.Routings[1] = r
	for _, todo := range StillToCoat(shop, "topcoat") {
		assert.Equal(t, []int{0, 0, 1}, []int{todo.Now, todo.Later(), todo.Unglued})
	}
}
