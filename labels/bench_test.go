package labels

import (
	"fmt"
	"io"
	"runtime"
	"runtime/metrics"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// stile is a label of the boathouse job, the i-th of many.
func stile(i int) Label {
	mark := fmt.Sprintf("1A%02dK", i)
	return Label{
		Address: "http://192.168.1.20:8080/P/" + mark, Mark: mark,
		Name: "Stile", Size: `34 1/2" × 2 1/4" × 3/4"`, Material: "white oak",
		Assembly: fmt.Sprintf("Locker front %d", i/4+1), Job: "Tern Point lockers", Strip: strip(12, 5),
	}
}

func stiles(n int) []Label {
	out := make([]Label, n)
	for i := range out {
		out[i] = stile(i)
	}
	return out
}

// strip is a strip of n notches of which so many are done and the next waits.
func strip(n, done int) parts.Strip {
	s := parts.Strip{Notches: make([]parts.Notch, n)}
	for i := range s.Notches {
		switch {
		case i < done:
			s.Notches[i].Shape = parts.FilledNotch
		case i == done:
			s.Notches[i].Shape = parts.HatchedNotch
		default:
			s.Notches[i].Shape = parts.OpenNotch
		}
	}
	return s
}

// BenchmarkLabels10000 prints 10,000 labels, and in the same run does what
// cannot be avoided: it encodes their addresses on as many cores, and gives
// gofpdf the same rectangles and the same pieces of text at the same places.
// Peak is the most memory that the heap held at once.
func BenchmarkLabels10000(b *testing.B) {
	const n = 10_000
	for i, kind := range []struct {
		name   string
		labels []Label
	}{{"plain", stiles(n)}, {"full", many(fullLabels()[0], n)}} {
		f := Formats()[2*i] // the larger ones have a sketch too
		b.Run(kind.name+"/print", func(b *testing.B) {
			measure(b, n, func(w io.Writer) error { return WriteLabels(w, f, 1, kind.labels) })
		})
		bare := layOut(b, f, kind.labels)
		b.Run(kind.name+"/bare-sum", func(b *testing.B) {
			measure(b, n, func(w io.Writer) error { return bareSum(w, f, kind.labels, bare) })
		})
	}
}

// many is n labels like one, each with a mark of its own.
func many(l Label, n int) []Label {
	out := stiles(n)
	for i := range out {
		mark, address := out[i].Mark, out[i].Address
		out[i] = l
		out[i].Mark, out[i].Address = mark, address
	}
	return out
}

// measure runs a printing and reports its time, size and memory.
func measure(b *testing.B, n int, print func(io.Writer) error) {
	var size writtenBytes
	var peak uint64
	for b.Loop() {
		size = 0
		runtime.GC()
		stop := watchHeap(&peak)
		err := print(&size)
		stop()
		require.NoError(b, err)
	}
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/10000")
	b.ReportMetric(float64(size)/float64(n), "bytes/label")
	b.ReportMetric(float64(peak)/1e6, "peak-MB")
}

// writtenBytes counts what is written.
type writtenBytes int

func (c *writtenBytes) Write(p []byte) (int, error) {
	*c += writtenBytes(len(p))
	return len(p), nil
}

// watchHeap reads how much the heap holds every few milliseconds until it is
// stopped, and keeps the most.
func watchHeap(peak *uint64) (stop func()) {
	done, over := make(chan struct{}), make(chan struct{})
	sample := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
	go func() {
		defer close(over)
		tick := time.NewTicker(2 * time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(sample)
			*peak = max(*peak, sample[0].Value.Uint64())
			select {
			case <-done:
				return
			case <-tick.C:
			}
		}
	}()
	return func() { close(done); <-over }
}

// layOut gives the drawings of labels, for the bare sum to write.
func layOut(b *testing.B, f Format, labels []Label) []*drawing {
	g := f.lay(Adjust{})
	var out []*drawing
	for i, l := range labels {
		c, err := encode(l.Address, g.codeBox(), g.press())
		require.NoError(b, err)
		out = append(out, l.draw(c, g, i%g.perPage()))
	}
	return out
}

// bareSum encodes the addresses and writes rectangles and text with nothing
// but the libraries' own calls.
func bareSum(w io.Writer, f Format, labels []Label, drawings []*drawing) error {
	g := f.lay(Adjust{})
	if _, err := encodeAll(addressesOf(labels), g.codeBox(), g.press()); err != nil {
		return err
	}
	p := newPaper(g.pageW, g.pageH, "Bare")
	for i, d := range drawings {
		if i%g.perPage() == 0 {
			p.page()
		}
		for _, o := range d.ops {
			switch o := o.(type) {
			case codeOp:
				unit := o.dot / fine
				for _, r := range o.rectangles() {
					p.pdf.Rect(o.x+float64(r[0])*unit, o.y+float64(r[1])*unit, float64(r[2])*unit, float64(r[3])*unit, "F")
				}
			case textOp:
				o.eachSpan(func(s span, x, y float64) {
					p.pdf.SetFont("shop", o.face.style, o.pt*s.size)
					p.pdf.Text(x, y, s.text)
				})
			case pictureOp:
				barePicture(p, o)
			}
		}
	}
	return p.finish(w)
}

// barePicture draws the figures of a picture one by one.
func barePicture(p *paper, o pictureOp) {
	p.pdf.SetLineWidth(o.width)
	for _, f := range o.figures {
		p.pdf.MoveTo(o.x+f.points[0].x*o.scale, o.y+f.points[0].y*o.scale)
		for _, at := range f.points[1:] {
			p.pdf.LineTo(o.x+at.x*o.scale, o.y+at.y*o.scale)
		}
		style := "D"
		if f.filled {
			style = "FD"
		}
		p.pdf.DrawPath(style)
	}
}
