package labels

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// blankTickets are tickets whose pieces travel as blanks: a full and a short
// last blank, more stubs than a slip holds, and one at the right of a page.
func blankTickets() []Ticket {
	out := oddTickets()[:4]
	out[0].Name, out[0].Count, out[0].Spares, out[0].PerBlank = "Rail", 10, 0, 3
	out[1].PerBlank = 1
	out[2].Count, out[2].Spares, out[2].PerBlank = 30, 2, 2
	return out
}

// TestStubsAddUp: whatever the count, the stubs hold all the pieces, each blank
// as many as it yields and only the last fewer.
func TestStubsAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tk := Ticket{Count: rapid.IntRange(0, 300).Draw(t, "count"), Spares: rapid.IntRange(0, 9).Draw(t, "spares"), PerBlank: rapid.IntRange(0, 12).Draw(t, "per blank")}
		if tk.PerBlank < 2 {
			require.Zero(t, tk.blanks(), "pieces already")
			return
		}
		sum := 0
		for n := 1; n <= tk.blanks(); n++ {
			in := tk.inBlank(n)
			require.Positive(t, in)
			if n < tk.blanks() {
				require.Equal(t, tk.PerBlank, in)
			}
			sum += in
		}
		require.Equal(t, tk.Count+tk.Spares, sum)
	})
}

// TestStubsLieBesideTheirTicket: each stub scans like its ticket and says which
// blank it is, on the slip to the right of the ticket and the slips after it.
func TestStubsLieBesideTheirTicket(t *testing.T) {
	tickets := blankTickets()
	var pdf bytes.Buffer
	require.NoError(t, WriteTickets(&pdf, "letter", tickets))
	for _, page := range words(t, pdf.Bytes()) {
		for i, a := range page {
			for _, b := range page[i+1:] {
				assert.False(t, a.over(b), "%q lies on %q", a.Text, b.Text)
			}
		}
	}
	for i, want := range map[int][]string{0: {"blank 1 of 4", "3 × Rail", "blank 4 of 4", "1 × Rail"}, 2: {"blank 1 of 16", "blank 10 of 16"}} {
		d := &drawing{}
		tickets[i].stubs(d, code{dots: 5, dot: 0.1}, ticketArea(area{x1: 210, y1: 297}, 1), 1)
		var said []string
		for _, o := range d.ops {
			if txt, ok := o.(textOp); ok {
				said = append(said, txt.text)
			}
		}
		assert.Subset(t, said, want)
	}

	page := area{x1: 8.5 * 25.4, y1: 11 * 25.4}
	c, err := encode(tickets[0].Address, stubCode, pagePress)
	require.NoError(t, err)
	in := ticketArea(page, 1)
	var spots []spot
	for n := range 4 {
		w, h := in.width()/stubColumns, in.height()/stubRows
		x, y := in.x0+float64(n%2)*w, in.y0+float64(n/2)*h
		spots = append(spots, spotOf(0, area{x, y, x + w, y + h}, c, c.snap(x+c.margin()), c.snap(y+(h-c.dark())/2), tickets[0].Address))
	}
	pages := pages(t, pdf.Bytes(), printing{300, true})
	for _, s := range spots {
		got, err := decode(crop(pages[0], s.code, 300))
		assert.NoError(t, err)
		assert.Equal(t, s.address, got)
		assert.True(t, quietZone(pages[0], s, 300))
	}
	scanned := strings.Join(zbar(t, pages), " ")
	for i, n := range []int{5, 1, 17, 1} {
		assert.Equal(t, n, strings.Count(scanned, tickets[i].Address), "ticket %d and its stubs", i)
	}
}

// TestStepsAreInOneSize: however many steps a ticket has, on either paper all
// are there up to the fullest list, in one size of type, and none is lost
// between two columns.
func TestStepsAreInOneSize(t *testing.T) {
	for _, name := range []string{"letter", "a4"} {
		w, h, err := pageSize(name)
		require.NoError(t, err)
		in := ticketArea(area{x1: w, y1: h}, 0)
		in.y0 += 68 // below head, words and strip
		for n := 1; n <= 40; n++ {
			var steps []TicketStep
			for i := range n {
				s := boathouseSteps()[i%12]
				s.Name = fmt.Sprintf("%s %d", s.Name, i+1)
				steps = append(steps, s)
			}
			d := &drawing{}
			listSteps(d, steps, in)
			sizes, named, placed := map[float64]int{}, 0, 0
			for _, o := range d.ops {
				if txt, ok := o.(textOp); ok {
					sizes[txt.pt]++
					if strings.HasPrefix(txt.text, "at ") || strings.HasPrefix(txt.text, "in the") || txt.text == "wait" {
						placed++
					} else {
						named++
					}
				}
			}
			assert.LessOrEqual(t, len(sizes), 2, "%s, %d steps: names in one size, stations in another", name, n)
			assert.Equal(t, n, named, "%s: all steps", name)
			if n <= 28 {
				assert.Equal(t, n, placed, "%s: where each is done", name)
			}
			columns, _ := stepColumns(n, in.height())
			if n == 17 {
				assert.Equal(t, 2, columns, name)
			}
		}
	}
}
