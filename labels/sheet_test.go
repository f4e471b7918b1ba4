package labels

import (
	"bytes"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// The dimensions of the labels are common practice, no source; that they close
// to the page is arithmetic, and the pages are those of ISO 216 (A4) and of
// common practice (letter, 8-1/2 x 11 in).
func TestSheetsCloseToThePage(t *testing.T) {
	pages := map[string][2]float64{"letter-3x10": {215.9, 279.4}, "a4-3x8": {210, 297}}
	for _, s := range Sheets() {
		t.Run(s.Key, func(t *testing.T) {
			require.NoError(t, s.check())
			assert.Equal(t, pages[s.Key], [2]float64{s.PageW, s.PageH})
			across := 2*s.Left + float64(s.Columns-1)*s.PitchX + s.LabelW
			down := 2*s.Top + float64(s.Rows-1)*s.PitchY + s.LabelH
			assert.InDelta(t, s.PageW, across, 1e-9)
			assert.InDelta(t, s.PageH, down, 1e-9)
			assert.GreaterOrEqual(t, s.PitchX, s.LabelW-1e-9, "labels overlap")
			assert.GreaterOrEqual(t, s.PitchY, s.LabelH-1e-9, "labels overlap")
			for i := range s.PerPage() {
				in := s.content(i)
				x, y := s.Spot(i)
				assert.GreaterOrEqual(t, in.x0, max(x+2, 5)-1e-9)
				assert.LessOrEqual(t, in.x1, min(x+s.LabelW-2, s.PageW-5)+1e-9)
				assert.GreaterOrEqual(t, in.y0, max(y+2, 5)-1e-9)
				assert.LessOrEqual(t, in.y1, min(y+s.LabelH-2, s.PageH-5)+1e-9)
			}
		})
	}
}

func TestSheetByKey(t *testing.T) {
	s, err := SheetByKey("letter-3x10")
	require.NoError(t, err)
	// 3/16 in, 2-5/8 in, pitch 2-3/4 in, in millimetres.
	assert.InDelta(t, 4.7625, s.Left, 1e-9)
	assert.InDelta(t, 66.675, s.LabelW, 1e-9)
	assert.InDelta(t, 69.85, s.PitchX, 1e-9)

	_, err = SheetByKey("letter-9x9")
	require.Equal(t, "sheet-unknown", parts.CodeOf(err))
	assert.Equal(t, parts.Invalid, parts.AsProblem(err).Sort)
	for _, s := range Sheets() {
		assert.Contains(t, err.Error(), s.Key)
	}
}

// The pages in points are those of the PDF standard's usual media boxes:
// letter 612 x 792, A4 595.276 x 841.890.
func TestMediaBox(t *testing.T) {
	boxes := map[string]string{"letter": "0 0 612.00 792.00", "a4": "0 0 595.28 841.89"}
	box := regexp.MustCompile(`/MediaBox \[([^\]]*)\]`)
	for paper, want := range boxes {
		var out bytes.Buffer
		require.NoError(t, WritePlacards(&out, paper, []Placard{{Address: "http://192.168.1.20:8080/S/7K", Title: "At the saw"}}))
		found := box.FindSubmatch(out.Bytes())
		require.NotNil(t, found, paper)
		assert.Equal(t, want, string(found[1]), paper)
	}
}
