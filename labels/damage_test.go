package labels

import (
	"bytes"
	"fmt"
	"image"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"github.com/skip2/go-qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// These tests spoil printed codes as a shop does and see what still reads. The
// damage is drawn here, by size on the label, so that it is the same whatever
// the printer's dots.

// judged is what both decoders made of pictures of one sort.
type judged struct{ tried, zbar, gozxing, either int }

func (j *judged) add(o judged) {
	j.tried, j.zbar, j.gozxing, j.either = j.tried+o.tried, j.zbar+o.zbar, j.gozxing+o.gozxing, j.either+o.either
}

// judge reads pictures that all hold their text.
func judge(t *testing.T, imgs []*image.Gray, texts []string) []judged {
	t.Helper()
	out := make([]judged, len(imgs))
	for i, got := range zbar(t, imgs) {
		other, err := decode(imgs[i])
		a, b := got == texts[i], err == nil && other == texts[i]
		assert.True(t, a || got == "" || strings.Contains(got, texts[i]), "zbarimg read something else: %q", got)
		assert.True(t, err != nil || b, "gozxing read something else: %q", other)
		out[i].tried = 1
		for _, n := range []struct {
			ok    bool
			count *int
		}{{a, &out[i].zbar}, {b, &out[i].gozxing}, {a || b, &out[i].either}} {
			if n.ok {
				*n.count = 1
			}
		}
	}
	return out
}

// fullRun tells whether everything is to be tried instead of a part that is
// quick: BENCHTALLY_TEST_DAMAGE=full.
func fullRun() bool { return os.Getenv("BENCHTALLY_TEST_DAMAGE") == "full" }

// spoiled prints one label of a format, looks at it with so many dots to the
// inch, and spoils it in every way and by every seed.
func spoiled(t *testing.T, f Format, dpi, seeds int) (imgs []*image.Gray, texts, ways []string) {
	t.Helper()
	var pdf bytes.Buffer
	l := fullLabels()[0]
	require.NoError(t, WriteLabels(&pdf, f, 1, []Label{l}))
	page := pages(t, pdf.Bytes(), printing{dpi, false})[0]
	s := labelSpots(t, f, 1, []Label{l})[0]
	side := s.code.width() - 2*s.quiet
	for _, way := range spoils {
		for seed := range seeds {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(len(imgs))))
			imgs = append(imgs, way.apply(crop(page, s.code, dpi), float64(dpi)/25.4, side, r))
			texts, ways = append(texts, l.Address), append(ways, way.name)
		}
	}
	return imgs, texts, ways
}

// TestSpoiledLabelsScan: on every format a label that is blurred, pale, held
// askew, dusty, torn or scratched is read by at least one of two decoders that
// share no code, and hardly ever by neither.
func TestSpoiledLabelsScan(t *testing.T) {
	formats, dpis, seeds := []string{"letter-3x10", "roll-38x18", "roll-57x32", "a4-tag-3x2"}, []int{203}, 4
	if fullRun() {
		formats, dpis, seeds = nil, []int{203, 300, 600}, 4
		for _, f := range Formats() {
			formats = append(formats, f.Key)
		}
	}
	total, byWay := judged{}, map[string]*judged{}
	for _, key := range formats {
		f, err := FormatByKey(key)
		require.NoError(t, err)
		for _, dpi := range dpis {
			imgs, texts, ways := spoiled(t, f, dpi, seeds)
			sum := judged{}
			for i, j := range judge(t, imgs, texts) {
				if byWay[ways[i]] == nil {
					byWay[ways[i]] = &judged{}
				}
				byWay[ways[i]].add(j)
				sum.add(j)
				if j.either == 0 {
					t.Logf("%s at %d dpi, %s: nobody reads it", key, dpi, ways[i])
				}
			}
			total.add(sum)
			t.Logf("%-15s %d dpi: zbarimg %d, gozxing %d, either %d of %d", key, dpi, sum.zbar, sum.gozxing, sum.either, sum.tried)
		}
	}
	for _, way := range spoils {
		j := byWay[way.name]
		t.Logf("%-15s zbarimg %d, gozxing %d, either %d of %d", way.name, j.zbar, j.gozxing, j.either, j.tried)
	}
	assert.Equal(t, byWay["as printed"].tried, byWay["as printed"].zbar, "clean labels read")
	assert.Equal(t, byWay["as printed"].tried, byWay["as printed"].gozxing, "clean labels read")
	for _, way := range spoils {
		j := byWay[way.name]
		assert.GreaterOrEqual(t, j.either*100, j.tried*85, way.name)
	}
	assert.GreaterOrEqual(t, total.either*100, total.tried*97, "all in all")
}

