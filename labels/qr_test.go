package labels

import (
	"encoding/csv"
	"encoding/xml"
	"image"
	"image/color"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	zxing "github.com/makiuchi-d/gozxing/qrcode"
	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// capacity is one line of the standard's table.
type capacity struct {
	version, modules       int
	level                  qrcode.RecoveryLevel
	numeric, alnum, octets int
}

// capacities reads the published table (its source stands in its first line).
func capacities(t *testing.T) []capacity {
	t.Helper()
	file, err := os.Open("../testdata/labels/qr_capacity.csv")
	require.NoError(t, err)
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	byName := map[string]qrcode.RecoveryLevel{"L": qrcode.Low, "M": qrcode.Medium, "Q": qrcode.High, "H": qrcode.Highest}
	var out []capacity
	for _, l := range lines[1:] {
		n := func(i int) int {
			v, err := strconv.Atoi(l[i])
			require.NoError(t, err)
			return v
		}
		out = append(out, capacity{version: n(0), level: byName[l[1]], modules: n(2), numeric: n(3), alnum: n(4), octets: n(5)})
	}
	require.Len(t, out, 40, "10 versions of 4 levels")
	return out
}

func TestCapacityIsThePublishedOne(t *testing.T) {
	for _, c := range capacities(t) {
		for _, tt := range []struct {
			char string
			most int
		}{{"7", c.numeric}, {"K", c.alnum}, {"k", c.octets}} {
			full, err := qrcode.New(strings.Repeat(tt.char, tt.most), c.level)
			require.NoError(t, err)
			over, err := qrcode.New(strings.Repeat(tt.char, tt.most+1), c.level)
			require.NoError(t, err)
			assert.Equal(t, c.version, full.VersionNumber, "version %d level %d %q", c.version, c.level, tt.char)
			assert.Equal(t, c.version+1, over.VersionNumber, "version %d level %d %q", c.version, c.level, tt.char)
			assert.Equal(t, c.modules, len(modulesOf(full)))
		}
	}
}

// TestLevelIsTheHighestThatFits works the choice out again from the published
// table alone: of the levels whose code fits the box with modules of at least
// 0.396 mm in whole dots of the printer, the highest.
func TestLevelIsTheHighestThatFits(t *testing.T) {
	table := capacities(t)
	// Dots of a module of 0.396 mm or more, worked out by hand: 25.4/203 is
	// 0.1251 mm, 25.4/300 is 0.0847 mm and 25.4/600 is 0.0423 mm.
	leastDots := map[int]int{203: 4, 300: 5, 600: 10}
	want := func(n int, box float64, p press) (level qrcode.RecoveryLevel, modules, dots int) {
		for _, level := range []qrcode.RecoveryLevel{qrcode.Highest, qrcode.High, qrcode.Medium, qrcode.Low} {
			for _, c := range table {
				if c.level != level || c.octets < n {
					continue
				}
				// Whole dots in the box, shared among the modules and the
				// quiet zones of 4 on both sides.
				dots := int(box*float64(p.dpi)/25.4+1e-6) / (c.modules + 8)
				if p.most > 0 {
					dots = min(dots, int(p.most*float64(p.dpi)/25.4+1e-6))
				}
				if dots >= leastDots[p.dpi] {
					return level, c.modules, dots
				}
				break // the next version is larger still
			}
		}
		return 0, 0, 0
	}
	for _, f := range Formats() {
		for _, dpi := range []int{203, 300, 600} {
			f.DPI = dpi
			g := f.lay(Adjust{})
			for n := 1; n <= 271; n++ {
				level, modules, dots := want(n, g.codeBox(), g.press())
				if n > 119 && g.codeBox() > 69*0.396 {
					break // version 11, beyond the table, would fit at level H
				}
				got, err := encode(strings.Repeat("k", n), g.codeBox(), g.press())
				if dots == 0 {
					require.Equal(t, "address-too-long", parts.CodeOf(err), "%s %d", f.Key, n)
					continue
				}
				require.NoError(t, err)
				require.Equal(t, []int{int(level), modules, dots}, []int{int(got.level), len(got.bits), got.dots}, "%s %d dpi %d", f.Key, dpi, n)
				require.LessOrEqual(t, got.side(), g.codeBox()+1e-9)
				require.GreaterOrEqual(t, got.module(), 0.396)
			}
		}
	}
}

// GS1 General Specifications 5.12.3.1 want modules of 0.396 mm or more at the
// point of sale. A code of an address as a shop is offered it stays at half a
// millimetre on every format, and on all but the edge labels at the level that
// survives most dirt.
func TestModulesOfOurAddresses(t *testing.T) {
	for _, f := range Formats() {
		for _, address := range []string{
			"http://192.168.1.20:8080/P/1A5K",
			"http://192.168.100.100:8080/P/2/1A5K",
			"http://192.168.100.100:8080/P/2/12A5KX",
		} {
			g := f.lay(Adjust{})
			c, err := encode(address, g.codeBox(), g.press())
			require.NoError(t, err, "%s %s", f.Key, address)
			assert.GreaterOrEqual(t, c.module(), 0.5, f.Key)
			if f.LabelH >= 20*parts.Millimetre {
				assert.GreaterOrEqual(t, c.level, qrcode.High, f.Key)
			}
			t.Logf("%s, %d characters: level %d, %d modules of %d dots, %.2f mm with quiet zone", f.Key, len(address), c.level, len(c.bits), c.dots, c.side())
		}
	}
}

// A shop is offered http://, a private address, the usual port, /P/ and a mark
// of four characters at first start. Such a code is version 2 at level M (ISO/
// IEC 18004: 25 modules), with the scheme in small letters and the rest in
// capitals and figures.
func TestOfferedAddressesAreVersion2(t *testing.T) {
	for _, address := range []string{"http://192.168.1.20:8080/P/1A5K", "http://10.0.0.7:8080/P/1A5K", "http://172.16.4.9:8080/P/1A5K"} {
		q, err := qrcode.New(address, qrcode.Medium)
		require.NoError(t, err)
		assert.Equal(t, 2, q.VersionNumber, address)
	}
}

// decode reads a picture of nothing but a code with the reference library:
// once looking for it as in a photograph, once taking it to fill the picture.
func decode(img image.Image) (text string, err error) {
	for _, hint := range []gozxing.DecodeHintType{gozxing.DecodeHintType_TRY_HARDER, gozxing.DecodeHintType_PURE_BARCODE} {
		var bitmap *gozxing.BinaryBitmap
		if bitmap, err = gozxing.NewBinaryBitmapFromImage(img); err != nil {
			return "", err
		}
		var result *gozxing.Result
		if result, err = zxing.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{hint: true}); err == nil {
			return result.GetText(), nil
		}
	}
	return "", err
}

