package labels

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"benchtally/parts"
)

// leastMark is the lowest that the capitals of a mark get on a label while
// anything else can give way, in millimetres: 14 point, read at arm's length.
const leastMark = 3.6

// extended tells whether the label has more to say than its name, size and
// where it belongs.
func (l Label) extended() bool {
	return l.Rough != "" || l.Grain != "" || l.Hand != "" || l.Place != "" || l.Sketch != nil
}

// trim is one way to make the words smaller: a share of the usual type, the
// lines for what is usually one, and how many of the least things are left out.
type trim struct {
	share float64
	lines int
	leave int
}

// What a trim leaves out, the least first: the job, then where the part
// belongs and what it is made of, then the place of the label.
const (
	leaveJob = 1 + iota
	leaveMaterial
	leavePlace
)

// trims are tried in order. A label that says much gives up its last things
// before its type becomes small.
func (l Label) trims() []trim {
	if !l.extended() {
		return []trim{{1, 2, 0}, {1, 1, 0}, {0.85, 1, 0}, {0.7, 1, 0}}
	}
	return []trim{{1, 2, 0}, {1, 1, 0}, {1, 1, leaveJob}, {0.85, 1, 0}, {0.85, 1, leaveJob},
		{0.77, 1, leaveJob}, {0.7, 1, leaveJob}, {0.7, 1, leaveMaterial}, {0.7, 1, leavePlace}}
}

// rows sets name, size, material, assembly and job in a column of a width so
// that the mark, too, finds its place in the height; before them the note, if
// it found none beside the mark. Long texts first give up their second lines,
// then their size; on the lowest labels the last things are left out, each as
// a whole: half a size would be a wrong one. It tells which trim it took, the
// number of trims when even the last was not enough.
func (l Label) rows(width, height, scale float64, withNote bool) (out []row, took int) {
	trims, least := l.trims(), l.leastMark(scale)
	for i, t := range trims {
		if out = slices.Concat(l.things(width, scale, t, withNote)...); height-heightOf(out) >= least {
			return out, i
		}
	}
	last := trims[len(trims)-1]
	things := l.things(width, scale, last, withNote)
	if withNote {
		things = l.things(width, scale, last, false)
		things[0] = l.joined(width)
	}
	out = nil
	for _, rows := range things {
		if height-heightOf(out)-heightOf(rows) < leastMark {
			break
		}
		out = append(out, rows...)
	}
	return out, len(trims)
}

// leastMark is the lowest that the mark gets before things are left out. On a
// label that is read from further away it is larger.
func (l Label) leastMark(scale float64) float64 {
	if !l.extended() {
		return leastMark
	}
	return leastMark * max(1, scale)
}

// things sets each thing that a trim leaves, in their order from the mark down.
func (l Label) things(width, scale float64, t trim, withNote bool) [][]row {
	// On a large label even what is squeezed stays larger than on a small one.
	pt, fall := scale*t.share, max(6, 4.5*scale)
	var out [][]row
	if withNote {
		out = append(out, style{face: bold, pt: max(6, 7*pt), fall: 6}.set(l.aside(), width, 1))
	}
	plain := style{face: regular, pt: max(fall, 6.5*pt), fall: fall}
	out = append(out, l.title(width, style{face: regular, pt: max(fall, 8.5*pt), fall: fall}, t.lines),
		style{face: bold, pt: max(7, 9*pt), fall: 6, fractions: true}.set(l.Size, width, 2),
		style{face: regular, pt: max(7, 7.5*pt), fall: 6, fractions: true}.set(l.roughWords(), width, t.lines))
	if t.leave < leavePlace {
		out = append(out, l.place(style{face: bold, pt: max(6.5, 7.5*pt), fall: fall}, width, t.lines))
	}
	if t.leave < leaveMaterial {
		out = append(out, l.woodAndAssembly(plain, width, t.lines))
	}
	if t.leave < leaveJob {
		out = append(out, plain.set(l.Job, width, t.lines))
	}
	return out
}

// title is the name and, where it has one, the hand, which is easily mixed up
// with its counterpart and so stands in bold.
func (l Label) title(width float64, s style, lines int) []row {
	if l.Hand == "" {
		return s.set(l.Name, width, lines)
	}
	s.face = bold
	return uncut(func(hand string) []row { return s.pair(l.Name, hand, width, lines) }, l.handWords(), string(l.Hand))
}

