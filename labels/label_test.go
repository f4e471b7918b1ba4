package labels

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// oddLabels are labels at the limits of what a shop may write.
func oddLabels() []Label {
	long := "Upper drawer front rail with a very long descriptive name running on to 80 chars"
	out := stiles(12)
	out[1].Note = "spare"
	out[2].Mark, out[2].Note, out[2].Copy = "12A5KX", "remake of 1A5K", 2
	out[2].Address = "http://192.168.100.100:8080/P/2/12A5KX"
	out[3].Name = long
	out[4].Name, out[4].Mark, out[4].Strip = "A", "7K", strip(30, 8)
	out[5].Material, out[5].Assembly = "white oak, quarter sawn, first grade", "Locker front with the crooked rail, upper"
	out[5].Job = "Tern Point Rowing Club boathouse lockers and bench backs, second lot"
	out[6].Name, out[6].Size, out[6].Note = long, `1234 31/32" × 112 15/16" × 31/32" before trimming`, "test piece for the colour of the second coat"
	out[7].Name, out[7].Strip = "Rückenlehne \U0001F6A3 \u6f22\u5b57", strip(30, 29)
	out[7].Strip.Broken = true
	out[8].Address = "https://boathouse-workshop.tern-point.example.org/P/2/1A08K"
	out[9] = Label{Address: out[9].Address, Mark: out[9].Mark}
	out[10].Name = strings.Repeat("Unbreakable", 8)
	out[11].Size, out[11].Strip = "877 × 57 × 19 mm", strip(1, 0)
	return out
}

// fullLabels are labels with all that can be on one, as usual and at the
// limits.
func fullLabels() []Label {
	out := stiles(8)
	for i := range out {
		l := &out[i]
		l.Rough, l.Grain, l.Place, l.Sketch = `36" × 2 1/2" × 7/8"`, parts.GrainLong, "back until sanded", stileSketch(parts.BackFace)
	}
	out[1].Hand, out[1].Copy, out[1].Sketch = parts.Left, 2, stileSketch(parts.Edges)
	out[2].Hand, out[2].Note, out[2].Sketch = parts.Right, "in place of 1A5K", stileSketch(parts.Ends)
	out[3].Name, out[3].Hand = "Upper drawer front rail with a very long descriptive name running on to 80 chars", parts.Left
	out[4].Place, out[4].Rough = "tag on the rack: all faces are coated", ""
	out[4].Sketch = panelSketch()
	out[5].Size, out[5].Rough = "876.3 × 57.2 × 19 mm", "≈ 914.4 × 63.5 × 22.2 mm"
	out[6].Sketch.Thick, out[6].Strip = 0, strip(30, 8)
	out[7].Assembly, out[7].Material = "Locker front with the crooked rail, upper", "white oak, quarter sawn, first grade"
	return out
}

// labelsFor are labels of all sorts for a format, with addresses that its code
// has room for.
func labelsFor(f Format) []Label {
	out := append(fullLabels(), oddLabels()...)
	if f.LabelH >= 20*parts.Millimetre {
		return out
	}
	for i := range out {
		if len(out[i].Address) > 40 {
			out[i].Address = "http://192.168.100.100:8080/P/2/" + out[i].Mark
		}
	}
	return out
}

// stileSketch is a stile of a locker front, 34 1/2 x 2 1/4 x 3/4 in, with
// dowel holes in the near edge, one in an end and two hinge holes in the back.
func stileSketch(seat parts.Face) *Sketch {
	in := func(n, den int) parts.Length { return parts.Inch * parts.Length(n) / parts.Length(den) }
	return &Sketch{Length: in(69, 2), Width: in(9, 4), Thick: in(3, 4), Seat: seat, Holes: []parts.Hole{
		{Into: parts.IntoNearEdge, Along: in(3, 4), Diameter: in(3, 8), Depth: in(11, 8)},
		{Into: parts.IntoNearEdge, Along: in(3, 2), Diameter: in(3, 8), Depth: in(11, 8)},
		{Into: parts.IntoNearEdge, Along: in(3, 4), FromFar: true, Diameter: in(3, 8), Depth: in(11, 8)},
		{Into: parts.IntoLeftEnd, Diameter: in(3, 8), Depth: in(5, 4)},
		{Into: parts.IntoBack, Along: in(7, 2), Across: in(7, 8), AcrossFar: true, Diameter: 35 * parts.Millimetre, Depth: in(1, 2)},
		{Into: parts.IntoShow, Along: in(7, 1), FromFar: true, Diameter: in(1, 4), Depth: in(1, 4)},
		{Into: parts.IntoFarEdge, Along: in(12, 1), Diameter: in(1, 4)},
	}}
}

