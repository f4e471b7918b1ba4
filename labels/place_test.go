package labels

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
)

// remadeRail is a label with more to say than most: a rail that is made again.
func remadeRail() Label {
	l := stile(1)
	l.Name, l.Size, l.Rough, l.Note, l.Grain = "Top rail 10", `11 3/8" × 2 1/4" × 3/4"`, `41 3/8" long, a blank of 3`, "in place of 11T5", parts.GrainLong
	l.Place = "Tie to the blank. After boring: on the back face."
	l.PlaceShort = []string{"on the blank until bored, then back face", "on the blank, then back face", "back face"}
	l.Sketch = stileSketch(parts.BackFace)
	return l
}

// rowsOf are the lines of text of a drawing.
func rowsOf(d *drawing) []textOp {
	var out []textOp
	for _, o := range d.ops {
		if text, is := o.(textOp); is {
			out = append(out, text)
		}
	}
	return out
}

// TestThePlaceIsNeverCut: what is shortened is what comes first, and where the
// label goes stays whole, on every sticker that is not among the lowest.
func TestThePlaceIsNeverCut(t *testing.T) {
	for _, f := range Formats() {
		if f.Kind == OnTag || f.LabelH < 25*parts.Millimetre {
			continue
		}
		for _, l := range []Label{remadeRail(), {Address: stile(2).Address, Mark: "1A02K", Name: "Stile", Size: `34 1/2" × 2 1/4" × 3/4"`, Note: "dowelled both ends",
			Place: "Keep with the ticket. After gluing dowels in: on the back face.", PlaceShort: []string{"ticket, then back face", "back face"}, Strip: strip(12, 3)}} {
			said, least := "", 99.0
			for _, r := range rowsOf(drawn(t, f, l, 0)) {
				said += r.text + " "
				if strings.Contains(r.text, "back face") {
					assert.NotContains(t, r.text, ellipsis, f.Key)
					least = r.pt
				}
			}
			assert.Contains(t, said, "back face", f.Key)
			first := strings.Contains(said, "on the blank") || strings.Contains(said, "ticket") || strings.Contains(said, "Tie to the blank.")
			assert.True(t, first || f.LabelW < 55*parts.Millimetre, "%s: what to do first is shortened, not left out: %q", f.Key, said)
			assert.GreaterOrEqual(t, least, 6.0, f.Key)
		}
	}
	f, err := FormatByKey("letter-3x10")
	require.NoError(t, err)
	for _, r := range rowsOf(drawn(t, f, remadeRail(), 0)) {
		if strings.Contains(r.text, "back face") {
			assert.Equal(t, "label: on the blank, then back face", r.text)
			assert.GreaterOrEqual(t, r.pt, 6.5, "larger than the smallest type")
		}
	}
}

// An order printed by an older program has no shorter words.
func TestAPlaceWithoutShorterWords(t *testing.T) {
	l := Label{Place: "back until sanded"}
	s := style{face: regular, pt: 7, fall: 6}
	assert.Equal(t, "label: back until sanded", l.place(s, 60, 1)[0].text)
	assert.True(t, anyCut(l.place(s, 12, 1)))
	assert.Empty(t, Label{}.place(s, 60, 1))
}

// TestTagsAreReadFromAStepAway: letters are read at 1 m that are 4 mm high, and
// a code from a good ten times its width (common practice, no source).
func TestTagsAreReadFromAStepAway(t *testing.T) {
	f, err := FormatByKey("letter-tag-3x2")
	require.NoError(t, err)
	for _, name := range []string{"Stile 21", "Locker front 12", "Locker shelf 1"} {
		l := stile(3)
		l.Name, l.Assembly, l.Sketch, l.Grain = name, "Frame", stileSketch(""), parts.GrainLong
		d := drawn(t, f, l, 0)
		foot := 0.0
		for _, r := range rowsOf(d) {
			if r.text == l.Mark {
				assert.GreaterOrEqual(t, r.caps(), 8.0, "mark")
			}
			if strings.Contains(name, r.text) {
				assert.GreaterOrEqual(t, r.caps(), 4.0, r.text)
			}
			foot = max(foot, r.y)
		}
		for _, o := range d.ops {
			if c, is := o.(codeOp); is {
				assert.GreaterOrEqual(t, c.dark(), 25.0, "code")
			}
		}
		assert.Greater(t, foot-inMM(f.Top), 75.0, "the lower half is used too")
	}
}

