package labels

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// These tests print, look at the paper and scan it: the PDF is drawn by
// pdftoppm (poppler-utils) and read by two judges that share no code, zbarimg
// (zbar-tools) and gozxing.

// spot is where something with a code was printed: the page, the whole slip
// that a phone would see, and the code with its quiet zone.
type spot struct {
	page       int
	slip, code area
	address    string
	quiet      float64 // width of the quiet zone in millimetres
}

func spotOf(page int, slip area, c code, x, y float64, address string) spot {
	m := c.margin()
	return spot{page, slip, area{x - m, y - m, x + c.dark() + m, y + c.dark() + m}, address, m}
}

// scan checks that every spot reads as it should by both judges, that its
// quiet zone is white and that the code lies within the slip.
func scan(t *testing.T, pdf []byte, spots []spot, how printing) {
	t.Helper()
	drawn := pages(t, pdf, how)
	require.Len(t, drawn, spots[len(spots)-1].page+1)
	slips := make([]*image.Gray, len(spots))
	for i, s := range spots {
		slips[i] = crop(drawn[s.page], s.slip, how.dpi)
		assert.GreaterOrEqual(t, s.code.x0, s.slip.x0-finest, s.address)
		assert.GreaterOrEqual(t, s.code.y0, s.slip.y0-finest, s.address)
		assert.LessOrEqual(t, s.code.x1, s.slip.x1+finest, s.address)
		assert.LessOrEqual(t, s.code.y1, s.slip.y1+finest, s.address)
		got, err := decode(crop(drawn[s.page], s.code, how.dpi))
		assert.NoError(t, err, "gozxing, %s, %s", how, s.address)
		assert.Equal(t, s.address, got, "gozxing, %s", how)
		assert.True(t, quietZone(drawn[s.page], s, how.dpi), "ink in the quiet zone, %s, %s", how, s.address)
	}
	for i, got := range zbar(t, slips) {
		assert.Equal(t, spots[i].address, got, "zbarimg, %s", how)
	}
}

// quietZone tells whether the frame round a code is white, but for the dot
// that an edge may touch.
func quietZone(page *image.Gray, s spot, dpi int) bool {
	slack := 25.4 / float64(dpi) * 1.5
	frame, inner := s.code, s.code
	frame = area{frame.x0 + slack, frame.y0 + slack, frame.x1 - slack, frame.y1 - slack}
	inner = area{inner.x0 + s.quiet - slack, inner.y0 + s.quiet - slack, inner.x1 - s.quiet + slack, inner.y1 - s.quiet + slack}
	img := crop(page, frame, dpi)
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			mx, my := (float64(x)+0.5)*25.4/float64(dpi), (float64(y)+0.5)*25.4/float64(dpi)
			inside := mx > inner.x0 && mx < inner.x1 && my > inner.y0 && my < inner.y1
			if !inside && img.GrayAt(x, y).Y < 250 {
				return false
			}
		}
	}
	return true
}

// labelSpots are where labels are printed.
func labelSpots(t *testing.T, s Sheet, first int, labels []Label) []spot {
	t.Helper()
	var out []spot
	g := s.lay(Adjust{})
	for i, l := range labels {
		at := first - 1 + i
		c, err := encode(l.Address, g.codeBox(), g.press())
		require.NoError(t, err)
		x, y := g.place(c, at%s.PerPage())
		out = append(out, spotOf(at/s.PerPage(), g.label(at%s.PerPage()), c, x, y, l.Address))
	}
	return out
}

// sheetful is labels of all sorts, enough for a page of the format and more.
func sheetful(f Format) []Label {
	out := labelsFor(f)
	for i := len(out); f.Kind == OnSheet && i < f.PerPage()+8; i++ {
		out = append(out, stile(i))
	}
	return out
}

func TestEveryLabelScans(t *testing.T) {
	for i, f := range Formats() {
		labels, firsts, how := sheetful(f), []int{1}, []printing{{f.DPI, true}}
		if i < 2 || fullRun() {
			firsts, how = []int{1, min(5, f.PerPage())}, printings
		}
		if fullRun() {
			how = append(slices.Clone(how), printing{600, true})
		}
		for _, first := range firsts {
			var pdf bytes.Buffer
			require.NoError(t, WriteLabels(&pdf, f, first, labels))
			if first > 1 {
				how = how[:1]
			}
			for _, how := range how {
				t.Run(fmt.Sprintf("%s from %d at %s", f.Key, first, how), func(t *testing.T) {
					t.Parallel()
					scan(t, pdf.Bytes(), labelSpots(t, f, first, labels), how)
				})
			}
		}
	}
}

