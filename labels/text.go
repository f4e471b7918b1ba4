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

// fixed gives the style in its own size only.
func (s style) fixed() style {
	s.fall = s.pt
	return s
}

// set sets text in a column of width millimetres and at most so many lines: as
// large as the style allows, smaller before it takes another line, and cut
// with an ellipsis when even the smallest type does not hold it.
func (s style) set(text string, width float64, lines int) []row {
	text = short(clean(text))
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
	words := atoms(text)
	for pt := s.pt; pt > s.fall; pt -= 0.5 {
		if rows, rest := s.at(pt).fill(words, width, lines); len(rest) == 0 {
			return rows
		}
	}
	small := s.at(s.fall)
	rows, rest := small.fill(words, width, lines)
	if len(rest) == 0 {
		return rows
	}
	if len(rows) == lines { // the last line gives way to the ellipsis
		rest = append(atoms(rows[lines-1].text), rest...)
		rows = rows[:lines-1]
	}
	return append(rows, row{style: small, text: small.cut(rest, (width-0.02)/(small.pt*mm))})
}

// pair sets two texts on one line with a dot between them, or on a line each
// if there may be two. When both are long each gets a fair share of a single
// line, so that neither pushes the other out.
func (s style) pair(a, b string, width float64, lines int) []row {
	const between = " · "
	a, b = clean(a), clean(b)
	if a == "" || b == "" {
		return s.set(a+b, width, lines)
	}
	small := s.at(s.fall)
	in := func(text string) float64 { return row{style: small, text: text}.width() }
	room := width - 0.05
	switch {
	case s.ems(a+between+b)*(s.pt+s.fall)/2*mm <= room, lines == 1 && in(a+between+b) <= room:
		return s.set(a+between+b, width, 1)
	case lines > 1:
		return append(s.set(a, width, 1), s.set(b, width, 1)...)
	}
	if room -= in(between) + 0.05; room <= 0 {
		return s.set(a+between+b, width, 1)
	}
	if half := room / 2; in(a) > half {
		a = small.set(a, max(half, room-in(b)), 1)[0].text
	}
	if room -= in(a); room <= 0 {
		return s.set(a, width, 1)
	}
	b = small.set(b, room, 1)[0].text
	return []row{{style: small, text: a + between + b}}
}

// short keeps what could ever be set, so that a text without end costs nothing.
func short(text string) string {
	const most = 1000
	for i := range text {
		if i >= most {
			return text[:i] + ellipsis
		}
	}
	return text
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

// fill breaks words into lines at the style's size, and gives back the rest
// that finds no place.
func (s style) fill(words []string, width float64, lines int) (rows []row, rest []string) {
	limit := (width - 0.02) / (s.pt * mm)
	for rest = words; len(rest) > 0 && len(rows) < lines; {
		take := s.take(rest, limit)
		if take == 0 {
			break // a word wider than the column
		}
		rows = append(rows, row{style: s, text: strings.Join(rest[:take], " ")})
		rest = rest[take:]
	}
	return rows, rest
}

// take is how many of the words fit limit ems.
func (s style) take(words []string, limit float64) int {
	n := 0
	for n < len(words) && s.ems(strings.Join(words[:n+1], " ")) <= limit {
		n++
	}
	return n
}

// cut gives as much of the words as fits limit ems with an ellipsis behind it:
// whole words, or a piece of the first one that does not end inside a number.
func (s style) cut(words []string, limit float64) string {
	for n := min(s.take(words, limit), len(words)-1); n > 0; n-- {
		text := strings.TrimRight(strings.Join(words[:n], " "), " ,;:·×-–—/(") + " " + ellipsis
		if s.ems(text) <= limit {
			return text
		}
	}
	best, first := ellipsis, []rune(words[0])
	for n := 1; n < len(first); n++ {
		text := string(first[:n]) + ellipsis
		if s.ems(text) > limit {
			break
		}
		if !numeric(first[n-1]) || !numeric(first[n]) {
			best = text
		}
	}
	return best
}

// units stay with the number before them.
var units = map[string]bool{"mm": true, "cm": true, "m": true, "in": true, "ft": true, "pcs": true, "°C": true, "°F": true, "%": true}

// atoms splits text where a line may break: at spaces, but not inside a number
// such as 34 1/2, between a number and its unit, behind a times sign, or in "copy 2".
func atoms(text string) []string {
	var out []string
	for _, word := range strings.Fields(text) {
		if len(out) > 0 {
			last := out[len(out)-1]
			number := endsInDigit(last) && (word[0] >= '0' && word[0] <= '9' || units[strings.TrimRight(word, ",;:.)")])
			if number || last == "copy" && numeric(rune(word[0])) || last == "×" || last == "x" || strings.HasSuffix(last, " ×") {
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
