package labels

import (
	"fmt"
	"math"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"unicode/utf8"

	"github.com/skip2/go-qrcode"

	"benchtally/parts"
)

// How a code is laid on paper. A module is a whole number of the printer's
// dots, or its modules come out uneven, and never narrower than leastModule:
// the least that GS1 General Specifications 5.12.3.1 allow a code that is read
// from the hand (0.396 mm), which is 4 dots of 203 to the inch, 5 of 300 and 10
// of 600. Measured with phone pictures, such modules read from 15 cm in every
// picture of 1280 x 720 dots, and modules of 3 dots of 203 in none.
const (
	quiet       = 4 // modules kept free all round, ISO/IEC 18004
	leastModule = 0.396
	// usualModules is the side, quiet zone included, of the code of a usual
	// address: version 2.
	usualModules = 25 + 2*quiet
	// fine is the number of parts of a dot a code is drawn in. Edges are taken
	// in by one part: printers blacken each dot that an edge so much as
	// touches, and a white module would lose too many.
	fine = 5
)

// levels are tried from the sturdiest down: 30, 25, 15 and 7 % of the code may
// be dirty. The library calls level Q High and level H Highest.
var levels = []qrcode.RecoveryLevel{qrcode.Highest, qrcode.High, qrcode.Medium, qrcode.Low}

// press is what a code is drawn for: the dots to the inch of the printer, and
// the width in millimetres that a module need not exceed; zero for any.
type press struct {
	dpi  int
	most float64
}

// pagePress is a page printer.
var pagePress = press{dpi: pageDPI}

// dot is the width of a dot in millimetres.
func (p press) dot() float64 { return inch / float64(p.dpi) }

// leastDots is the number of dots of the narrowest module, least its width.
func (p press) leastDots() int { return int(math.Ceil(leastModule/p.dot() - 1e-9)) }
func (p press) least() float64 { return float64(p.leastDots()) * p.dot() }

// dots is the number of dots for each of the modules of a code in a box.
func (p press) dots(box float64, modules int) int {
	// A hair of slack: the box is often computed to be a whole fit.
	dots := int(box/(float64(modules)*p.dot()) + 1e-6)
	if p.most > 0 {
		dots = min(dots, max(p.leastDots(), int(p.most/p.dot()+1e-6)))
	}
	return dots
}

// code is one QR code and the dots a module of it has on paper.
type code struct {
	bits  [][]bool // rows of modules without the quiet zone
	dots  int
	dot   float64 // width of a dot in millimetres
	level qrcode.RecoveryLevel
}

// module is the width of one module in millimetres.
func (c code) module() float64 { return float64(c.dots) * c.dot }

// dark is the side of the code without, side that with the quiet zone, in
// millimetres; margin is the quiet zone on one side.
func (c code) dark() float64   { return float64(len(c.bits)) * c.module() }
func (c code) margin() float64 { return quiet * c.module() }
func (c code) side() float64   { return c.dark() + 2*c.margin() }

// snap moves a length to the printer's dots.
func (c code) snap(x float64) float64 { return snap(x, c.dot) }

// encode makes the code of text that fits a square of box millimetres, quiet
// zone included: the sturdiest level whose modules are still good to read.
func encode(text string, box float64, p press) (code, error) {
	if text == "" {
		return code{}, addressEmpty()
	}
	for _, level := range levels {
		q, err := qrcode.New(text, level)
		if err != nil {
			continue // too long for any version at this level
		}
		if dots := p.dots(box, 17+4*q.VersionNumber+2*quiet); dots >= p.leastDots() {
			return code{bits: modulesOf(q), dots: dots, dot: p.dot(), level: level}, nil
		}
	}
	return code{}, addressTooLong(text)
}

// modulesOf gives the modules without border. DisableBorder is ignored once the
// symbol has been built, so it comes first.
func modulesOf(q *qrcode.QRCode) [][]bool {
	q.DisableBorder = true
	return q.Bitmap()
}

func addressEmpty() error {
	return parts.Problemf(parts.Invalid, "address-empty", "A code needs an address to hold.").
		Next("Set the server's address and print again.")
}