// picture turns modules, quiet zone included, into an image of 4 pixels each.
func picture(side int, dark func(x, y int) bool) image.Image {
	const px = 4
	img := image.NewGray(image.Rect(0, 0, side*px, side*px))
	for y := range side * px {
		for x := range side * px {
			if !dark(x/px, y/px) {
				img.SetGray(x, y, color.Gray{Y: 255})
			}
		}
	}
	return img
}

func TestSVG(t *testing.T) {
	const address = "http://192.168.1.20:8080/P/1A5K"
	text, err := SVG(address)
	require.NoError(t, err)
	var svg struct {
		ViewBox string `xml:"viewBox,attr"`
		Paths   []struct {
			D string `xml:"d,attr"`
		} `xml:"path"`
	}
	require.NoError(t, xml.Unmarshal([]byte(text), &svg))
	require.Len(t, svg.Paths, 1)
	side, err := strconv.Atoi(strings.Fields(svg.ViewBox)[2])
	require.NoError(t, err)
	dark := fillPath(t, svg.Paths[0].D, side)
	got, err := decode(picture(side, func(x, y int) bool { return dark[y][x] }))
	require.NoError(t, err)
	assert.Equal(t, address, got)
	for i := range side {
		for _, q := range []int{0, 1, 2, 3, side - 4, side - 1} {
			assert.False(t, dark[q][i] || dark[i][q], "quiet zone")
		}
	}
}

