package labels

import (
	"math"
	"regexp"
	"strings"
	"unicode"
)

// mm is one point in millimetres.
const mm = inch / 72

// style is how a line of text is set.
type style struct {
	face *face
	pt   float64 // size in points when there is room
	fall float64 // the smallest size it may be set in
	// fractions draws 1/2 small and slanted, so that 34 1/2 is never read as
	// 341/2.
	fractions bool
}

// row is one line of text, ready to be drawn.
type row struct {
	style
	text string
}

// ellipsis stands for what was cut off.
const ellipsis = "…"

// A fraction is drawn with figures this much smaller, the upper ones raised by
// so many ems and a gap of so many before it.
const (
	fractionSize = 0.70
	fractionRise = 0.235
	fractionGap  = 0.10
	// Below so many points their figures would be too small to read.
	leastFractions = 7
)

// fraction finds 3/4 with the space that parts it from a whole number before
// it, but not a date or a code such as A1/2 or 1/2/3.
var fraction = regexp.MustCompile(`(^|[^\d/\pL.,] ?|\d )(\d{1,3})/(\d{1,3})($|[^\d/\pL])`)

// span is a piece of a row: text at a share of the row's size, raised by so
// many ems, after a gap of so many ems.
type span struct {
	text            string
	size, rise, gap float64
}

// spans takes a row apart into what is drawn at one size and height.
func (s style) spans(text string) []span {
	if !s.fractions || s.pt < leastFractions {
		return []span{{text: text, size: 1}}
	}
	var out []span
	for {
		m := fraction.FindStringSubmatchIndex(text)
		if m == nil {
			return append(out, span{text: text, size: 1})
		}
		before, gap := text[:m[3]], 0.0
		if whole := strings.TrimSuffix(before, " "); whole != before && endsInDigit(whole) {
			before, gap = whole, fractionGap
		}
		if before != "" {
			out = append(out, span{text: before, size: 1})
		}
		out = append(out,
			span{text: text[m[4]:m[5]], size: fractionSize, rise: fractionRise, gap: gap},
			span{text: "/", size: 1, gap: -0.02},
			span{text: text[m[6]:m[7]], size: fractionSize, gap: -0.02})
		text = text[m[7]:]
	}
}

// ems is the width of text in ems of the style's size.
func (s style) ems(text string) float64 {
	w := 0.0
	for _, sp := range s.spans(text) {
		w += sp.gap + sp.size*float64(s.face.width(sp.text))/1000
	}
	return w
}

// width of a row and height of its line in millimetres.
func (r row) width() float64  { return r.ems(r.text) * r.pt * mm }
func (r row) height() float64 { return r.pt * mm * 1.17 }

// caps is the height of the row's capitals in millimetres.
func (r row) caps() float64 { return r.pt * mm * capHeight }

// at gives the style in another size.
func (s style) at(pt float64) style {
	s.pt = pt
	return s
}

// set sets text in a column of width millimetres and at most so many lines: as
// large as the style allows, smaller before it takes another line, and cut
// with an ellipsis when even the smallest type does not hold it.
func (s style) set(text string, width float64, lines int) []row {
	text = clean(text)
	if text == "" || width <= 0 || lines < 1 {
		return nil
	}
	// Half-way down a second line reads better than smaller type.
	least := s.fall
	if lines > 1 {
		least = (s.pt + s.fall) / 2
	}
	if fits := s.fits(text, width); fits >= least {
		return []row{{style: s.at(min(s.pt, fits)), text: text}}
	}
	for pt := s.pt; pt > s.fall; pt -= 0.5 {
		if rows, whole := s.at(pt).fill(text, width, lines); whole {
			return rows
		}
	}
	rows, _ := s.at(s.fall).fill(text, width, lines)
	return rows
}

// fits is the size in points at which text fills a width in millimetres.
func (s style) fits(text string, width float64) float64 {
	size := func() float64 {
		// A little short of the width, for the rounding of sizes and positions.
		return math.Floor((width-0.02)/(s.ems(text)*mm)*20) / 20
	}
	pt := size()
	if s.fractions && pt < leastFractions {
		s.fractions = false // as it will be set at that size
		pt = min(pt, size())
	}
	return pt
}

// whole sets text on one line of a width. It is not whole, and must not be
// drawn, when something had to be cut off.
func (s style) whole(text string, width float64) (rows []row, whole bool) {
	rows = s.set(text, width, 1)
	return rows, len(rows) == 1 && rows[0].text == clean(text)
}

// fill breaks text into lines at the style's size. It is not whole when
// something had to be cut off.
func (s style) fill(text string, width float64, lines int) (rows []row, whole bool) {
	limit := (width - 0.02) / (s.pt * mm)
	rest := atoms(text)
	for len(rest) > 0 {
		take := 0
		for take < len(rest) && s.ems(strings.Join(rest[:take+1], " ")) <= limit {
			take++
		}
		if take == len(rest) {
			return append(rows, row{style: s, text: strings.Join(rest, " ")}), true
		}
		if len(rows) == lines-1 || take == 0 {
			return append(rows, row{style: s, text: s.cut(rest, limit)}), false
		}
		rows = append(rows, row{style: s, text: strings.Join(rest[:take], " ")})
		rest = rest[take:]
	}
	return rows, true
}

// cut gives as much of the atoms as fits limit ems with an ellipsis behind it:
// whole atoms, or a piece of the first one that does not end inside a number.
func (s style) cut(rest []string, limit float64) string {
	for take := len(rest) - 1; take > 0; take-- {
		text := strings.TrimRight(strings.Join(rest[:take], " "), " ,;:·×-–—/(") + " " + ellipsis
		if s.ems(text) <= limit {
			return text
		}
	}
	first := []rune(rest[0])
	for n := len(first) - 1; n > 0; n-- {
		inNumber := numeric(first[n-1]) && numeric(first[n])
		if text := string(first[:n]) + ellipsis; !inNumber && s.ems(text) <= limit {
			return text
		}
	}
	return ellipsis
}

// units stay with the number before them.
var units = map[string]bool{"mm": true, "cm": true, "m": true, "in": true, "ft": true, "pcs": true, "°C": true, "°F": true, "%": true}

// atoms splits text where a line may break: at spaces, but not inside a number
// such as 34 1/2, between a number and its unit, or behind a times sign.
func atoms(text string) []string {
	var out []string
	for _, word := range strings.Fields(text) {
		if len(out) > 0 {
			last := out[len(out)-1]
			number := endsInDigit(last) && (word[0] >= '0' && word[0] <= '9' || units[strings.TrimRight(word, ",;:.)")])
			if number || last == "×" || last == "x" || strings.HasSuffix(last, " ×") {
				out[len(out)-1] = last + " " + word
				continue
			}
		}
		out = append(out, word)
	}
	return out
}

func endsInDigit(s string) bool {
	return s != "" && s[len(s)-1] >= '0' && s[len(s)-1] <= '9'
}

// numeric tells whether r can be part of a written length.
func numeric(r rune) bool {
	return unicode.IsNumber(r) || strings.ContainsRune(`./,'"″′ -`, r)
}