// TestModuleAndLevel counts what reads by the width of a module and the level,
// for the choice of both: the table of the full run. Modules as wide as codes
// are drawn at least read at every level but the lowest.
func TestModuleAndLevel(t *testing.T) {
	if !fullRun() {
		t.Skip("the full run only")
	}
	const address = "http://192.168.1.20:8080/P/1A5K"
	rates, byWay, modules := map[string]*judged{}, map[string][]int{}, map[string]float64{}
	var keys []string
	for _, dpi := range []int{203, 300, 600} {
		for _, dots := range map[int][]int{203: {2, 3, 4, 5}, 300: {3, 4, 5, 6}, 600: {6, 8, 10, 12}}[dpi] {
			for i, level := range []qrcode.RecoveryLevel{qrcode.Low, qrcode.Medium, qrcode.High, qrcode.Highest} {
				q, err := qrcode.New(address, level)
				require.NoError(t, err)
				c := code{bits: modulesOf(q), dots: dots, dot: press{dpi: dpi}.dot(), level: level}
				key := fmt.Sprintf("%3d dpi, %2d dots, %.3f mm, level %s", dpi, dots, c.module(), []string{"L", "M", "Q", "H"}[i])
				keys, rates[key], modules[key] = append(keys, key), &judged{}, c.module()
				byWay[key] = make([]int, len(spoils))
				for n, j := range judgeCode(t, c, dpi, address) {
					rates[key].add(j)
					byWay[key][n/levelSeeds] += j.either * 100
				}
			}
		}
	}
	for _, key := range keys {
		j := rates[key]
		for i := range spoils {
			byWay[key][i] /= levelSeeds
		}
		t.Logf("%s: zbarimg %3d %%, gozxing %3d %%, either %3d %% of %d; either by damage %v", key, j.zbar*100/j.tried, j.gozxing*100/j.tried, j.either*100/j.tried, j.tried, byWay[key])
		if modules[key] >= leastModule && !strings.HasSuffix(key, "L") {
			assert.GreaterOrEqual(t, j.either*100, j.tried*95, key)
		}
	}
}

// levelSeeds is how often each code is spoiled in every way.
const levelSeeds = 16

// judgeCode prints one code and spoils it in every way.
func judgeCode(t *testing.T, c code, dpi int, text string) []judged {
	t.Helper()
	p := newPaper(60, 60, "")
	p.page()
	d := &drawing{}
	x := c.snap(10)
	d.code(c, x, x)
	p.draw(d)
	var pdf bytes.Buffer
	require.NoError(t, p.finish(&pdf))
	page := pages(t, pdf.Bytes(), printing{dpi, true})[0]
	m := c.margin()
	var imgs []*image.Gray
	var texts []string
	for _, way := range spoils {
		for seed := range levelSeeds {
			r := rand.New(rand.NewPCG(uint64(seed), 7))
			imgs = append(imgs, way.apply(crop(page, area{x - m, x - m, x + c.dark() + m, x + c.dark() + m}, dpi), float64(dpi)/25.4, c.dark(), r))
			texts = append(texts, text)
		}
	}
	return judge(t, imgs, texts)
}
