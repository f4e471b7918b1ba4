package labels

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"image"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// counts is how often each thing is drawn.
type counts struct{ texts, lines, boxes, pictures, codes, modules int }

// count goes through a drawing as a writer does.
func count(d *drawing) counts {
	var n counts
	for _, o := range d.ops {
		switch o := o.(type) {
		case textOp:
			o.eachSpan(func(span, float64, float64) { n.texts++ })
		case lineOp:
			n.lines++
		case boxOp:
			n.boxes++
		case pictureOp:
			filled, empty := 0, 0
			for _, f := range o.figures {
				if f.filled {
					filled = 1
				} else {
					empty = 1
				}
			}
			n.pictures += filled + empty
		case codeOp:
			n.codes++
			n.modules += len(o.rectangles())
		}
	}
	return n
}

// drawn is the drawing that both writers of a label are given.
func drawn(t *testing.T, f Format, l Label, position int) *drawing {
	t.Helper()
	g := f.lay(Adjust{})
	c, err := encode(l.Address, g.codeBox(), g.press())
	require.NoError(t, err)
	return l.draw(c, g, position)
}

// TestPreviewHasWhatThePDFHas reads both files back: each has every thing of
// the drawing, once, and nothing else.
func TestPreviewHasWhatThePDFHas(t *testing.T) {
	for _, f := range Formats() {
		for _, l := range labelsFor(f)[1:4] {
			want := count(drawn(t, f, l, 0))
			text, err := LabelSVG(f, l)
			require.NoError(t, err)
			classes := classesOf(t, text)
			assert.Equal(t, want, counts{classes["text"], classes["line"], classes["box"], classes["picture"], classes["qr"],
				strings.Count(regexp.MustCompile(`class="qr"[^>]*`).FindString(text), "z")}, "%s %s", f.Key, l.Mark)

			var pdf bytes.Buffer
			require.NoError(t, WriteLabels(&pdf, f, 1, []Label{l}))
			page := operators(t, pdf.Bytes())
			cut := count(f.lay(Adjust{}).cutLines())
			assert.Equal(t, want.texts, page["Tj"], f.Key)
			assert.Equal(t, want.modules+want.boxes, page["re"], f.Key)
			assert.Equal(t, want.codes, page["f"], f.Key)
			// gofpdf strokes a line with S as a picture's lines are.
			assert.Equal(t, want.lines+want.pictures+cut.lines+cut.pictures, page["S"]+page["B"], f.Key)
		}
	}
}

// classesOf counts the elements of a preview by class.
func classesOf(t *testing.T, text string) map[string]int {
	t.Helper()
	out := map[string]int{}
	d := xml.NewDecoder(strings.NewReader(text))
	for {
		token, err := d.Token()
		if err == io.EOF {
			return out
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			for _, a := range e.Attr {
				if a.Name.Local == "class" {
					out[a.Value]++
				}
			}
		}
	}
}

