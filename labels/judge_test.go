package labels

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"fmt"
	"image"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// tool gives the path of a program. A test without it is skipped, unless
// everything must be tested.
func tool(t *testing.T, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("BENCHTALLY_TEST_ALL") != "" {
			t.Fatalf("%s is not installed", name)
		}
		t.Skipf("%s is not installed", name)
	}
	return path
}

// printing is a way a printer or a screen turns the page into dots.
type printing struct {
	dpi  int
	mono bool // every dot is black or white, as on a label printer
}

func (p printing) String() string {
	if p.mono {
		return fmt.Sprintf("%d dpi black and white", p.dpi)
	}
	return fmt.Sprintf("%d dpi", p.dpi)
}

// printings are the dots of common label printers, and the smoothed grey of a
// screen.
var printings = []printing{{203, false}, {300, false}, {203, true}, {300, true}}

// pages draws all pages of a PDF.
func pages(t *testing.T, pdf []byte, how printing) []*image.Gray {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "in.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	mode := "-gray"
	if how.mono {
		mode = "-mono"
	}
	out, err := exec.Command(tool(t, "pdftoppm"), "-r", fmt.Sprint(how.dpi), mode, file, filepath.Join(dir, "page")).CombinedOutput()
	require.NoError(t, err, "%s", out)
	require.Empty(t, string(out), "the PDF is well formed")
	names, err := filepath.Glob(filepath.Join(dir, "page-*"))
	require.NoError(t, err)
	var imgs []*image.Gray
	for _, name := range names {
		imgs = append(imgs, readPNM(t, name))
	}
	return imgs
}

// readPNM reads the two formats pdftoppm writes: grey P5 and bits P4.
func readPNM(t *testing.T, name string) *image.Gray {
	t.Helper()
	data, err := os.ReadFile(name)
	require.NoError(t, err)
	r := bufio.NewReader(bytes.NewReader(data))
	var magic string
	var w, h, most int
	_, err = fmt.Fscan(r, &magic, &w, &h)
	require.NoError(t, err)
	if magic == "P5" {
		_, err = fmt.Fscan(r, &most)
		require.NoError(t, err)
	}
	_, err = r.ReadByte() // one white space ends the header
	require.NoError(t, err)
	img := image.NewGray(image.Rect(0, 0, w, h))
	if magic == "P5" {
		_, err = io.ReadFull(r, img.Pix)
		require.NoError(t, err)
		return img
	}
	line := make([]byte, (w+7)/8)
	for y := range h {
		_, err = io.ReadFull(r, line)
		require.NoError(t, err)
		for x := range w {
			if line[x/8]&(0x80>>(x%8)) == 0 {
				img.Pix[y*img.Stride+x] = 255
			}
		}
	}
	return img
}

// crop cuts an area in millimetres out of a page.
func crop(page *image.Gray, a area, dpi int) *image.Gray {
	px := func(mm float64) int { return int(mm*float64(dpi)/25.4 + 0.5) }
	return page.SubImage(image.Rect(px(a.x0), px(a.y0), px(a.x1), px(a.y1))).(*image.Gray)
}

// zbar reads all pictures with zbarimg and gives what each holds.
func zbar(t *testing.T, imgs []*image.Gray) []string {
	t.Helper()
	dir := t.TempDir()
	args := []string{"-q", "--xml", "-Sdisable", "-Sqrcode.enable"}
	for i, img := range imgs {
		b := img.Bounds()
		data := fmt.Appendf(nil, "P5\n%d %d\n255\n", b.Dx(), b.Dy())
		for y := b.Min.Y; y < b.Max.Y; y++ {
			data = append(data, img.Pix[img.PixOffset(b.Min.X, y):][:b.Dx()]...)
		}
		name := filepath.Join(dir, fmt.Sprintf("%d.pgm", i))
		require.NoError(t, os.WriteFile(name, data, 0o600))
		args = append(args, name)
	}
	out, err := exec.Command(tool(t, "zbarimg"), args...).Output()
	if exit, ok := err.(*exec.ExitError); err != nil && (!ok || exit.ExitCode() != 4) { // 4: some picture held none
		t.Fatal(err)
	}
	var found struct {
		Source []struct {
			Href  string   `xml:"href,attr"`
			Codes []string `xml:"index>symbol>data"`
		} `xml:"source"`
	}
	require.NoError(t, xml.Unmarshal(out, &found), "%s", out)
	texts := make([]string, len(imgs))
	for _, s := range found.Source {
		var i int
		_, err := fmt.Sscanf(filepath.Base(s.Href), "%d.pgm", &i)
		require.NoError(t, err)
		texts[i] = strings.Join(s.Codes, " | ")
	}
	return texts
}

// word is a word of a page where pdftotext finds it, in millimetres.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// ink is where the capitals of a word are. A word's box is higher than its
// letters: the face rises 0.928 of its size above the baseline and falls 0.236
// below it.
func (w word) ink() area {
	size := (w.YMax - w.YMin) / 1.164
	base := w.YMin + 0.928*size
	return area{w.XMin + 0.2, base - 0.72*size, w.XMax - 0.2, base}
}

// over tells whether capitals of two words lie on each other.
func (w word) over(other word) bool {
	a, b := w.ink(), other.ink()
	return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1
}

// words reads all words of a PDF, page by page.
func words(t *testing.T, pdf []byte) [][]word {
	t.Helper()
	cmd := exec.Command(tool(t, "pdftotext"), "-bbox", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	var doc struct {
		Pages []struct {
			Words []word `xml:"word"`
		} `xml:"body>doc>page"`
	}
	require.NoError(t, xml.Unmarshal(out, &doc))
	var all [][]word
	for _, p := range doc.Pages {
		for i := range p.Words {
			w := &p.Words[i]
			w.XMin, w.YMin, w.XMax, w.YMax = w.XMin*mm, w.YMin*mm, w.XMax*mm, w.YMax*mm
		}
		all = append(all, p.Words)
	}
	return all
}

// inkAt finds the first dot of a picture that is not white.
func inkAt(img *image.Gray) (x, y int, found bool) {
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if img.GrayAt(x, y).Y < 250 {
				return x, y, true
			}
		}
	}
	return 0, 0, false
}

// pageBoxes reads the width and height of each page in points.
func pageBoxes(t *testing.T, pdf []byte) [][2]float64 {
	t.Helper()
	cmd := exec.Command(tool(t, "pdftotext"), "-bbox", "-", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	require.NoError(t, err)
	var doc struct {
		Pages []struct {
			W float64 `xml:"width,attr"`
			H float64 `xml:"height,attr"`
		} `xml:"body>doc>page"`
	}
	require.NoError(t, xml.Unmarshal(out, &doc))
	var all [][2]float64
	for _, p := range doc.Pages {
		all = append(all, [2]float64{p.W, p.H})
	}
	return all
}
