package labels

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// frontTraveler is the traveler of a locker front: two stiles of a pair, two
// rails and a panel.
func frontTraveler() Traveler {
	steps := boathouseSteps()
	t := Traveler{
		Address: "http://192.168.1.20:8080/P/1C05K", Mark: "1C05K", Name: "Locker front 5", Size: `34 1/2" × 18" × 3/4"`,
		Job: "Tern Point lockers", Note: "third bay from the door", Strip: strip(6, 0), Steps: steps[6:],
	}
	for i, name := range []string{"Stile", "Stile", "Rail", "Rail", "Panel"} {
		p := TravelerPart{Mark: fmt.Sprintf("1A%02dK", i), Name: name, Size: `34 1/2" × 2 1/4" × 3/4"`, Material: "white oak",
			Sketch: stileSketch(parts.BackFace), Steps: steps[:6]}
		if name == "Stile" {
			p.Hand = []parts.Hand{parts.Left, parts.Right}[i%2]
		}
		if name == "Panel" {
			p.Sketch, p.Size = panelSketch(), "400 × 300 × 12 mm"
		}
		t.Parts = append(t.Parts, p)
	}
	return t
}

// travelers are travelers as usual, without anything, and with far too much.
func travelers() []Traveler {
	long := frontTraveler()
	long.Mark, long.Name = "12A5KX", "Bench back with the crooked rail, upper, for the north wall of the boathouse"
	for range 5 {
		long.Parts = append(long.Parts, long.Parts[:5]...)
		long.Steps = append(long.Steps, boathouseSteps()...)
	}
	long.Parts[3].Name = strings.Repeat("Upper drawer front rail ", 5)
	long.Parts[4].Steps = append(boathouseSteps(), boathouseSteps()...)
	return []Traveler{frontTraveler(), {Address: long.Address, Mark: "1C06K"}, long}
}

func TestTravelerHasAllPartsAndSteps(t *testing.T) {
	for _, paper := range []string{"letter", "a4"} {
		var pdf bytes.Buffer
		require.NoError(t, WriteTraveler(&pdf, paper, frontTraveler()))
		found := words(t, pdf.Bytes())
		require.Len(t, found, 1, "one page for an assembly")
		var all []string
		for _, w := range found[0] {
			all = append(all, w.Text)
			assert.Greater(t, w.XMin, travelerMargin-0.1, w.Text)
		}
		text := strings.Join(all, " ")
		for _, want := range []string{"1C05K", "Locker front 5", "Tern Point lockers", "1A00K Stile, left hand", "1A01K Stile, right hand", "1A04K Panel",
			"400 × 300 × 12 mm", "Joint face", "In clamps", "Topcoat", "in the booth", "who, when", "cutter stopped", "data sheet"} {
			assert.Contains(t, text, want, paper)
		}
	}
}

// TestLongTravelerGoesOn: nothing is lost and nothing is printed over the foot
// when the parts take more than a page.
func TestLongTravelerGoesOn(t *testing.T) {
	long := travelers()[2]
	for _, paper := range []string{"letter", "a4"} {
		_, h, err := pageSize(paper)
		require.NoError(t, err)
		var pdf bytes.Buffer
		require.NoError(t, WriteTraveler(&pdf, paper, long))
		found := words(t, pdf.Bytes())
		require.Greater(t, len(found), 1)
		marks, signs := 0, 0
		for _, page := range found {
			assert.Equal(t, long.Mark, firstOf(page, "12"), "each page says whose it is")
			for i, a := range page {
				assert.Less(t, a.YMax, h-travelerMargin+1, a.Text)
				if strings.HasPrefix(a.Text, "1A") {
					marks++
				}
				if a.Text == "Topcoat" {
					signs++
				}
				for _, b := range page[i+1:] {
					assert.False(t, a.over(b), "%q lies on %q", a.Text, b.Text)
				}
			}
		}
		assert.Equal(t, len(long.Parts), marks, "every part once")
		assert.GreaterOrEqual(t, signs, 6, "every step")
	}
}

// firstOf is the first word of a page that begins so.
func firstOf(page []word, prefix string) string {
	for _, w := range page {
		if strings.HasPrefix(w.Text, prefix) {
			return w.Text
		}
	}
	return ""
}

func TestTravelerScans(t *testing.T) {
	all := travelers()[:2]
	for _, how := range printings[:1] {
		var pdf bytes.Buffer
		require.NoError(t, WriteTraveler(&pdf, "letter", all...))
		for i, got := range zbar(t, pages(t, pdf.Bytes(), how)) {
			assert.Equal(t, all[i].Address, got, "zbarimg, %s", how)
		}
	}
}