func TestEveryTicketScans(t *testing.T) {
	tickets := oddTickets()
	for _, name := range []string{"letter", "a4"} {
		var pdf bytes.Buffer
		require.NoError(t, WriteTickets(&pdf, name, tickets))
		w, h, err := pageSize(name)
		require.NoError(t, err)
		var spots []spot
		for i, tk := range tickets {
			c, err := encode(tk.Address, ticketCode, pagePress)
			require.NoError(t, err)
			in := ticketArea(area{x1: w, y1: h}, i%ticketsAPage)
			slip := area{in.x0 - ticketMargin + 1, in.y0 - ticketMargin + 1, in.x1 + ticketMargin - 1, in.y1 + ticketMargin - 1}
			spots = append(spots, spotOf(i/ticketsAPage, slip, c, c.snap(in.x0), c.snap(in.y0), tk.Address))
		}
		for _, how := range printings {
			t.Run(fmt.Sprintf("%s at %s", name, how), func(t *testing.T) {
				t.Parallel()
				scan(t, pdf.Bytes(), spots, how)
			})
		}
	}
}

// oddPlacards are placards as usual, as full as they get, and nearly empty.
func oddPlacards() []Placard {
	return []Placard{
		{Address: "http://192.168.1.20:8080/S/7K", Title: "At the jointer",
			Lead: "Scan this page when you start here, then each ticket as it comes off.", Caution: "No phone and no gloves at a running cutter."},
		{Address: "http://192.168.100.100:8080/S/12A5KX", Title: "In the second booth, by the north wall of the boathouse",
			Lead:    strings.Repeat("Scan the cart, then the coat, then the side. ", 6),
			Caution: strings.Repeat("Follow the data sheet of the product and the local codes. ", 5)},
		{Address: "http://192.168.1.20:8080/S/8K", Title: "R"},
		{Address: "http://192.168.100.100:8080/P/12A5KX", Title: "Drying rack by the boathouse north door", Mark: "12A5KX",
			Lead:    "Cart 12 in the lists. Scan this to see what lies here, or to move all of it with one tap.",
			Caution: CautionFor(CartPlacard)},
	}
}

func TestEveryPlacardScans(t *testing.T) {
	placards := oddPlacards()
	for _, paper := range []string{"letter", "a4"} {
		var pdf bytes.Buffer
		require.NoError(t, WritePlacards(&pdf, paper, placards))
		for _, how := range []printing{{100, false}, {203, true}} {
			t.Run(fmt.Sprintf("%s at %s", paper, how), func(t *testing.T) {
				t.Parallel()
				drawn := pages(t, pdf.Bytes(), how)
				require.Len(t, drawn, len(placards))
				for i, got := range zbar(t, drawn) {
					assert.Equal(t, placards[i].Address, got, "zbarimg")
				}
			})
		}
	}
}

// TestWordsLieOnTheirLabel: on every format the mark of label k is on label k,
// and no word of a page touches an edge, a hole or a code.
func TestWordsLieOnTheirLabel(t *testing.T) {
	for _, f := range Formats() {
		labels, first, g := sheetful(f), min(5, f.PerPage()), f.lay(Adjust{})
		var pdf bytes.Buffer
		require.NoError(t, WriteLabels(&pdf, f, first, labels))
		found := words(t, pdf.Bytes())
		count := 0
		for i, spot := range labelSpots(t, f, first, labels) {
			in := g.content((first - 1 + i) % f.PerPage())
			marked := false
			for _, w := range found[spot.page] {
				x, y := (w.XMin+w.XMax)/2, (w.YMin+w.YMax)/2
				if x < spot.slip.x0 || x > spot.slip.x1 || y < spot.slip.y0 || y > spot.slip.y1 {
					continue
				}
				count++
				marked = marked || w.Text == labels[i].Mark
				ink := w.ink()
				clear := ink.x0 >= spot.code.x1-finest || ink.y0 >= spot.code.y1-finest
				assert.True(t, clear, "%s %s: %q is in the quiet zone", f.Key, labels[i].Mark, w.Text)
				assert.GreaterOrEqual(t, w.XMin, in.x0-0.1, "%s %s: %q leaves the label", f.Key, labels[i].Mark, w.Text)
				assert.LessOrEqual(t, w.XMax, in.x1+0.1, "%s %s: %q leaves the label", f.Key, labels[i].Mark, w.Text)
				assert.GreaterOrEqual(t, ink.y0, in.y0-0.3, "%s %s: %q leaves the label", f.Key, labels[i].Mark, w.Text)
				assert.LessOrEqual(t, ink.y1, in.y1+0.1, "%s %s: %q leaves the label", f.Key, labels[i].Mark, w.Text)
			}
			assert.True(t, marked, "the mark %s is not on its label of %s", labels[i].Mark, f.Key)
		}
		total := 0
		for _, p := range found {
			total += len(p)
		}
		assert.Equal(t, total, count, "every word lies on a label of %s", f.Key)
	}
}