// fillPath fills path data of whole moves, even-odd, by counting for each cell
// the upright edges to its left.
func fillPath(t *testing.T, d string, side int) [][]bool {
	t.Helper()
	dark := make([][]bool, side)
	for y := range dark {
		dark[y] = make([]bool, side)
	}
	var x, y, x0, y0 int
	upright := func(to int) {
		for row := min(y, to); row < max(y, to); row++ {
			for col := x; col < side; col++ {
				dark[row][col] = !dark[row][col]
			}
		}
		y = to
	}
	for _, m := range regexp.MustCompile(`([Mhvz])(-?\d+)?(?: (-?\d+))?`).FindAllStringSubmatch(d, -1) {
		a, _ := strconv.Atoi(m[2])
		b, _ := strconv.Atoi(m[3])
		switch m[1] {
		case "M":
			x, y, x0, y0 = a, b, a, b
		case "h":
			x += a
		case "v":
			upright(y + a)
		case "z":
			upright(y0)
			x = x0
		}
	}
	return dark
}

// A terminal that writes light on dark shows a block as light.
func TestTerminal(t *testing.T) {
	const address = "http://192.168.1.20:8080/P/1A5K"
	text, err := Terminal(address)
	require.NoError(t, err)
	rows := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
	require.LessOrEqual(t, len(rows), 24)
	cells := make([][]rune, len(rows))
	for i, r := range rows {
		cells[i] = []rune(r)
	}
	side := len(cells[0])
	got, err := decode(picture(side, func(x, y int) bool {
		switch cells[y/2][x] {
		case '█':
			return false
		case '▀':
			return y%2 == 1
		case '▄':
			return y%2 == 0
		}
		return true
	}))
	require.NoError(t, err)
	assert.Equal(t, address, got)
}

func TestScreenCodesRefuse(t *testing.T) {
	for _, draw := range []func(string) (string, error){SVG, Terminal} {
		_, err := draw("")
		assert.Equal(t, "address-empty", parts.CodeOf(err))
		_, err = draw(strings.Repeat("k", 3000))
		assert.Equal(t, "address-too-long", parts.CodeOf(err))
	}
}

// TestShapesAreTheModules checks both ways of drawing a code against its
// modules. Of outlines it counts edges from the left: an odd number of them
// before every dark module, an even number before every light one.
func TestShapesAreTheModules(t *testing.T) {
	for _, text := range []string{"K", "http://192.168.1.20:8080/P/1A5K", strings.Repeat("k", 200)} {
		c, err := encode(text, 100, pagePress)
		require.NoError(t, err)
		n := len(c.bits)
		crossed := make([][]bool, n)
		for y := range crossed {
			crossed[y] = make([]bool, n)
		}
		for _, loop := range outlines(c.bits) {
			for i, a := range loop {
				b := loop[(i+1)%len(loop)]
				require.True(t, (a.x == b.x) != (a.y == b.y), "edges are upright or level")
				for y := min(a.y, b.y); y < max(a.y, b.y); y++ {
					for x := a.x; x < n; x++ {
						crossed[y][x] = !crossed[y][x]
					}
				}
			}
		}
		require.Equal(t, c.bits, crossed)

		covered := make([][]bool, n)
		for y := range covered {
			covered[y] = make([]bool, n)
		}
		for _, b := range blocks(c.bits) {
			for y := b.y; y < b.y+b.h; y++ {
				for x := b.x; x < b.x+b.w; x++ {
					require.False(t, covered[y][x], "blocks overlap")
					covered[y][x] = true
				}
			}
		}
		require.Equal(t, c.bits, covered)
	}
}
