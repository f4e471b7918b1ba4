package labels

import (
	"encoding/binary"
	"strconv"
	"sync"
)

// glyphs gives the outlines of a TrueType font's characters as path data in
// the font's units, y down, for a preview that needs no installed font. It
// reads simple and composed outlines (OpenType tables "glyf" and "loca").
type glyphs struct {
	file       []byte
	glyf       int
	offsets    []int
	of         map[rune]int
	unitsPerEm int
}

func readGlyphs(file []byte) *glyphs {
	tables := tablesOf(file)
	g := &glyphs{file: file, glyf: tables["glyf"], of: map[rune]int{}}
	g.unitsPerEm = g.at(tables["head"] + 18)
	count, loca, wide := g.at(tables["maxp"]+4), tables["loca"], g.at(tables["head"]+50) == 1
	for i := range count + 1 {
		if wide {
			g.offsets = append(g.offsets, int(binary.BigEndian.Uint32(file[loca+4*i:])))
		} else {
			g.offsets = append(g.offsets, 2*g.at(loca+2*i))
		}
	}
	eachGlyph(file, tables["cmap"], func(r, glyph int) { g.of[rune(r)] = glyph })
	return g
}

func (g *glyphs) at(pos int) int     { return int(binary.BigEndian.Uint16(g.file[pos:])) }
func (g *glyphs) signed(pos int) int { return int(int16(binary.BigEndian.Uint16(g.file[pos:]))) }

// dotOn is a point of an outline; one that is off the curve bends it.
type dotOn struct {
	x, y int
	on   bool
}

// contours gives the closed outlines of a glyph.
func (g *glyphs) contours(glyph, depth int) [][]dotOn {
	if glyph+1 >= len(g.offsets) || g.offsets[glyph] == g.offsets[glyph+1] || depth > 4 {
		return nil
	}
	pos := g.glyf + g.offsets[glyph]
	if n := g.signed(pos); n >= 0 {
		return g.simple(pos+10, n)
	}
	return g.composed(pos+10, depth)
}

// simple reads the outlines of a glyph that is no composition.
func (g *glyphs) simple(pos, contours int) [][]dotOn {
	ends := make([]int, contours)
	for i := range ends {
		ends[i] = g.at(pos + 2*i)
	}
	pos += 2 * contours
	pos += 2 + g.at(pos) // the hinting
	if contours == 0 {
		return nil
	}
	flags := make([]byte, 0, ends[contours-1]+1)
	for len(flags) < cap(flags) {
		f := g.file[pos]
		flags, pos = append(flags, f), pos+1
		if f&8 != 0 {
			for range g.file[pos] {
				flags = append(flags, f)
			}
			pos++
		}
	}
	xs, pos := g.coordinates(flags, pos, 2, 16)
	ys, _ := g.coordinates(flags, pos, 4, 32)
	out, from := make([][]dotOn, contours), 0
	for c, end := range ends {
		for i := from; i <= end; i++ {
			out[c] = append(out[c], dotOn{xs[i], ys[i], flags[i]&1 != 0})
		}
		from = end + 1
	}
	return out
}

// coordinates reads one coordinate of all points. The flag brief says that a
// step is one byte, whose sign is the flag same; without brief, same means that
// there is no step.
func (g *glyphs) coordinates(flags []byte, pos int, brief, same byte) ([]int, int) {
	out, v := make([]int, len(flags)), 0
	for i, f := range flags {
		switch {
		case f&brief != 0 && f&same != 0:
			v, pos = v+int(g.file[pos]), pos+1
		case f&brief != 0:
			v, pos = v-int(g.file[pos]), pos+1
		case f&same == 0:
			v, pos = v+g.signed(pos), pos+2
		}
		out[i] = v
	}
	return out, pos
}

// composed reads a glyph made of others, such as a letter with its accent.
func (g *glyphs) composed(pos, depth int) [][]dotOn {
	var out [][]dotOn
	for more := true; more; {
		flags, glyph := g.at(pos), g.at(pos+2)
		pos += 4
		var dx, dy int
		if flags&1 != 0 {
			dx, dy, pos = g.signed(pos), g.signed(pos+2), pos+4
		} else {
			dx, dy, pos = int(int8(g.file[pos])), int(int8(g.file[pos+1])), pos+2
		}
		m := [4]int{1 << 14, 0, 0, 1 << 14} // in 16384ths
		switch {
		case flags&8 != 0:
			m[0], m[3], pos = g.signed(pos), g.signed(pos), pos+2
		case flags&64 != 0:
			m[0], m[3], pos = g.signed(pos), g.signed(pos+2), pos+4
		case flags&128 != 0:
			m, pos = [4]int{g.signed(pos), g.signed(pos + 2), g.signed(pos + 4), g.signed(pos + 6)}, pos+8
		}
		for _, contour := range g.contours(glyph, depth+1) {
			moved := make([]dotOn, len(contour))
			for i, p := range contour {
				moved[i] = dotOn{(p.x*m[0]+p.y*m[2])>>14 + dx, (p.x*m[1]+p.y*m[3])>>14 + dy, p.on}
			}
			out = append(out, moved)
		}
		more = flags&32 != 0
	}
	return out
}

// appendContour writes a closed outline, moved right by dx, as path data. Its
// numbers are doubled on the way, as the middle of two points may be a half.
func appendContour(out []byte, c []dotOn, dx int) []byte {
	n := len(c)
	if n < 2 {
		return out
	}
	put := func(op byte, x, y int) {
		out = append(appendHalf(append(out, op), x+2*dx), ' ')
		out = appendHalf(out, -y)
	}
	start := 0
	for start < n && !c[start].on {
		start++
	}
	if start == n { // no point is on the curve: begin between two
		put('M', c[n-1].x+c[0].x, c[n-1].y+c[0].y)
		start = n - 1
	} else {
		put('M', 2*c[start].x, 2*c[start].y)
	}
	for k := 1; k <= n; k++ {
		p, next := c[(start+k)%n], c[(start+k+1)%n]
		switch {
		case p.on:
			put('L', 2*p.x, 2*p.y)
		case next.on:
			put('Q', 2*p.x, 2*p.y)
			put(' ', 2*next.x, 2*next.y)
			k++
		default: // between two points off the curve lies one on it
			put('Q', 2*p.x, 2*p.y)
			put(' ', p.x+next.x, p.y+next.y)
		}
	}
	return append(out, 'z')
}

// appendHalf writes half of a whole number.
func appendHalf(out []byte, double int) []byte {
	return strconv.AppendFloat(out, float64(double)/2, 'f', -1, 64)
}

// path gives the outlines of a text that begins at 0, 0, in the font's units.
func (f *face) path(text string) string {
	g := f.outlines()
	var out []byte
	x := 0 // thousandths of an em, as the PDF is set
	for _, r := range text {
		for _, c := range g.contours(g.of[r], 0) {
			out = appendContour(out, c, x*g.unitsPerEm/1000)
		}
		x += max(0, f.advance(r))
	}
	return string(out)
}

// unitsPerEm is the number of the font's units to its size.
func (f *face) unitsPerEm() float64 { return float64(f.outlines().unitsPerEm) }

// glyphsOnce reads the outlines when the first preview is drawn.
func glyphsOnce(file []byte) func() *glyphs {
	return sync.OnceValue(func() *glyphs { return readGlyphs(file) })
}
