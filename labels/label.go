package labels

import (
	"fmt"
	"io"
	"strings"

	"benchtally/parts"
)

// Label is what one sticker says. A print order keeps its labels as JSON, so
// that the same order prints the same bytes for ever.
type Label struct {
	Address  string      `json:"address"` // complete text of the QR: http://192.168.1.20:8080/P/1A5K
	Mark     string      `json:"mark"`
	Name     string      `json:"name,omitempty"`
	Size     string      `json:"size,omitempty"` // finished size as the shop writes it
	Material string      `json:"material,omitempty"`
	Assembly string      `json:"assembly,omitempty"`
	Job      string      `json:"job,omitempty"`
	Note     string      `json:"note,omitempty"` // "spare", "remake of 1A5K"
	Copy     int         `json:"copy,omitempty"` // 2 for the second sticker of the same part
	Strip    parts.Strip `json:"strip"`
}

// labelAir is what the gaps below the mark and above the strip take at least,
// and roundings what round figures stand out above the mark's capitals and the
// strip's line below it, in millimetres.
const (
	labelAir  = 1.5
	roundings = 0.3
)

// WriteLabels writes labels as a PDF to be printed on sheet at 100 %. first is
// the 1-based position of the first free label on the first, used sheet.
func WriteLabels(w io.Writer, sheet Sheet, first int, labels []Label) error {
	if err := sheet.check(); err != nil {
		return err
	}
	if first < 1 || first > sheet.PerPage() {
		return parts.Problemf(parts.Invalid, "first-out", "A sheet has no label %d.", first).
			Next("Give the first free label, 1 to %d.", sheet.PerPage())
	}
	if len(labels) == 0 {
		return parts.Problemf(parts.Invalid, "labels-none", "There are no labels to print.")
	}
	addresses := make([]string, len(labels))
	for i, l := range labels {
		if clean(l.Mark) == "" {
			return markEmpty()
		}
		addresses[i] = l.Address
	}
	codes, err := encodeAll(addresses, sheet.codeBox())
	if err != nil {
		return err
	}
	p, smallest := newPaper(sheet.PageW, sheet.PageH, "Labels"), sheet.smallest()
	for i, l := range labels {
		position := (first - 1 + i) % sheet.PerPage()
		if i == 0 || position == 0 {
			p.page()
		}
		l.draw(p, codes[i], sheet, position, smallest)
	}
	return p.finish(w)
}

func markEmpty() error {
	return parts.Problemf(parts.Invalid, "mark-empty", "A label needs a mark: a dirty code can only be typed.")
}

// draw draws a label at a position of the page.
func (l Label) draw(p *paper, c code, s Sheet, position int, smallest area) {
	x, y := s.place(c, position)
	c.draw(p, x, y)
	in := s.content(position)
	in.x0 = x + c.dark() + c.margin()
	l.words(p, in, min(1.3, smallest.height()/21.4))
}

// words writes everything but the code into an area: the mark as large as the
// rest leaves room, the rest below it, the strip at the foot.
func (l Label) words(p *paper, in area, scale float64) {
	foot := stripHeight(l.Strip, in.width(), 2.5*scale)
	room := in.height() - foot - labelAir*scale
	rows := l.rows(in.width(), room, scale, false)
	mark, note, whole := l.head(in.width(), min(room-heightOf(rows), 6*scale), scale)
	if !whole {
		rows = l.rows(in.width(), room, scale, true)
		mark = bigMark(l.Mark, in.width(), min(room-heightOf(rows), 6*scale))
	}

	used := mark.caps() + heightOf(rows) + foot
	gap := min((in.height()-used-roundings)/2, 1.4*scale)
	y := (in.y0 + in.y1 - used - 2*gap) / 2
	p.text(mark, in.x0, y+mark.caps())
	noteY := y
	for _, r := range note {
		p.textRight(r, in.x1, noteY+ascent*r.pt*mm)
		noteY += r.height()
	}
	y = p.stack(rows, in.x0, y+mark.caps()+gap)
	p.strip(l.Strip, in.x0, y+gap, in.width(), foot)
}

// leastMark is the lowest that the capitals of a mark get on a label while
// anything else can give way, in millimetres: 14 point, read at arm's length.
const leastMark = 3.6

// rows sets name, size, material, assembly and job in a column of a width so
// that the mark, too, finds its place in the height; before them the note, if
// it found none beside the mark. Long texts first give up their second lines,
// then their size; on labels lower than any of ours the last are left out.
func (l Label) rows(width, height, scale float64, withNote bool) []row {
	var out []row
	for _, plan := range []struct {
		share float64 // of the usual type
		lines int     // for what is usually one
	}{{1, 2}, {1, 1}, {0.85, 1}, {0.7, 1}} {
		pt := scale * plan.share
		plain := style{face: regular, pt: max(6, 7*pt), fall: 6}
		out = nil
		if withNote {
			out = style{face: bold, pt: max(6, 7*pt), fall: 6}.set(l.aside(), width, 1)
		}
		out = append(out, style{face: regular, pt: max(6, 8.5*pt), fall: 6}.set(l.Name, width, plan.lines)...)
		out = append(out, style{face: bold, pt: max(7, 9*pt), fall: 6, fractions: true}.set(l.Size, width, 2)...)
		out = append(out, plain.pair(l.Material, l.Assembly, width, plan.lines)...)
		out = append(out, plain.set(l.Job, width, plan.lines)...)
		if height-heightOf(out) >= leastMark {
			return out
		}
	}
	for len(out) > 0 && height-heightOf(out) < leastMark {
		out = out[:len(out)-1]
	}
	return out
}

// aside is the note and the number of the copy, "remake of 1A5K, copy 2".
func (l Label) aside() string {
	if l.Copy < 2 {
		return l.Note
	}
	return strings.TrimPrefix(fmt.Sprintf("%s, copy %d", l.Note, l.Copy), ", ")
}

// bigMark sets a mark as large as a width and height in millimetres allow.
func bigMark(mark string, width, height float64) row {
	return style{face: bold, pt: height / (mm * capHeight), fall: 8}.set(mark, width, 1)[0]
}

// head sets the mark in a line of a width and height in millimetres, and the
// note that stands to the right of it. It is not whole when the note finds no
// place there.
func (l Label) head(width, height, scale float64) (mark row, note []row, whole bool) {
	mark = bigMark(l.Mark, width, height)
	text := clean(l.aside())
	if text == "" {
		return mark, nil, true
	}
	// What the mark leaves, or a third of the line at its cost.
	column := max(0.32*width, width-mark.width()-1.5)
	words := atoms(short(text))
	for pt := 7 * scale; pt >= 6; pt -= 0.25 {
		small := row{style: style{face: bold, pt: pt}}
		// The last line needs no leading, and may hang into the gap below.
		lines := 1 + int(max(0, height-ascent*pt*mm)/small.height())
		var rest []string
		if note, rest = small.fill(words, column, lines); len(rest) == 0 {
			whole = true
			break
		}
	}
	if !whole {
		return mark, nil, false
	}
	taken := 0.0
	for _, r := range note {
		taken = max(taken, r.width()+1.5)
	}
	return bigMark(l.Mark, width-taken, height), note, true
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
