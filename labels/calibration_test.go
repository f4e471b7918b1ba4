package labels

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// TestCalibrationIsTrue measures the printed page as a person would: on the
// page drawn by poppler the crosses and the ticks of the rulers are where the
// text says, to a dot, and nowhere else.
func TestCalibrationIsTrue(t *testing.T) {
	const dpi = 600
	for _, paper := range []string{"letter-3x10", "a4-3x8"} {
		f, err := FormatByKey(paper)
		require.NoError(t, err)
		var pdf bytes.Buffer
		require.NoError(t, WriteCalibration(&pdf, f, English))
		page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
		dark := func(x, y float64) bool { // within a dot of the place
			px, py := int(x*dpi/25.4), int(y*dpi/25.4)
			for dy := -1; dy <= 1; dy++ {
				for dx := -1; dx <= 1; dx++ {
					if page.GrayAt(px+dx, py+dy).Y < 128 {
						return true
					}
				}
			}
			return false
		}
		for _, at := range [][2]float64{{20, 20}, {180, 20}, {20, 240}} {
			assert.True(t, dark(at[0], at[1]+5) && dark(at[0]+5, at[1]), "%s: the cross at %v", paper, at)
			assert.False(t, dark(at[0]+0.3, at[1]+5) || dark(at[0]+5, at[1]+0.3), "%s: the cross at %v is thin", paper, at)
		}
		for _, mm := range []float64{10, 100, 101, 155, 200} {
			assert.True(t, dark(mm, 41), "%s: %g mm across", paper, mm)
			assert.True(t, dark(41, mm), "%s: %g mm down", paper, mm)
			assert.False(t, dark(mm+0.5, 41) || dark(41, mm+0.5), "%s: half a millimetre after %g", paper, mm)
		}
		for _, sixteenths := range []float64{16, 48, 81, 112} {
			assert.True(t, dark(sixteenths*25.4/16, 53), "%s: %g sixteenths across", paper, sixteenths)
			assert.True(t, dark(59, sixteenths*25.4/16), "%s: %g sixteenths down", paper, sixteenths)
		}
		var text []string
		for _, w := range words(t, pdf.Bytes())[0] {
			text = append(text, w.Text)
		}
		all := strings.Join(text, " ")
		for _, want := range []string{"100 %", "cross A to cross B: 160 mm", "220 mm", "Left", "Top", "A to B", "A to C"} {
			assert.Contains(t, all, want)
		}
		assert.NotContains(t, all, "%s")
	}
	assert.Equal(t, "format-key", parts.CodeOf(WriteCalibration(&bytes.Buffer{}, Format{}, English)))
}

// TestCalibrationOfARoll measures the label of a roll with the crosses and the
// ruler on it: they are where AdjustFor takes them to be, the lengths to measure
// stand beside them, and no word leaves the label.
func TestCalibrationOfARoll(t *testing.T) {
	const dpi = 600
	for _, f := range Formats() {
		if f.Kind != OnRoll {
			continue
		}
		var pdf bytes.Buffer
		require.NoError(t, WriteCalibration(&pdf, f, English))
		page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
		dark := func(x, y float64) bool {
			px, py := int(x*dpi/25.4), int(y*dpi/25.4)
			return page.GrayAt(px, py).Y < 128 || page.GrayAt(px-1, py).Y < 128 || page.GrayAt(px, py-1).Y < 128
		}
		right := f.Right()
		x, y := inMM(right.Left), inMM(right.Top)
		for _, at := range [][2]float64{{x, y}, {x + inMM(right.Across), y}, {x, y + inMM(right.Down)}} {
			assert.True(t, dark(at[0], at[1]+2) && dark(at[0]-2, at[1]), "%s: the cross at %v", f.Key, at)
			assert.False(t, dark(at[0]-0.3, at[1]+2) || dark(at[0]-2, at[1]-0.3), "%s: the cross at %v is thin", f.Key, at)
		}
		for _, mm := range []float64{10, 15, 21, 30} {
			assert.True(t, dark(mm, y+3.6+1) && !dark(mm+0.5, y+3.6+1), "%s: %g mm across", f.Key, mm)
		}
		all := ""
		for _, w := range words(t, pdf.Bytes())[0] {
			all += w.Text + " "
			assert.True(t, w.XMin >= 0 && w.YMin >= 0 && w.XMax <= inMM(f.PageW)+0.1 && w.YMax <= inMM(f.PageH)+0.5, "%s: %q leaves the label", f.Key, w.Text)
		}
		assert.Contains(t, all, inWords(right.Down))
		assert.NotContains(t, all, "…")
	}
}