// TestTheDottedBoxSaysWhatItIs: the word lies on the face, off every hole and
// off the arrow of the grain.
func TestTheDottedBoxSaysWhatItIs(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := &Sketch{Length: parts.Length(rapid.IntRange(100, 2000).Draw(t, "length")) * parts.Millimetre,
			Width: parts.Length(rapid.IntRange(20, 600).Draw(t, "width")) * parts.Millimetre, Seat: parts.BackFace, Grain: parts.GrainLong}
		for range rapid.IntRange(0, 6).Draw(t, "holes") {
			s.Holes = append(s.Holes, parts.Hole{Into: rapid.SampledFrom(parts.HoleFaces).Draw(t, "into"), Diameter: 8 * parts.Millimetre, Depth: 12 * parts.Millimetre,
				Along: s.Width / parts.Length(rapid.IntRange(1, 5).Draw(t, "along"))})
		}
		v, fits := s.fit(rapid.Float64Range(20, 120).Draw(t, "w"), 40)
		if !fits {
			return
		}
		at, room := s.seatWord(v)
		if !room {
			return
		}
		require.True(t, at.x0 > 0 && at.x1 < v.long && at.y0 > 0 && at.y1 < v.wide, "it leaves the part")
		if at.x0 > seatSlip(v).x1 || at.x1 < seatSlip(v).x0 { // beside the slip
			for _, hole := range s.drawnHoles(v) {
				require.False(t, at.meets(hole))
			}
		}
		for _, f := range s.grain(v) {
			require.False(t, f.bounds().meets(at), "the arrow lies on the word")
		}
	})
	said := func(key string, seat parts.Face) string {
		f, err := FormatByKey(key)
		require.NoError(t, err)
		l := stile(1)
		l.Place, l.PlaceShort, l.Sketch = "On the back face.", []string{"back face"}, stileSketch(seat)
		out := ""
		for _, r := range rowsOf(drawn(t, f, l, 0)) {
			out += "|" + r.text
		}
		return out + "|"
	}
	assert.Contains(t, said("roll-57x32", parts.BackFace), "|label|", "beside a low one")
	assert.Contains(t, said("letter-2x5", parts.BackFace), "|label|", "in a large one")
	assert.NotContains(t, said("letter-2x5", ""), "|label|", "it sits nowhere")
}

// TestWhatTheOfficePrintsIsSaid reads tickets, travelers and placards back.
func TestWhatTheOfficePrintsIsSaid(t *testing.T) {
	on := func(write func(*bytes.Buffer) error) (all string, high map[string]float64) {
		var pdf bytes.Buffer
		require.NoError(t, write(&pdf))
		high = map[string]float64{}
		for _, w := range words(t, pdf.Bytes())[0] {
			all += w.Text + " "
			high[w.Text] = max(high[w.Text], w.YMax-w.YMin)
		}
		return all, high
	}
	tk := oddTickets()[0]
	tk.Rough, tk.RoughWhy = `cut 5 blanks 41.4" long`, `a blank of 3; incl. 7" for trimming`
	text, high := on(func(b *bytes.Buffer) error { return WriteTickets(b, "letter", []Ticket{tk}) })
	assert.Contains(t, text, `cut 5 blanks 41.4" long a blank of 3; incl. 7" for trimming`)
	assert.InDelta(t, high["×"], high["blanks"], 0.01, "as large as the finished size")

	front := frontTraveler()
	front.Parts = []TravelerPart{{Mark: "101S", Name: "2 × Stile", Count: 2, There: "5 ready, 1 at the crosscut saw (rough length)"}, {Mark: "1A04K", Name: "Panel"}}
	text, _ = on(func(b *bytes.Buffer) error { return WriteTraveler(b, "letter", front) })
	assert.Contains(t, text, "Parts (3)")
	assert.Contains(t, text, "5 ready, 1 at the crosscut saw (rough length)")

	cart := Placard{Address: "http://192.168.1.20:8080/P/14N5", Title: "Cart 1", Mark: "14N5", Lead: "Scan this.", Caution: CautionFor(CartPlacard)}
	_, high = on(func(b *bytes.Buffer) error { return WritePlacards(b, "a4", []Placard{cart}) })
	assert.Greater(t, high["14N5"]*capHeight/1.17, 8.0, "capitals of the mark in millimetres")
}