// panelSketch is a panel of 400 x 300 x 12 mm with a hole right through.
func panelSketch() *Sketch {
	return &Sketch{Length: 400 * parts.Millimetre, Width: 300 * parts.Millimetre, Thick: 12 * parts.Millimetre, Seat: parts.ShowFace,
		Holes: []parts.Hole{{Into: parts.IntoShow, Along: 50 * parts.Millimetre, Across: 50 * parts.Millimetre, Diameter: 10 * parts.Millimetre}}}
}

func TestLabelsAreTheSameBytes(t *testing.T) {
	print := func() []byte {
		var out bytes.Buffer
		assert.NoError(t, WriteLabels(&out, Sheets()[1], 3, oddLabels()))
		return out.Bytes()
	}
	want := print()
	require.Contains(t, string(want), "D:20000101000000")
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	require.True(t, bytes.Equal(want, print()), "on one core")
	runtime.GOMAXPROCS(4)
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() { assert.True(t, bytes.Equal(want, print()), "several at once") })
	}
	wg.Wait()
}

// TestEverythingIsTheSameBytes prints all sorts of paper twice.
func TestEverythingIsTheSameBytes(t *testing.T) {
	prints := map[string]func(io.Writer) error{
		"check":     func(w io.Writer) error { return WriteCalibration(w, Formats()[1], English) },
		"travelers": func(w io.Writer) error { return WriteTraveler(w, "letter", travelers()...) },
		"badges":    func(w io.Writer) error { return WriteBadges(w, "a4", badges()) },
		"blanks":    func(w io.Writer) error { return WriteTickets(w, "a4", blankTickets()) },
	}
	for _, f := range Formats() {
		prints[f.Key] = func(w io.Writer) error { return WriteLabels(w, f, 1, fullLabels()[:2]) }
	}
	for name, print := range prints {
		var a, b bytes.Buffer
		require.NoError(t, print(&a))
		require.NoError(t, print(&b))
		assert.True(t, bytes.Equal(a.Bytes(), b.Bytes()), name)
	}
}

// TestBatchesKeepTheirOrder: more labels than are encoded at once print each
// its own code.
func TestBatchesKeepTheirOrder(t *testing.T) {
	labels := stiles(batch + 2)
	for i := range labels {
		labels[i].Mark = fmt.Sprintf("%04dK", i)
		labels[i].Address = "http://192.168.1.20:8080/P/" + labels[i].Mark
	}
	var pdf bytes.Buffer
	require.NoError(t, WriteLabels(&pdf, Formats()[0], 1, labels))
	last := pages(t, pdf.Bytes(), printing{203, false})
	spots := labelSpots(t, Formats()[0], 1, labels)
	for _, i := range []int{0, batch - 1, batch, batch + 1} {
		got, err := decode(crop(last[spots[i].page], spots[i].code, 203))
		require.NoError(t, err)
		assert.Equal(t, labels[i].Address, got)
	}
}

// A print order is kept as JSON and must print the same when read back.
func TestLabelSurvivesJSON(t *testing.T) {
	for _, l := range append(oddLabels(), fullLabels()...) {
		text, err := json.Marshal(l)
		require.NoError(t, err)
		var back Label
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, l, back)
	}
}

func TestLabelsRefuse(t *testing.T) {
	good := Sheets()[0]
	broken := good
	broken.PitchX *= 2
	tests := []struct {
		name   string
		sheet  Sheet
		first  int
		labels []Label
		code   string
	}{
		{"position 0", good, 0, stiles(1), "first-out"},
		{"position after the last", good, 31, stiles(1), "first-out"},
		{"nothing to print", good, 1, nil, "labels-none"},
		{"no address", good, 1, []Label{stile(1), {Mark: "1A5K"}}, "address-empty"},
		{"no mark", good, 1, []Label{{Address: "http://192.168.1.20:8080/P/1A5K", Mark: " "}}, "mark-empty"},
		{"address too long", good, 1, []Label{{Address: strings.Repeat("k", 400), Mark: "1A5K"}}, "address-too-long"},
		{"address longer than any code", good, 1, []Label{{Address: strings.Repeat("k", 4000), Mark: "1A5K"}}, "address-too-long"},
		{"sheet wider than its page", broken, 1, stiles(1), "format-outside"},
		{"no sheet", Sheet{}, 1, stiles(1), "format-key"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var out bytes.Buffer
			err := WriteLabels(&out, tt.sheet, tt.first, tt.labels)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.Equal(t, parts.Invalid, parts.AsProblem(err).Sort)
			assert.NotContains(t, err.Error(), "%!", "the sentence and its values agree")
			assert.Zero(t, out.Len())
		})
	}
}