func addressTooLong(text string) error {
	return parts.Problemf(parts.Invalid, "address-too-long",
		"An address of %d characters makes a code too fine to scan in this space.", utf8.RuneCountInString(text)).
		Next("Give the server a shorter address, or print on larger labels.")
}

// encodeAll makes the codes of all texts, in their order, on all cores: an
// encoding costs more than everything else on a label together. The error is
// that of the first text that has one.
func encodeAll(texts []string, box float64, p press) ([]code, error) {
	codes, errs := make([]code, len(texts)), make([]error, len(texts))
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(texts)) {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(texts); i = int(next.Add(1)) - 1 {
				codes[i], errs[i] = encode(texts[i], box, p)
			}
		})
	}
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return codes, nil
}

// SVG draws text as a QR code for a web page: one svg with a single path, its
// viewBox in modules, the quiet zone of 4 kept free inside it. The page must
// lay it on white, whatever its own colours are.
func SVG(text string) (string, error) {
	modules, err := onScreen(text, qrcode.Medium)
	if err != nil {
		return "", err
	}
	return svgOf(modules), nil
}

func svgOf(modules [][]bool) string {
	var path []byte
	for _, loop := range outlines(modules) {
		path = fmt.Appendf(path, "M%d %d", loop[0].x+quiet, loop[0].y+quiet)
		for i := 1; i < len(loop); i++ {
			if loop[i].y == loop[i-1].y {
				path = fmt.Appendf(path, "h%d", loop[i].x-loop[i-1].x)
			} else {
				path = fmt.Appendf(path, "v%d", loop[i].y-loop[i-1].y)
			}
		}
		path = append(path, 'z')
	}
	side := len(modules) + 2*quiet
	return fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" class="qr" viewBox="0 0 %d %d" role="img" aria-label="QR code" shape-rendering="crispEdges"><path fill="#000" fill-rule="evenodd" d="%s"/></svg>`,
		side, side, path)
}

// Terminal draws text as a QR code in half-block characters with its quiet
// zone. Light modules are the ones written, so that it is dark on light where
// a terminal writes light on dark.
func Terminal(text string) (string, error) {
	// A screen is clean: the lowest level keeps the code within 24 rows.
	modules, err := onScreen(text, qrcode.Low)
	if err != nil {
		return "", err
	}
	light := func(x, y int) bool {
		x, y = x-quiet, y-quiet
		inside := x >= 0 && y >= 0 && x < len(modules) && y < len(modules)
		return !inside || !modules[y][x]
	}
	// The side is odd, so the last row of characters has a free lower half.
	side := len(modules) + 2*quiet
	blocks := map[[2]bool]string{{true, true}: "█", {true, false}: "▀", {false, true}: "▄", {false, false}: " "}
	var out strings.Builder
	for y := 0; y < side; y += 2 {
		for x := range side {
			out.WriteString(blocks[[2]bool{light(x, y), y+1 < side && light(x, y+1)}])
		}
		out.WriteByte('\n')
	}
	return out.String(), nil
}

// onScreen gives the modules of text at a level.
func onScreen(text string, level qrcode.RecoveryLevel) ([][]bool, error) {
	if text == "" {
		return nil, addressEmpty()
	}
	q, err := qrcode.New(text, level)
	if err != nil {
		return nil, addressTooLong(text)
	}
	return modulesOf(q), nil
}

// rectangles gives the dark part of the code in parts of a dot, x, y, width
// and height each: whole numbers, so that one transformation keeps all edges on
// the printer's dots. Edges are taken in wherever that opens no gap to a
// neighbour.
func (c code) rectangles() [][4]int {
	unit := c.dots * fine // of a module
	list := blocks(c.bits)
	out := make([][4]int, len(list))
	for i, b := range list {
		top, foot := b.y*unit, (b.y+b.h)*unit
		if b.freeTop {
			top++
		}
		if b.freeFoot {
			foot--
		}
		out[i] = [4]int{b.x*unit + 1, top, b.w*unit - 2, foot - top}
	}
	return out
}

// appendInts writes whole numbers and the operator that takes them.
func appendInts(out []byte, op string, numbers ...int) []byte {
	for _, n := range numbers {
		out = append(strconv.AppendInt(out, int64(n), 10), ' ')
	}
	return append(out, op...)
}
