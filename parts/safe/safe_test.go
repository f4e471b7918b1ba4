package safe

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// in reads a length in inches.
func in(t *testing.T, s string) parts.Length {
	t.Helper()
	l, err := parts.ParseLength(s, parts.Writing{Unit: parts.Inches})
	require.NoError(t, err)
	return l
}

// piece is a line of four of its size.
func piece(t *testing.T, length, width, thick string) parts.Line {
	t.Helper()
	l := parts.Line{Kind: parts.Single, Name: "Rail", Quantity: 4}
	for text, to := range map[string]*parts.Size{length: &l.Length, width: &l.Width, thick: &l.Thick} {
		size, err := parts.ParseSize(text, parts.Writing{Unit: parts.Inches})
		require.NoError(t, err)
		*to = size
	}
	return l
}

// milled are the steps of solid wood. The jointer takes 10 in, the planer
// 12 in, and the planer may spoil 2 in at each end: numbers for the tests.
func milled() []parts.Step {
	return []parts.Step{
		{Name: "rough length", Station: "crosscut"},
		{Name: "rest", Clock: parts.Resting, Minutes: 60},
		{Name: "joint", Station: "joint", Safe: parts.Smallest{Length: 10 * parts.Inch}},
		{Name: "rip to width", Station: "rip", Sets: parts.ToWidth, Makes: parts.ToWidth, Safe: parts.Smallest{Width: parts.Inch / 2}},
		{Name: "plane", Station: "plane", Sets: parts.ToThickness, Makes: parts.ToThickness, Snipe: 2 * parts.Inch,
			Safe: parts.Smallest{Length: 12 * parts.Inch, Width: parts.Inch, Thick: parts.Inch / 4}},
		{Name: "cut to length", Station: "crosscut", Sets: parts.ToLength, Makes: parts.ToLength, Parts: true},
		{Name: "bore", Station: "bore", Bores: true, Sets: parts.ToPattern},
	}
}

// changed are the milled steps with one of them changed.
func changed(name string, change func(*parts.Step)) []parts.Step {
	steps := milled()
	for i := range steps {
		if steps[i].Name == name {
			change(&steps[i])
		}
	}
	return steps
}

// edgeFirst makes the parts of a wide board: it is cut to length, and then
// ripped into parts.
func edgeFirst() []parts.Step {
	return []parts.Step{
		{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength},
		{Name: "joint", Station: "joint", Safe: parts.Smallest{Length: 10 * parts.Inch, Width: 3 * parts.Inch}},
		{Name: "rip to width", Station: "rip", Parts: true, Makes: parts.ToWidth},
	}
}

var inches = parts.Style{Unit: parts.Inches, Denominator: 32}

