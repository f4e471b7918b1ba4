package labels

import (
	"bytes"
	_ "embed" // the two faces and their licence
	"encoding/binary"
	"strings"
	"sync"
	"unicode"
)

// The typeface is DejaVu Sans Condensed: free, narrow, open at small sizes and
// with the alphabets of most shops. Its licence lies beside it.
var (
	//go:embed fonts/DejaVuSansCondensed.ttf
	regularFile []byte
	//go:embed fonts/DejaVuSansCondensed-Bold.ttf
	boldFile []byte
	//go:embed fonts/LICENSE-DejaVu.txt
	typefaceLicence string
)

// TypefaceLicence is the licence of the embedded typeface.
func TypefaceLicence() string { return typefaceLicence }

// missing is drawn for what the typeface has no shape for.
const missing = '\uFFFD'

// capHeight is the height of a capital and of a figure, ascent that of the
// tallest small letter with a hair of room, in ems.
const (
	capHeight = 0.729
	ascent    = 0.80
)

// face is one weight of the typeface.
type face struct {
	style    string // as the PDF library calls it
	file     []byte
	widths   func() *[1 << 16]int16
	outlines func() *glyphs
}

var (
	regular = newFace("", regularFile)
	bold    = newFace("B", boldFile)
)

// newFace is a face whose widths are read when they are first needed.
func newFace(style string, file []byte) *face {
	widths := sync.OnceValue(func() *[1 << 16]int16 { return readWidths(file) })
	return &face{style: style, file: file, widths: widths, outlines: glyphsOnce(file)}
}

// bytes gives a copy of the font: the PDF library writes into what it is
// given, and two documents may be made at once.
func (f *face) bytes() []byte { return bytes.Clone(f.file) }

// advance is the width of r in thousandths of an em, -1 when the face has no
// shape for it.
func (f *face) advance(r rune) int {
	if r < 0 || r > 0xFFFF {
		return -1
	}
	return int(f.widths()[r])
}

// width is the width of s in thousandths of an em.
func (f *face) width(s string) int {
	w := 0
	for _, r := range s {
		w += max(0, f.advance(r))
	}
	return w
}

// clean makes s safe to set: one line, single spaces, and missing in place of
// what the faces cannot draw. The PDF library knows 16-bit characters only.
func clean(s string) string {
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) }), " ")
	return strings.Map(func(r rune) rune {
		if regular.advance(r) < 0 || bold.advance(r) < 0 {
			return missing
		}
		return r
	}, s)
}

// readWidths reads how wide each 16-bit character is, in thousandths of an em,
// from the tables of a TrueType font; -1 for those without a shape.
func readWidths(file []byte) *[1 << 16]int16 {
	at := func(pos int) int { return int(binary.BigEndian.Uint16(file[pos:])) }
	tables := tablesOf(file)
	unitsPerEm, long := at(tables["head"]+18), at(tables["hhea"]+34)
	var widths [1 << 16]int16
	for r := range widths {
		widths[r] = -1
	}
	eachGlyph(file, tables["cmap"], func(r, glyph int) {
		units := at(tables["hmtx"] + 4*min(glyph, long-1))
		widths[r] = int16((units*1000 + unitsPerEm/2) / unitsPerEm)
	})
	return &widths
}

// tablesOf tells where each table of a font begins.
func tablesOf(file []byte) map[string]int {
	tables := map[string]int{}
	for i := range int(binary.BigEndian.Uint16(file[4:])) {
		entry := file[12+16*i:]
		tables[string(entry[:4])] = int(binary.BigEndian.Uint32(entry[8:]))
	}
	return tables
}

// eachGlyph goes through the segments of a font's 16-bit character map
// (format 4 of the OpenType table "cmap", which begins at cmap in file).
func eachGlyph(file []byte, cmap int, do func(r, glyph int)) {
	at := func(pos int) int { return int(binary.BigEndian.Uint16(file[pos:])) }
	for i := range at(cmap + 2) {
		sub := cmap + int(binary.BigEndian.Uint32(file[cmap+4+8*i+4:]))
		if at(cmap+4+8*i) != 3 || at(sub) != 4 {
			continue
		}
		segments := at(sub+6) / 2
		ends, starts := sub+14, sub+16+2*segments
		deltas, offsets := starts+2*segments, starts+4*segments
		for s := range segments {
			for r := at(starts + 2*s); r <= at(ends+2*s) && r < 0xFFFF; r++ {
				glyph := r
				if offset := at(offsets + 2*s); offset != 0 {
					glyph = at(offsets + 2*s + offset + 2*(r-at(starts+2*s)))
				}
				if glyph != 0 {
					glyph = (glyph + at(deltas+2*s)) & 0xFFFF
				}
				if glyph != 0 {
					do(r, glyph)
				}
			}
		}
		return
	}
}