func TestTravelerRefuses(t *testing.T) {
	good := frontTraveler()
	for code, write := range map[string]func(*bytes.Buffer) error{
		"paper-unknown":  func(b *bytes.Buffer) error { return WriteTraveler(b, "a7", good) },
		"travelers-none": func(b *bytes.Buffer) error { return WriteTraveler(b, "a4") },
		"mark-empty":     func(b *bytes.Buffer) error { return WriteTraveler(b, "a4", Traveler{Address: good.Address}) },
		"address-empty":  func(b *bytes.Buffer) error { return WriteTraveler(b, "a4", Traveler{Mark: "1A5K"}) },
		"placards-none":  func(b *bytes.Buffer) error { return WriteBadges(b, "a4", nil) },
		"caution-long": func(b *bytes.Buffer) error {
			return WriteBadges(b, "a4", []Placard{{Address: "k", Title: "Ann", Caution: strings.Repeat("Stop the cutter. ", 30)}})
		},
		"blanks-many": func(b *bytes.Buffer) error {
			return WriteTickets(b, "a4", []Ticket{{Address: "k", Mark: "1A5K", Count: 1000, PerBlank: 2}})
		},
		"count-negative": func(b *bytes.Buffer) error {
			return WriteTickets(b, "a4", []Ticket{{Address: "k", Mark: "1A5K", PerBlank: -1}})
		},
	} {
		var out bytes.Buffer
		err := write(&out)
		require.Equal(t, code, parts.CodeOf(err), "%v", err)
		assert.NotContains(t, err.Error(), "%!")
		assert.Zero(t, out.Len())
	}
}

// badges are cards for people, a rack and a cart, and one with no word.
func badges() []Placard {
	out := []Placard{
		{Address: "http://192.168.1.20:8080/W/7K", Title: "Ann", Lead: "Scan this when you take up a phone.", Caution: CautionFor(PersonBadge)},
		{Address: "http://192.168.1.20:8080/P/1D01K", Title: "Rack by the north window", Lead: "Scan this, then what you lay here.", Caution: CautionFor(RackPlacard)},
		{Address: "http://192.168.100.100:8080/P/12A5KX", Title: "Cart 12", Caution: CautionFor(CartPlacard)},
		{Address: "http://192.168.1.20:8080/S/BOOTH", Title: "In the booth", Caution: CautionFor(BoothPlacard)},
	}
	for i := range 6 {
		out = append(out, Placard{Address: fmt.Sprintf("http://192.168.1.20:8080/W/%dK", i), Title: fmt.Sprintf("Hand %d", i)})
	}
	return out
}

func TestEveryBadgeScans(t *testing.T) {
	for _, paper := range []string{"letter", "a4"} {
		w, h, err := pageSize(paper)
		require.NoError(t, err)
		var pdf bytes.Buffer
		require.NoError(t, WriteBadges(&pdf, paper, badges()))
		var spots []spot
		for i, b := range badges() {
			c, err := encode(b.Address, badgeCode, pagePress)
			require.NoError(t, err)
			card := badgeArea(area{x1: w, y1: h}, i%8)
			s := spotOf(i/8, area{card.x0 + 0.3, card.y0 + 0.3, card.x1 - 0.3, card.y1 - 0.3}, c, c.snap(card.x0+badgeMargin), c.snap(card.y0+badgeMargin), b.Address)
			spots = append(spots, s)
		}
		scan(t, pdf.Bytes(), spots, printing{300, true})
		for _, page := range words(t, pdf.Bytes()) {
			for i, a := range page {
				for _, b := range page[i+1:] {
					assert.False(t, a.over(b), "%q lies on %q", a.Text, b.Text)
				}
			}
		}
	}
}

// Every kind of placard has its caution, and it fits a full page and a card.
func TestCautions(t *testing.T) {
	for _, kind := range []PlacardKind{RackPlacard, CartPlacard, PersonBadge, BoothPlacard} {
		require.NotEmpty(t, CautionFor(kind))
		p := Placard{Address: "http://192.168.1.20:8080/P/1A5K", Title: "A place", Caution: CautionFor(kind)}
		var out bytes.Buffer
		assert.NoError(t, WritePlacards(&out, "letter", []Placard{p}), kind)
		assert.NoError(t, WriteBadges(&out, "letter", []Placard{p}), kind)
	}
	assert.Empty(t, CautionFor(""))
}
