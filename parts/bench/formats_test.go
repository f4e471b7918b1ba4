package bench_test

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// edgeRoll is a format as a shop types it from the packet.
func edgeRoll() bench.TypedFormat {
	return bench.TypedFormat{Name: "Edge labels", Kind: "roll", LabelWide: "50 mm", LabelHigh: "20 mm"}
}

func TestAShopHasFormatsOfItsOwn(t *testing.T) {
	ctx := context.Background()
	b := shoptest.Open(t, shoptest.NewClock())
	set, err := b.Settings(ctx)
	require.NoError(t, err)
	f, err := edgeRoll().Read(set)
	require.NoError(t, err)
	kept, err := b.SaveFormat(ctx, f)
	require.NoError(t, err)
	assert.Equal(t, "own-edge-labels", kept.Key)
	again, err := b.SaveFormat(ctx, f)
	require.NoError(t, err)
	assert.Equal(t, kept, again, "the same one sent twice is added once")

	all, err := b.Formats(ctx)
	require.NoError(t, err)
	require.Len(t, all, len(labels.Formats())+1)
	assert.Equal(t, kept, all[len(all)-1])
	found, err := b.Format(ctx, kept.Key)
	require.NoError(t, err)
	assert.Equal(t, kept, found)
	typed := bench.TypedOf(kept.Format)
	read, err := typed.Read(set)
	require.NoError(t, err)
	assert.Equal(t, kept.Format, read, "what the editor shows is what it keeps")

	for code, change := range map[string]func(*labels.Format){
		"format-name": func(f *labels.Format) { f.Name = " " },
		"format-there": func(f *labels.Format) {
			f.Name, f.LabelW, f.PageW = "edge LABELS", 60*parts.Millimetre, 60*parts.Millimetre
		},
		"format-ready-made": func(f *labels.Format) { f.Key = "letter-3x10" },
		"format-small":      func(f *labels.Format) { f.Name, f.LabelH, f.PageH = "Tiny", 10*parts.Millimetre, 10*parts.Millimetre },
		"format-kind":       func(f *labels.Format) { f.Name, f.Kind = "Odd", "wall" },
	} {
		f := f
		change(&f)
		_, err := b.SaveFormat(ctx, f)
		assert.Equal(t, code, parts.CodeOf(err))
	}
}

// A sheet of which only the labels' size and number are typed lies in the
// middle of the shop's paper: 3 x 8 labels of 70 x 37 mm on A4 of ISO 216,
// 210 x 297 mm, leave no margin across and 1/2 mm at top and foot.
func TestWhatIsNotTypedIsTheUsual(t *testing.T) {
	set := parts.Settings{Unit: "mm", Paper: "a4"}
	f, err := bench.TypedFormat{Name: "Ours", Kind: "sheet", Columns: "3", Rows: "8", LabelWide: "70", LabelHigh: "37"}.Read(set)
	require.NoError(t, err)
	mm := parts.Millimetre
	assert.Equal(t, labels.Format{Name: "Ours", Kind: "sheet", PageW: 210 * mm, PageH: 297 * mm, LabelW: 70 * mm, LabelH: 37 * mm,
		PitchX: 70 * mm, PitchY: 37 * mm, Top: mm / 2, Columns: 3, Rows: 8, DPI: 300}, f)

	f, err = bench.TypedFormat{Name: "Ours", Kind: "sheet", Columns: "3", Rows: "10", LabelWide: "2 5/8", LabelHigh: "1", PitchX: "2 3/4", Left: "3/16", Top: "0"}.
		Read(parts.Settings{Unit: "in", Paper: "letter"})
	require.NoError(t, err)
	assert.Equal(t, parts.Inch*3/16, f.Left)
	assert.Zero(t, f.Top, "a margin that was typed as none is none")
	assert.Equal(t, 17*parts.Inch/2, f.PageW)

	for _, bad := range []bench.TypedFormat{{LabelWide: "wide"}, {Columns: "x"}, {Rows: "-1"}, {DPI: "1e9"}} {
		_, err := bad.Read(set)
		assert.NotNil(t, parts.AsProblem(err), "%+v", bad)
	}
}

// A label that is larger than the back of a part has no place on it: the plan
// is made for the format in use, the shop's own ones too.
func TestThePlanKnowsTheShopsOwnFormat(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	look := func() string {
		p, err := s.Look(ctx, s.mark("Stile 1"))
		require.NoError(t, err)
		return p.Label.String()
	}
	assert.Contains(t, look(), "on the back face")
	set, err := s.Settings(ctx)
	require.NoError(t, err)
	wide := edgeRoll()
	wide.LabelWide, wide.LabelHigh = "100", "100" // on a stile of 57 mm
	set.Unit = "mm"
	f, err := wide.Read(set)
	require.NoError(t, err)
	kept, err := s.SaveFormat(ctx, f)
	require.NoError(t, err)
	set.Sheet = kept.Key
	require.NoError(t, s.SaveSettings(ctx, set))
	assert.NotContains(t, look(), "back")
	f.Key, f.LabelH, f.PageH, f.PitchY = kept.Key, 30*parts.Millimetre, 30*parts.Millimetre, 30*parts.Millimetre
	_, err = s.SaveFormat(ctx, f)
	require.NoError(t, err)
	assert.Contains(t, look(), "on the back face", "a changed format counts at once")
}

// mill takes the ticket of a line through the mill, to its bored parts.
func (s *shop) mill(line string) {
	s.Helper()
	for _, at := range []parts.Station{"crosscut", "rip", "joint", "rip", "plane", "crosscut", "bore"} {
		s.must(s.ticket(line), at)
		s.clock.Set(s.ready(line))
	}
}

