package labels

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/skip2/go-qrcode"
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

// BenchmarkLabels1000 prints 1000 labels, and in the same run does what cannot
// be avoided: it only encodes their 1000 addresses, on one core and on all.
func BenchmarkLabels1000(b *testing.B) {
	const n = 1000
	labels := stiles(n)
	sheet := Sheets()[0]
	perLabel := func(b *testing.B) {
		b.ReportMetric(float64(b.Elapsed().Microseconds())/1000/float64(b.N)/n, "ms/label")
	}
	b.Run("print", func(b *testing.B) {
		var out bytes.Buffer
		for b.Loop() {
			out.Reset()
			require.NoError(b, WriteLabels(&out, sheet, 1, labels))
		}
		perLabel(b)
		b.ReportMetric(float64(out.Len())/n, "bytes/label")
	})
	b.Run("encode-only", func(b *testing.B) {
		for b.Loop() {
			for _, l := range labels {
				q, err := qrcode.New(l.Address, qrcode.Highest)
				require.NoError(b, err)
				modulesOf(q)
			}
		}
		perLabel(b)
	})
	b.Run("encode-only-all-cores", func(b *testing.B) {
		texts := make([]string, n)
		for i, l := range labels {
			texts[i] = l.Address
		}
		for b.Loop() {
			_, err := encodeAll(texts, sheet.codeBox())
			require.NoError(b, err)
		}
		perLabel(b)
	})
}