// TestMarginsStayWhite looks for ink anywhere but where a label may carry it:
// outside the labels, in their margins, and where a printer cannot print. Tags
// have lines to cut there, so they are looked at one by one.
func TestMarginsStayWhite(t *testing.T) {
	for _, f := range Formats() {
		var pdf bytes.Buffer
		require.NoError(t, WriteLabels(&pdf, f, 1, sheetful(f)[:max(6, f.PerPage())]))
		g := f.lay(Adjust{})
		const dpi = 300
		slack := 25.4 / dpi * 1.5 // the dot that an edge may touch
		for number, page := range pages(t, pdf.Bytes(), printing{dpi, false}) {
			for position := range f.PerPage() {
				in := g.content(position)
				if f.Kind == OnTag {
					l := g.label(position)
					l = area{l.x0 + 1, l.y0 + 1, l.x1 - 1, l.y1 - 1}
					hole := g.hole
					white(crop(page, area{l.x0 - 1 + hole.x0 + holeAir - 0.5, l.y0 - 1 + hole.y0 + holeAir - 0.5, l.x0 - 1 + hole.x1 - holeAir + 0.5, l.y0 - 1 + hole.y1 - holeAir + 0.5}, dpi))
					white(crop(page, area{in.x0 - slack, in.y0 - slack, in.x1 + slack, in.y1 + slack}, dpi))
					x, y, found := inkAt(crop(page, l, dpi))
					assert.False(t, found, "%s: ink in the margin or at the hole of tag %d, %.2f mm %.2f mm", f.Key, position+1, float64(x)*25.4/dpi-l.x0, float64(y)*25.4/dpi-l.y0)
					continue
				}
				img := crop(page, area{in.x0 - slack, in.y0 - slack, in.x1 + slack, in.y1 + slack}, dpi)
				_, _, found := inkAt(img)
				require.True(t, found, "label %d of %s is empty", position+1, f.Key)
				white(img)
			}
			if x, y, found := inkAt(page); f.Kind != OnTag {
				assert.False(t, found, "%s, page %d: ink in a margin, %.2f mm %.2f mm", f.Key, number+1, float64(x)*25.4/dpi, float64(y)*25.4/dpi)
			}
		}
	}
}

// white wipes a part of a page.
func white(img *image.Gray) {
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			img.Pix[img.PixOffset(x, y)] = 255
		}
	}
}

// TestNothingOverlaps: on no page does a word lie on another one, in a margin
// that printers leave white, or on a placard in the quiet zone of the code.
func TestNothingOverlaps(t *testing.T) {
	docs, edge := map[string]func(io.Writer) error{}, map[string]float64{}
	for _, f := range Formats() {
		if f.Kind != OnRoll { // the rulers of a roll reach its edges
			docs["check "+f.Key] = func(w io.Writer) error { return WriteCalibration(w, f, English) }
		}
		docs[f.Key] = func(w io.Writer) error { return WriteLabels(w, f, 1, labelsFor(f)) }
		if f.Kind == OnRoll {
			edge[f.Key] = 3.6 // a roll has no white edge but the label's own
		}
	}
	for _, name := range []string{"letter", "a4"} {
		docs["tickets "+name] = func(w io.Writer) error { return WriteTickets(w, name, oddTickets()) }
		docs["blanks "+name] = func(w io.Writer) error { return WriteTickets(w, name, blankTickets()) }
		docs["placards "+name] = func(w io.Writer) error { return WritePlacards(w, name, oddPlacards()) }
	}
	for name, write := range docs {
		t.Run(name, func(t *testing.T) {
			var pdf bytes.Buffer
			require.NoError(t, write(&pdf))
			for _, page := range words(t, pdf.Bytes()) {
				for i, a := range page {
					assert.Greater(t, a.XMin, 4.6-edge[name], "%q", a.Text)
					for _, b := range page[i+1:] {
						assert.False(t, a.over(b), "%q lies on %q", a.Text, b.Text)
					}
				}
			}
		})
	}
	for _, pl := range oddPlacards() {
		c, err := encode(pl.Address, placardCode, pagePress)
		require.NoError(t, err)
		for _, name := range []string{"letter", "a4"} {
			w, h, err := pageSize(name)
			require.NoError(t, err)
			bottom, err := pl.caution(&drawing{}, area{placardMargin, placardMargin, w - placardMargin, h - placardMargin})
			require.NoError(t, err)
			_, _, _, _, free := pl.words(w-2*placardMargin, bottom-placardMargin-c.side())
			assert.GreaterOrEqual(t, free, 5.9, "air on %s for %q", name, pl.Title)
		}
	}
}

// TestTicketSaysItAll looks for the words of an ordinary ticket on its part of
// the page.
func TestTicketSaysItAll(t *testing.T) {
	tickets := oddTickets()[:1]
	var pdf bytes.Buffer
	require.NoError(t, WriteTickets(&pdf, "a4", tickets))
	var all []string
	for _, w := range words(t, pdf.Bytes())[0] {
		all = append(all, w.Text)
		assert.Less(t, w.XMax, 105.0-ticketMargin+0.1)
		assert.Less(t, w.YMin, 148.5-ticketMargin)
	}
	text := strings.Join(all, " ")
	for _, want := range []string{"1B00K", "24 pieces", "and 2 spares", "Stile", "white oak · Locker front", "Tern Point lockers", "Joint face", "at the jointer", "In clamps", "wait", "cutter stopped"} {
		assert.Contains(t, text, want)
	}
}