// ready is when a line's parts may go on.
func (s *shop) ready(line string) time.Time {
	s.Helper()
	p, err := s.Look(context.Background(), s.ticket(line))
	require.NoError(s, err)
	if p.Ready.After(s.clock.Now()) {
		return p.Ready
	}
	return s.clock.Now()
}

func TestAPrinterIsPutRight(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	first := s.printed(bench.PrintRequest{What: "labels"})
	// A printer that puts the page 1 mm too far right and 1/2 mm too low, at
	// its true size, is put right by moving back as much.
	mm := parts.Millimetre
	a, err := s.SetAdjust(ctx, "letter-3x10", &labels.Measured{Left: 21 * mm, Top: 20*mm + mm/2, Across: 160 * mm, Down: 220 * mm})
	require.NoError(t, err)
	assert.Equal(t, labels.Adjust{DX: -mm, DY: -mm / 2}, a)
	second := s.printed(bench.PrintRequest{What: "labels"})
	assert.NotEqual(t, first.id, second.id, "what is ordered now is another sheet")
	assert.Equal(t, a, second.Adjust)
	assert.Equal(t, first.pdf, s.draw(first.id), "and the old one stays as it was")
	assert.NotEqual(t, first.pdf, second.pdf)
	other := s.printed(bench.PrintRequest{What: "labels", Sheet: "a4-3x8"})
	assert.Zero(t, other.Adjust, "another format has another place in the printer")

	_, err = s.SetAdjust(ctx, "letter-3x10", nil)
	require.NoError(t, err)
	f, err := s.Format(ctx, "letter-3x10")
	require.NoError(t, err)
	assert.Zero(t, f.Adjust)
	for code, err := range map[string]error{
		"sheet-unknown":   second.of(s.SetAdjust(ctx, "none", nil)),
		"measure-missing": second.of(s.SetAdjust(ctx, "a4-3x8", &labels.Measured{})),
		"adjust-far":      second.of(s.SetAdjust(ctx, "a4-3x8", &labels.Measured{Left: 50 * mm, Top: 20 * mm, Across: 160 * mm, Down: 220 * mm})),
	} {
		assert.Equal(t, code, parts.CodeOf(err))
	}
}

// A shop's own format may change; what was printed on it does not.
func TestAChangedFormatLeavesOldOrdersAlone(t *testing.T) {
	ctx := context.Background()
	s := openShop(t)
	set, err := s.Settings(ctx)
	require.NoError(t, err)
	f, err := edgeRoll().Read(set)
	require.NoError(t, err)
	kept, err := s.SaveFormat(ctx, f)
	require.NoError(t, err)
	order := s.printed(bench.PrintRequest{What: "labels", Sheet: kept.Key})
	f.Key, f.LabelW, f.PageW, f.PitchX = kept.Key, 70*parts.Millimetre, 70*parts.Millimetre, 70*parts.Millimetre
	_, err = s.SaveFormat(ctx, f)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(order.pdf, s.draw(order.id)))
	assert.NotEqual(t, order.id, s.printed(bench.PrintRequest{What: "labels", Sheet: kept.Key}).id)
}

// What a packet says is typed as it is said: the paper by its name, and bare
// numbers in the unit beside them, whatever the shop's own are.
func TestAFormatSaysItsPaperAndItsUnit(t *testing.T) {
	set := parts.Settings{Unit: "in", Paper: "letter"}
	packet := bench.TypedFormat{Name: "Ours", Kind: "sheet", Paper: "a4", Unit: "mm", Columns: "3", Rows: "8", LabelWide: "70", LabelHigh: "37"}
	f, err := packet.Read(set)
	require.NoError(t, err)
	mm := parts.Millimetre
	assert.Equal(t, []parts.Length{210 * mm, 297 * mm, 70 * mm, 37 * mm}, []parts.Length{f.PageW, f.PageH, f.LabelW, f.LabelH})
	f.Key = "ours"
	require.NoError(t, labels.CheckFormat(f))
	again, err := bench.TypedOf(f).Read(set)
	require.NoError(t, err)
	assert.Equal(t, f, again)
	assert.Equal(t, "a4", bench.TypedOf(f).Paper)

	packet.Paper = "letter"
	f, err = packet.Read(set)
	require.NoError(t, err)
	f.Key = "ours"
	assert.ErrorContains(t, labels.CheckFormat(f), "8 labels 37 mm high do not fit on Letter: is it A4?")
	wide := bench.TypedFormat{Name: "Ours", Kind: "sheet", Paper: "a4", Unit: "in", Columns: "4", Rows: "9", LabelWide: "2 1/8", LabelHigh: "1"}
	f, err = wide.Read(set)
	require.NoError(t, err)
	f.Key = "ours"
	assert.ErrorContains(t, labels.CheckFormat(f), `4 labels 2 1/8" wide do not fit on A4: is it Letter?`)
	wide.Columns = "5"
	f, err = wide.Read(set)
	require.NoError(t, err)
	f.Key = "ours"
	assert.ErrorContains(t, labels.CheckFormat(f), "leave the page", "it fits on neither")

	other := packet
	other.Paper = bench.OtherPaper
	_, err = other.Read(set)
	assert.Equal(t, "format-page", parts.CodeOf(err))
	other.PageWide, other.PageHigh = "220", "300"
	f, err = other.Read(set)
	require.NoError(t, err)
	assert.Equal(t, []parts.Length{220 * mm, 300 * mm}, []parts.Length{f.PageW, f.PageH})
	assert.Equal(t, bench.OtherPaper, bench.TypedOf(f).Paper)
	other.Paper = "a4"
	f, err = other.Read(set)
	require.NoError(t, err)
	assert.Equal(t, 210*mm, f.PageW, "what was measured before the paper was named does not count")
}