// joined sets name, hand and note on one line of the smallest type, without
// the note where half of it would be left.
func (l Label) joined(width float64) []row {
	s := style{face: bold, pt: 6, fall: 6}
	name := strings.TrimSpace(l.Name + " " + string(l.Hand))
	for _, more := range []string{l.aside(), l.copyWords()} {
		if rows, whole := s.whole(name+worded(" · ", more, ""), width); whole {
			return rows
		}
	}
	return s.set(name, width, 1)
}

// handWords and roughWords say these things as people do, "" for what the
// label does not have.
func (l Label) handWords() string  { return worded("", string(l.Hand), " hand") }
func (l Label) roughWords() string { return worded("rough ", l.Rough, "") }

// place is where the label sits, in the fullest way that fits a width whole:
// fewer words before smaller type.
func (l Label) place(s style, width float64, lines int) []row {
	if l.Place == "" {
		return nil
	}
	ways := []string{l.Place}
	if !strings.Contains(l.Place, ":") {
		ways[0] = "label: " + small(l.Place)
	}
	for _, way := range l.PlaceShort {
		ways = append(ways, "label: "+way, way)
	}
	// Its shortest way says nothing of what is to be done first.
	last := max(1, len(ways)-2)
	for _, try := range []struct {
		style
		ways []string
	}{{s.fixed(), ways[:last]}, {s, ways[:last]}, {s, ways[last:]}} {
		rows := uncut(func(way string) []row { return try.set(way, width, lines) }, try.ways...)
		if len(rows) > 0 && !anyCut(rows) {
			return rows
		}
	}
	return s.set(ways[len(ways)-1], width, lines)
}

// small is a sentence as it goes on behind a colon, without its full stop.
func small(sentence string) string {
	r := []rune(strings.TrimSuffix(sentence, "."))
	if len(r) > 0 {
		r[0] = unicode.ToLower(r[0])
	}
	return string(r)
}

func worded(before, text, after string) string {
	if text == "" {
		return ""
	}
	return before + text + after
}

// woods are ways to say the material and which way its grain runs, the fullest
// first; a short one has an arrow for it. That it runs along the length goes
// without saying where there is no room; that it runs across never does.
func (l Label) woods(short bool) []string {
	ways := l.woodsInFull()
	if short && l.Grain != "" {
		return ways[1:]
	}
	return ways
}

// leastWords is the size in points from which the grain is said in words.
const leastWords = 8

// woodsInFull are the ways with the grain in words before them.
func (l Label) woodsInFull() []string {
	said := func(grain string) string { return strings.TrimPrefix(l.Material+", grain "+grain, ", ") }
	switch l.Grain {
	case "":
		return []string{l.Material}
	case parts.GrainAcross:
		return []string{said("crosswise"), said("↕"), strings.TrimSuffix("grain ↕, "+l.Material, ", ")}
	}
	return []string{said("lengthwise"), said("↔"), l.Material}
}

// wood is the fullest of the ways that fits a width whole on so many lines.
func (l Label) wood(s style, width float64, lines int) []row {
	return uncut(func(wood string) []row { return s.set(wood, width, lines) }, l.woods(false)...)
}

// woodAndAssembly is wood with what the part goes into; in small type an arrow
// does for the grain.
func (l Label) woodAndAssembly(s style, width float64, lines int) []row {
	return uncut(func(wood string) []row { return s.pair(wood, l.Assembly, width, lines) }, l.woods(s.pt < leastWords)...)
}

// uncut sets ways to say a thing, the fullest first, until one is not cut.
func uncut(set func(text string) []row, ways ...string) (rows []row) {
	for _, text := range ways {
		if rows = set(text); !anyCut(rows) {
			break
		}
	}
	return rows
}

// anyCut reports whether something had to be cut off.
func anyCut(rows []row) bool {
	return slices.ContainsFunc(rows, func(r row) bool { return strings.Contains(r.text, ellipsis) })
}

// aside is the note and the number of the copy, "remake of 1A5K, copy 2".
func (l Label) aside() string {
	if l.Copy < 2 {
		return l.Note
	}
	return strings.TrimPrefix(l.Note+", "+l.copyWords(), ", ")
}

// copyWords is the number of a copy that is not the first.
func (l Label) copyWords() string {
	if l.Copy < 2 {
		return ""
	}
	return fmt.Sprintf("copy %d", l.Copy)
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
