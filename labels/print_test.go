package labels

import (
	"bytes"
	"fmt"
	"image"
	"io"
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
		assert.GreaterOrEqual(t, s.code.x0, s.slip.x0-dot, s.address)
		assert.GreaterOrEqual(t, s.code.y0, s.slip.y0-dot, s.address)
		assert.LessOrEqual(t, s.code.x1, s.slip.x1+dot, s.address)
		assert.LessOrEqual(t, s.code.y1, s.slip.y1+dot, s.address)
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
	for i, l := range labels {
		at := first - 1 + i
		c, err := encode(l.Address, s.codeBox())
		require.NoError(t, err)
		x, y := s.place(c, at%s.PerPage())
		left, top := s.Spot(at % s.PerPage())
		out = append(out, spotOf(at/s.PerPage(), area{left, top, left + s.LabelW, top + s.LabelH}, c, x, y, l.Address))
	}
	return out
}

func TestEveryLabelScans(t *testing.T) {
	for _, s := range Sheets() {
		labels := append(oddLabels(), stiles(s.PerPage() + 8)[12:]...) // a full sheet and more
		for _, first := range []int{1, 5} {
			var pdf bytes.Buffer
			require.NoError(t, WriteLabels(&pdf, s, first, labels))
			for _, how := range printings {
				t.Run(fmt.Sprintf("%s from %d at %s", s.Key, first, how), func(t *testing.T) {
					t.Parallel()
					scan(t, pdf.Bytes(), labelSpots(t, s, first, labels), how)
				})
			}
		}
	}
}

// An address so long that only three dots are left for a module still reads.
func TestFineModulesScan(t *testing.T) {
	s := Sheets()[0]
	labels := stiles(8)
	for i := range labels {
		labels[i].Address += "?" + strings.Repeat("tern", 30+3*i)
	}
	var pdf bytes.Buffer
	require.NoError(t, WriteLabels(&pdf, s, 1, labels))
	c, err := encode(labels[0].Address, s.codeBox())
	require.NoError(t, err)
	require.Equal(t, leastDots, c.dots)
	for _, how := range printings {
		t.Run(how.String(), func(t *testing.T) {
			t.Parallel()
			scan(t, pdf.Bytes(), labelSpots(t, s, 1, labels), how)
		})
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
			c, err := encode(tk.Address, ticketCode)
			require.NoError(t, err)
			in := (&paper{w: w, h: h}).ticketArea(i % ticketsAPage)
			slip := area{in.x0 - ticketMargin + 1, in.y0 - ticketMargin + 1, in.x1 + ticketMargin - 1, in.y1 + ticketMargin - 1}
			spots = append(spots, spotOf(i/ticketsAPage, slip, c, snap(in.x0), snap(in.y0), tk.Address))
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

// TestWordsLieOnTheirLabel: the mark of label k is on label k, and no word of
// a page touches an edge or a code.
func TestWordsLieOnTheirLabel(t *testing.T) {
	for _, s := range Sheets() {
		labels := append(oddLabels(), stiles(s.PerPage() + 8)[12:]...)
		const first = 5
		var pdf bytes.Buffer
		require.NoError(t, WriteLabels(&pdf, s, first, labels))
		found := words(t, pdf.Bytes())
		count := 0
		for i, spot := range labelSpots(t, s, first, labels) {
			in := s.content((first - 1 + i) % s.PerPage())
			marked := false
			for _, w := range found[spot.page] {
				x, y := (w.XMin+w.XMax)/2, (w.YMin+w.YMax)/2
				if x < spot.slip.x0 || x > spot.slip.x1 || y < spot.slip.y0 || y > spot.slip.y1 {
					continue
				}
				count++
				marked = marked || w.Text == labels[i].Mark
				assert.GreaterOrEqual(t, w.XMin, spot.code.x1-dot, "%s: %q is in the quiet zone", labels[i].Mark, w.Text)
				assert.LessOrEqual(t, w.XMax, in.x1+0.1, "%s: %q leaves the label", labels[i].Mark, w.Text)
			}
			assert.True(t, marked, "the mark %s is not on its label", labels[i].Mark)
		}
		total := 0
		for _, p := range found {
			total += len(p)
		}
		assert.Equal(t, total, count, "every word lies on a label")
	}
}

// TestMarginsStayWhite looks for ink anywhere but where a label may carry it:
// outside the labels, in their margins, and where a printer cannot print.
func TestMarginsStayWhite(t *testing.T) {
	for _, s := range Sheets() {
		labels := append(oddLabels(), stiles(s.PerPage())[12:]...)
		var pdf bytes.Buffer
		require.NoError(t, WriteLabels(&pdf, s, 1, labels))
		const dpi = 300
		page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
		slack := 25.4 / dpi * 1.5 // the dot that an edge may touch
		for position := range s.PerPage() {
			in := s.content(position)
			img := crop(page, area{in.x0 - slack, in.y0 - slack, in.x1 + slack, in.y1 + slack}, dpi)
			b := img.Bounds()
			_, _, found := inkAt(img)
			require.True(t, found, "label %d is empty", position+1)
			for y := b.Min.Y; y < b.Max.Y; y++ {
				for x := b.Min.X; x < b.Max.X; x++ {
					img.Pix[img.PixOffset(x, y)] = 255
				}
			}
		}
		x, y, found := inkAt(page)
		assert.False(t, found, "%s: ink in a margin, %.2f mm %.2f mm", s.Key, float64(x)*25.4/dpi, float64(y)*25.4/dpi)
	}
}

// TestNothingOverlaps: on no page does a word lie on another one, in a margin
// that printers leave white, or on a placard in the quiet zone of the code.
func TestNothingOverlaps(t *testing.T) {
	docs := map[string]func(io.Writer) error{}
	for _, s := range Sheets() {
		docs[s.Key] = func(w io.Writer) error { return WriteLabels(w, s, 1, oddLabels()) }
	}
	for _, name := range []string{"letter", "a4"} {
		docs["tickets "+name] = func(w io.Writer) error { return WriteTickets(w, name, oddTickets()) }
		docs["placards "+name] = func(w io.Writer) error { return WritePlacards(w, name, oddPlacards()) }
	}
	for name, write := range docs {
		t.Run(name, func(t *testing.T) {
			var pdf bytes.Buffer
			require.NoError(t, write(&pdf))
			for _, page := range words(t, pdf.Bytes()) {
				for i, a := range page {
					assert.Greater(t, a.XMin, 4.6, "%q", a.Text)
					for _, b := range page[i+1:] {
						assert.False(t, a.over(b), "%q lies on %q", a.Text, b.Text)
					}
				}
			}
		})
	}
	for _, pl := range oddPlacards() {
		c, err := encode(pl.Address, placardCode)
		require.NoError(t, err)
		for _, name := range []string{"letter", "a4"} {
			w, h, err := pageSize(name)
			require.NoError(t, err)
			bottom, err := pl.caution(newPaper(w, h, ""), area{placardMargin, placardMargin, w - placardMargin, h - placardMargin})
			require.NoError(t, err)
			_, _, _, free := pl.words(w-2*placardMargin, bottom-placardMargin-c.side())
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