// full is a printer without paper.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestAFailedWriteIsAFault(t *testing.T) {
	err := WriteLabels(full{}, Sheets()[0], 1, stiles(1))
	require.ErrorContains(t, err, "no space left")
	assert.Nil(t, parts.AsProblem(err))
}

// TestWordsFit adds up what is set on labels at the limits: nothing is wider
// than its column, and everything together is not higher than the label.
func TestWordsFit(t *testing.T) {
	for _, s := range Formats() {
		g := s.lay(Adjust{})
		for _, l := range append(oddLabels(), fullLabels()...) {
			for _, scale := range []float64{0.7, 1, 1.3} {
				in := g.content(s.PerPage() - 1)
				width, foot := in.width()-g.codeBox(), stripHeight(l.Strip, in.width()-g.codeBox(), 2.5*scale)
				room := g.least.height() - foot - labelAir*scale
				if g.tall() || scale > 1 && g.least.height() < 25 || scale == 1 && g.least.height() < 20 {
					continue
				}
				for _, below := range []bool{false, true} {
					rows, _ := l.rows(width, room, scale, below)
					require.GreaterOrEqual(t, room-heightOf(rows), leastMark, "%s %s", s.Key, l.Mark)
					mark, note, _ := l.head(width, min(room-heightOf(rows), 6*scale), scale)
					assert.LessOrEqual(t, mark.caps()+heightOf(rows), room+1e-6)
					for _, r := range append(rows, mark) {
						assert.LessOrEqual(t, r.width(), width)
						assert.GreaterOrEqual(t, r.pt, 6.0, "readable")
					}
					for _, r := range note {
						assert.LessOrEqual(t, r.width()+mark.width(), width-1)
					}
				}
			}
		}
	}
}

// FuzzLabel: no text on a label makes the program fail.
func FuzzLabel(f *testing.F) {
	f.Add("http://192.168.1.20:8080/P/1A5K", "1A5K", "Stile", `34 1/2" × 2 1/4"`, "spare", 2, []byte("ofdh"))
	f.Add("k", "\U0001F6A3", "\xff(\\)\r", "1/1 1/1 1/1", "\u202e", -1, []byte{0, 255})
	f.Fuzz(func(t *testing.T, address, mark, name, size, note string, number int, shapes []byte) {
		l := Label{Address: address, Mark: mark, Name: name, Size: size, Material: name, Assembly: note, Job: size, Note: note, Copy: number}
		for _, b := range shapes {
			l.Strip.Notches = append(l.Strip.Notches, parts.Notch{Shape: parts.NotchShape(b), Nick: b > 128})
		}
		l.Strip.Broken = number%2 == 0
		l.Rough, l.Place, l.Hand = size, note, parts.Hand(name)
		l.Sketch = &Sketch{Length: parts.Length(number), Width: parts.Length(len(shapes)) * parts.Millimetre, Holes: []parts.Hole{{Into: parts.HoleFace(note)}}}
		for _, f := range []Format{Formats()[0], Formats()[8], Formats()[13], Formats()[14]} {
			var out bytes.Buffer
			if err := WriteLabels(&out, f, 1, []Label{l}); err != nil {
				require.NotNil(t, parts.AsProblem(err), "%v", err)
			}
			if _, err := LabelSVG(f, l); err != nil {
				require.NotNil(t, parts.AsProblem(err), "%v", err)
			}
		}
		var out bytes.Buffer
		ticket := Ticket{Address: address, Mark: mark, Name: name, Size: size, Count: number, Strip: l.Strip, Steps: []TicketStep{{Name: name, Station: note}, {Name: note}, {Name: name, Station: note, Done: size}}}
		if err := WriteTickets(&out, "a4", []Ticket{ticket}); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%v", err)
		}
		if err := WritePlacards(&out, "letter", []Placard{{Address: address, Title: name, Mark: mark, Lead: size, Caution: note}}); err != nil {
			require.NotNil(t, parts.AsProblem(err), "%v", err)
		}
	})
}