// The allowances of all rows are the usual ones: kerf 1/8, length 1, width
// 1/4, thickness 3/16.
func TestWhatIsTooSmallAndTheWayOut(t *testing.T) {
	tests := []struct {
		name                 string
		length, width, thick string
		perBlank             int
		steps                []parts.Step
		says                 []string
	}{
		// 7 + 1 + 2 x 2 = 12.
		{"just long enough at the planer", "7", "2 1/4", "3/4", 0, milled(), nil},
		// 6 + 1 + 4 = 11; two of them 12 + 1/8 + 1 + 4 = 17 1/8.
		{"an inch short at the planer", "6", "2 1/4", "3/4", 0, milled(),
			[]string{`Rail is 11" long at “plane”, and 12" is the least there. Leave 2 together in a blank of 17 1/8" until past it.`}},
		// 3 + 5 = 8; two: 3 + 3 + 1/8 + 5 = 11 1/8, enough for the jointer only; three: 9 + 1/4 + 5 = 14 1/4.
		{"short at two machines", "3", "2 1/4", "3/4", 1, milled(), []string{
			`Rail is 8" long at “joint”, and 10" is the least there. Leave 2 together in a blank of 11 1/8" until past it.`,
			`Rail is 8" long at “plane”, and 12" is the least there. Leave 3 together in a blank of 14 1/4" until past it.`}},
		{"two in a blank already, and one more is needed", "3", "2 1/4", "3/4", 2, milled(),
			[]string{`A blank for 2 × Rail is 11 1/8" long at “plane”, and 12" is the least there. Leave 3 together in a blank of 14 1/4" until past it.`}},
		{"three in a blank", "3", "2 1/4", "3/4", 3, milled(), nil},
		// Three are 3 + 1/4 + 5 = 8 1/4, four are 4 + 3/8 + 5 = 9 3/8.
		{"as many as the line has", "1", "2 1/4", "3/4", 0, changed("joint", func(s *parts.Step) { s.Safe.Length = 9 * parts.Inch }), []string{
			`Rail is 6" long at “joint”, and 9" is the least there. Leave 4 together in a blank of 9 3/8" until past it.`,
			// Six are 6 + 5/8 + 5 = 11 5/8, seven are 7 + 3/4 + 5 = 12 3/4; the line has four.
			`Rail is 6" long at “plane”, and 12" is the least there. Leave it in one piece of at least 12" until past it.`}},
		// One is 1/2 + 5. Eight would be 4 + 7/8 + 5 = 9 7/8, nine are 4 1/2 + 1 + 5 = 10 1/2; the line has four.
		{"too few parts to fill the blank", "1/2", "2 1/4", "3/4", 0, changed("plane", func(s *parts.Step) { s.Safe = parts.Smallest{} }),
			[]string{`Rail is 5 1/2" long at “joint”, and 10" is the least there. Leave it in one piece of at least 10" until past it.`}},
		{"narrow at the planer after the saw", "20", "7/8", "3/4", 0, milled(),
			[]string{`Rail is 7/8" wide at “plane”, and 1" is the least there. Rip it from a wider piece after it, or carry it on a sled or a backing board as the machine's manual allows.`}},
		{"a strip as narrow as the saw leaves it", "20", "3/8", "3/4", 0, changed("plane", func(s *parts.Step) { s.Safe = parts.Smallest{} }),
			[]string{`Rail is 3/8" wide at “rip to width”, and 1/2" is the least there. ` + carry}},
		// It comes with 1/8 + 3/16 = 5/16, but the last pass leaves 1/8.
		{"as thin as the planer leaves it", "20", "2", "1/8", 0, milled(),
			[]string{`Rail is 1/8" thick at “plane”, and 1/4" is the least there. ` + carry}},
		// 1/8 + 3/16 = 5/16 before the planer.
		{"thin at the jointer", "20", "2", "1/8", 0,
			[]parts.Step{{Name: "joint", Station: "joint", Safe: parts.Smallest{Thick: parts.Inch / 2}}, {Name: "plane", Station: "plane", Makes: parts.ToThickness}},
			[]string{`Rail is 5/16" thick at “joint”, and 1/2" is the least there. Leave it thicker until past it, or carry it on a backing board as the machine's manual allows.`}},
		{"cut before a machine that would take a blank", "9", "2", "3/4", 0, []parts.Step{
			{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength}, {Name: "sand the faces", Station: "sand", Safe: parts.Smallest{Length: 14 * parts.Inch}}},
			// Two: 18 + 1/8 + 1 = 19 1/8.
			[]string{`Rail is 9" long at “sand the faces”, and 14" is the least there. Do “cut to length” after it, and leave 2 together in a blank of 19 1/8" until then.`}},
		{"cut before, and the trim allowance alone is enough", "9", "2", "3/4", 0, []parts.Step{
			{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength}, {Name: "sand the faces", Station: "sand", Safe: parts.Smallest{Length: 10 * parts.Inch}}},
			[]string{`Rail is 9" long at “sand the faces”, and 10" is the least there. Do “cut to length” after it, and leave it 10" long until then.`}},
		{"a bit wants the part, not a blank", "3", "2 1/4", "3/4", 3, changed("bore", func(s *parts.Step) { s.Safe.Length = 4 * parts.Inch }),
			[]string{`Rail is 3" long at “bore”, and 4" is the least there. ` + carry}},
		// The blank is long, but what is left between blade and stop is 3 in.
		{"short at the stop", "3", "2 1/4", "3/4", 3, changed("cut to length", func(s *parts.Step) { s.Safe.Length = 4 * parts.Inch }),
			[]string{`Rail is 3" long at “cut to length”, and 4" is the least there. ` + carry}},
		{"bought at its size", "9", "2", "3/4", 0, []parts.Step{{Name: "sand", Station: "sand", Safe: parts.Smallest{Length: 10 * parts.Inch, Width: 3 * parts.Inch}}}, []string{
			`Rail is 9" long at “sand”, and 10" is the least there. ` + carry, `Rail is 2" wide at “sand”, and 3" is the least there. ` + carry}},
		// Side by side: 2 x 1 1/2 + 1/8 + 1/4 = 3 3/8 wide; one would be 1 3/4.
		{"a wide board, two side by side", "9", "1 1/2", "3/4", 2, edgeFirst(),
			[]string{`A blank for 2 × Rail is 9" long at “joint”, and 10" is the least there. ` + carry}},
		{"a wide board of one", "12", "1 1/2", "3/4", 1, edgeFirst(),
			[]string{`Rail is 1 3/4" wide at “joint”, and 3" is the least there. Rip it from a wider piece after it, or carry it on a sled or a backing board as the machine's manual allows.`}},
		{"to suit is not judged", "to suit 3", "to suit 1/8", "to suit", 0, milled(), nil},
		{"what was not given is not judged", "-", "-", "-", 0, milled(), nil},
		{"a wait takes any size", "1", "1", "1", 0, []parts.Step{{Name: "rest", Clock: parts.Resting, Minutes: 1, Safe: parts.Smallest{Length: 9 * parts.Inch}}}, nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			l := piece(t, tt.length, tt.width, tt.thick)
			l.PerBlank = tt.perBlank
			var says []string
			for _, w := range Warnings(l, parts.Routing{Steps: tt.steps}, Usual()) {
				says = append(says, w.Text(inches))
			}
			assert.Equal(t, tt.says, says)
		})
	}
}