// operators counts the drawing operators of the first page of a PDF.
func operators(t *testing.T, pdf []byte) map[string]int {
	t.Helper()
	for _, m := range regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`).FindAllSubmatch(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		text, err := io.ReadAll(r)
		if err != nil || !bytes.Contains(text, []byte(" Tf ")) {
			continue
		}
		// Texts hold 16-bit characters: take them out with their operator.
		out := map[string]int{}
		shows := regexp.MustCompile(`(?s)\((?:\\.|[^\\()])*\) ?Tj`)
		out["Tj"] = len(shows.FindAll(text, -1))
		for _, word := range bytes.Fields(shows.ReplaceAll(text, nil)) {
			out[string(word)]++
		}
		return out
	}
	t.Fatal("no page in the PDF")
	return nil
}

// TestLabelIsTheSameAtEveryPosition: but for where it lies, and the dot that
// its code may move by, a label is the same drawing all over a page.
func TestLabelIsTheSameAtEveryPosition(t *testing.T) {
	for _, f := range Formats() {
		for _, l := range labelsFor(f)[:4] {
			first := drawn(t, f, l, 0)
			for _, position := range []int{f.PerPage() / 2, f.PerPage() - 1} {
				other := drawn(t, f, l, position)
				require.Equal(t, len(first.ops), len(other.ops), f.Key)
				for i, o := range first.ops {
					a, isText := o.(textOp)
					b, _ := other.ops[i].(textOp)
					if isText {
						assert.Equal(t, a.text, b.text, "%s at %d", f.Key, position)
						assert.InDelta(t, a.pt, b.pt, 1e-9)
					}
				}
			}
		}
	}
}

// TestPreviewLooksLikeThePDF draws both, the preview with a browser and the PDF
// with poppler, at 300 dots to the inch and compares how dark they are in every
// square millimetre.
func TestPreviewLooksLikeThePDF(t *testing.T) {
	const dpi = 300
	keys := []string{"letter-3x10", "a4-tag-3x2"}
	if fullRun() {
		keys = append(keys, "roll-38x18", "roll-100x50", "roll-102x152")
	}
	for _, key := range keys {
		f, err := FormatByKey(key)
		require.NoError(t, err)
		l := fullLabels()[1]
		text, err := LabelSVG(f, l)
		require.NoError(t, err)
		// The page of a roll is the label; the edge is the preview's alone.
		text = regexp.MustCompile(`<(rect class="edge"|circle class="hole")[^>]*/>`).ReplaceAllString(text, "")
		var pdf bytes.Buffer
		require.NoError(t, WriteLabels(&pdf, f, 1, []Label{l}))
		g := f.lay(Adjust{})
		in := g.content(0)
		page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
		a, whole := crop(page, in, dpi), photographed(t, text, g, dpi)
		b := crop(whole, area{in.x0 - g.label(0).x0, in.y0 - g.label(0).y0, in.x1 - g.label(0).x0, in.y1 - g.label(0).y0}, dpi)
		worst, mean := compare(a, b, dpi)
		t.Logf("%s: of 255, the worst square differs by %.0f, the mean by %.1f", key, worst, mean)
		assert.Less(t, worst, 70.0, "%s: a square millimetre looks different", key)
		assert.Less(t, mean, 6.0, key)
	}
}

// photographed draws a preview with a browser.
func photographed(t *testing.T, svg string, g geometry, dpi int) *image.Gray {
	t.Helper()
	dir := t.TempDir()
	html, shot := filepath.Join(dir, "label.html"), filepath.Join(dir, "label.png")
	require.NoError(t, os.WriteFile(html, []byte(`<!doctype html><style>body{margin:0;background:#fff}svg{display:block}</style>`+svg), 0o600))
	w, h := int(g.labelW/25.4*96)+2, int(g.labelH/25.4*96)+2
	cmd := exec.Command(tool(t, "chromium"), "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--user-data-dir="+filepath.Join(dir, "profile"),
		"--force-device-scale-factor="+number(float64(dpi)/96), "--window-size="+number(float64(max(w, 500)))+","+number(float64(max(h, 200))), "--screenshot="+shot, "file://"+html)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s", out)
	file, err := os.Open(shot)
	require.NoError(t, err)
	defer file.Close()
	img, err := png.Decode(file)
	require.NoError(t, err)
	gray := image.NewGray(img.Bounds())
	for y := range gray.Rect.Dy() {
		for x := range gray.Rect.Dx() {
			gray.Set(x, y, img.At(x, y))
		}
	}
	return gray
}

// compare gives the largest and the mean difference in darkness over squares
// of a millimetre.
func compare(a, b *image.Gray, dpi int) (worst, mean float64) {
	cell, n := dpi*10/254, 0
	dark := func(img *image.Gray, x0, y0 int) float64 {
		sum := 0
		for y := range cell {
			for x := range cell {
				sum += int(img.GrayAt(img.Rect.Min.X+x0+x, img.Rect.Min.Y+y0+y).Y)
			}
		}
		return float64(sum) / float64(cell*cell)
	}
	for y := 0; y+cell <= min(a.Rect.Dy(), b.Rect.Dy()); y += cell {
		for x := 0; x+cell <= min(a.Rect.Dx(), b.Rect.Dx()); x += cell {
			off := dark(a, x, y) - dark(b, x, y)
			worst, mean, n = max(worst, off, -off), mean+max(off, -off), n+1
		}
	}
	return worst, mean / float64(max(1, n))
}

func TestPreviewRefuses(t *testing.T) {
	_, err := LabelSVG(Format{}, stile(1))
	assert.Error(t, err)
	_, err = LabelSVG(Formats()[0], Label{Mark: "1A5K"})
	assert.Error(t, err)
}

// TestPreviewIsTheSameBytes and says in words what it shows, with what a person
// wrote kept from being markup.
func TestPreviewIsTheSameBytes(t *testing.T) {
	l := fullLabels()[0]
	l.Name = `Stile <left> & "right"`
	a, err := LabelSVG(Formats()[0], l)
	require.NoError(t, err)
	b, err := LabelSVG(Formats()[0], l)
	require.NoError(t, err)
	assert.Equal(t, a, b)
	assert.Contains(t, a, `aria-label="Label 1A00K, Stile &lt;left&gt; &amp; &#34;right&#34;`)
	assert.NotContains(t, a, "<left>")
}