func TestAWarningNamesItsStep(t *testing.T) {
	l := piece(t, "6", "2 1/4", "3/4")
	warnings := Warnings(l, parts.Routing{Steps: milled()}, Usual())
	require.Len(t, warnings, 1)
	assert.Equal(t, Warning{
		Step: 4, Does: "plane", Station: "plane",
		Finding: Finding{Name: "Rail", Dimension: parts.ToLength, Have: in(t, "11"), Needs: in(t, "12"), Together: 1, InBlank: 2, Blank: in(t, "17 1/8"), Pieces: 4},
	}, warnings[0])
	assert.Equal(t, "Rail is 279.4 mm long at “plane”, and 304.8 mm is the least there. Leave 2 together in a blank of ≈ 435 mm until past it.",
		Warnings(l, parts.Routing{Steps: milled()}, Usual())[0].Text(parts.Style{Unit: parts.Millimetres}), "17 1/8 in are 434.975 mm; printed to a tenth")
}

func TestTheSameFindingIsSaidOnce(t *testing.T) {
	least := parts.Smallest{Length: 12 * parts.Inch}
	r := parts.Routing{Steps: []parts.Step{
		{Name: "rip", Station: "rip", Safe: least}, {Name: "joint", Station: "joint", Safe: parts.Smallest{Length: 10 * parts.Inch, Thick: parts.Inch}},
		{Name: "plane", Station: "plane", Safe: least, Makes: parts.ToThickness}, {Name: "rip again", Station: "rip", Safe: least},
		{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength, Parts: true},
	}}
	// 6 + 1 = 7; two are 12 + 1/8 + 1 = 13 1/8; 3/8 + 3/16 = 9/16.
	warnings := Warnings(piece(t, "6", "2", "3/8"), r, Usual())
	require.Len(t, warnings, 5)
	var says []string
	for _, w := range Joined(warnings) {
		says = append(says, w.Text(inches))
	}
	assert.Equal(t, []string{
		`Rail is 7" long at “rip”, “plane” and “rip again”, and 12" is the least there. Leave 2 together in a blank of 13 1/8" until past them.`,
		`Rail is 7" long at “joint”, and 10" is the least there. Leave 2 together in a blank of 13 1/8" until past it.`,
		`Rail is 9/16" thick at “joint”, and 1" is the least there. Leave it thicker until past it, or carry it on a backing board as the machine's manual allows.`,
	}, says)
	assert.Empty(t, warnings[0].Also, "the warnings themselves are left alone")
}

// What can only be done to a part keeps the cut where it is, and then a long
// blank is no way out.
func TestWhatWantsPartsCutApart(t *testing.T) {
	tests := []struct {
		name  string
		step  parts.Step
		wants bool
	}{
		{"sanded faces", parts.Step{Cuts: []parts.Face{parts.ShowFace, parts.Edges}, Scuff: true}, false},
		{"ripped", parts.Step{Sets: parts.ToWidth, Makes: parts.ToWidth}, false},
		{"a rest", parts.Step{Clock: parts.Resting}, false},
		{"bored", parts.Step{Bores: true}, true},
		{"set to its holes", parts.Step{Sets: parts.ToPattern}, true},
		{"set to its length", parts.Step{Sets: parts.ToLength}, true},
		{"trimmed at the ends", parts.Step{Cuts: []parts.Face{parts.Ends}}, true},
		{"glued", parts.Step{Joins: []parts.Face{parts.Edges}}, true},
		{"coated", parts.Step{Coats: []parts.Face{parts.ShowFace}}, true},
		{"recorded for itself", parts.Step{Record: true}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tt.step.Name = "between"
			r := parts.Routing{Steps: []parts.Step{{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength}, tt.step,
				{Name: "sand", Station: "sand", Safe: parts.Smallest{Length: 12 * parts.Inch}}}}
			warnings := Warnings(piece(t, "8", "2", "3/4"), r, Usual())
			require.Len(t, warnings, 1)
			if tt.wants {
				assert.Zero(t, warnings[0].InBlank)
				return
			}
			assert.Equal(t, "cut to length", warnings[0].After)
			assert.Equal(t, 2, warnings[0].InBlank)
		})
	}
}

func TestBlankLength(t *testing.T) {
	tests := []struct {
		name   string
		length string
		n      int
		steps  []parts.Step
		want   string
	}{
		{"one, with trim and snipe", "6", 1, milled(), "11"},         // 6 + 1 + 2 x 2
		{"two, with a kerf between", "6", 2, milled(), "17 1/8"},     // 12 + 1/8 + 5
		{"ten, with nine kerfs", "6", 10, milled(), "66 1/8"},        // 60 + 9/8 + 5
		{"none counts as one", "6", 0, milled(), "11"},               //
		{"side by side is as long as one", "6", 3, edgeFirst(), "7"}, // 6 + 1
		{"bought at its size", "6", 1, milled()[:2], "6"},            // no step cuts it
		{"cut apart first, each cut to length later", "6", 2, []parts.Step{ // each 6 + 1; 2 x 7 + 1/8 + 1
			{Name: "crosscut", Station: "crosscut", Parts: true}, {Name: "trim", Station: "crosscut", Makes: parts.ToLength}}, "15 1/8"},
		{"cut apart by a step that makes nothing final", "6", 2, []parts.Step{ // 12 + 1/8 + 1
			{Name: "crosscut", Station: "crosscut", Parts: true, Sets: parts.ToLength}}, "13 1/8"},
	}
	for _, tt := range tests {
		got := BlankLength(piece(t, tt.length, "2", "1"), parts.Routing{Steps: tt.steps}, tt.n, Usual())
		assert.Equal(t, in(t, tt.want).Format(inches), got.Format(inches), tt.name)
	}
	assert.Zero(t, BlankLength(piece(t, "to suit 6", "2", "1"), parts.Routing{Steps: milled()}, 2, Usual()), "to suit")
}

// Rough and surfaced on two sides, in inches: hardwood size charts of two
// reference sites agree. Thicker boards lose more than the usual allowance.
func TestUsualThicknessIsThatOfTheHardwoodSizes(t *testing.T) {
	chart := []struct{ rough, surfaced string }{
		{"3/8", "3/16"}, {"1/2", "5/16"}, {"5/8", "7/16"}, {"3/4", "9/16"}, {"1", "13/16"}, {"1 1/4", "1 1/16"}, {"1 1/2", "1 5/16"},
	}
	steps := parts.Routing{Steps: []parts.Step{
		{Name: "joint", Station: "joint", Safe: parts.Smallest{Thick: parts.Metre}}, {Name: "plane", Station: "plane", Makes: parts.ToThickness},
	}}
	for _, row := range chart {
		warnings := Warnings(piece(t, "30", "4", row.surfaced), steps, Usual())
		require.Len(t, warnings, 1)
		assert.Equal(t, in(t, row.rough), warnings[0].Have, row.surfaced)
	}
}

// 600 x 90 x 19 mm with 25 mm, 6 mm and 4/4 stock is 625 x 96 x 25.4 mm:
// common practice, no source, from memory.
func TestRoughSizeOfAMetricPart(t *testing.T) {
	l := parts.Line{Quantity: 1, Length: parts.Size{Length: 600 * parts.Millimetre}, Width: parts.Size{Length: 90 * parts.Millimetre}, Thick: parts.Size{Length: 19 * parts.Millimetre}}
	steps := parts.Routing{Steps: []parts.Step{
		{Name: "joint", Station: "joint", Safe: parts.Smallest{Length: parts.Metre, Width: parts.Metre, Thick: parts.Metre}},
		{Name: "rip", Station: "rip", Makes: parts.ToWidth}, {Name: "plane", Station: "plane", Makes: parts.ToThickness},
		{Name: "cut", Station: "crosscut", Makes: parts.ToLength},
	}}
	var got []parts.Length
	for _, w := range Warnings(l, steps, Allowances{TrimLength: 25 * parts.Millimetre, Width: 6 * parts.Millimetre, Thick: parts.Inch - 19*parts.Millimetre}) {
		got = append(got, w.Have)
	}
	assert.Equal(t, []parts.Length{625 * parts.Millimetre, 96 * parts.Millimetre, parts.Inch}, got)
}
