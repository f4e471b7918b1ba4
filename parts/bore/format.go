package bore

import (
	"strings"

	"benchtally/parts"
)

// FormatHoles writes holes the way ParseHoles reads them, one on each line,
// in the shop's style. A length that the style would round is written exactly
// in another way, so that what is read back is the same.
func FormatHoles(holes []parts.Hole, st parts.Style) string {
	lines := make([]string, len(holes))
	for i, h := range holes {
		lines[i] = formatHole(h, st)
	}
	return strings.Join(lines, "\n")
}

// formatHole says from where each place is measured, also where ParseHoles
// would take that for granted: it is read at the drill.
func formatHole(h parts.Hole, st parts.Style) string {
	text := string(h.Into) + " " + middleWord
	if h.Along != 0 {
		text = string(h.Into) + " " + exact(h.Along, st) + " " + fromWord + " " + nameOf(h.Into, false, h.FromFar)
	}
	if h.Across != 0 {
		text += comma + " " + exact(h.Across, st) + " " + fromWord + " " + nameOf(h.Into, true, h.AcrossFar)
	}
	text += comma + " " + diaWord + " " + exact(h.Diameter, st) + " "
	if h.Depth == 0 {
		return text + throughWord
	}
	return text + deepWord + " " + exact(h.Depth, st)
}

// exact writes a length in the shop's style, and exactly where that rounds.
func exact(l parts.Length, st parts.Style) string {
	s := l.Format(st)
	if back, err := parts.ParseLength(s, parts.Writing{}); err != nil || back != l {
		return l.String()
	}
	return s
}

// Example is a pattern's text that shows how holes are written, with sizes as
// people of that unit use them.
func Example(u parts.Unit) string {
	if u == parts.Millimetres {
		return "left end 20 dia 10 deep 30\nright end 20 from far edge dia 10 deep 30\nnear edge 75 from right end dia 5 deep 11\nback middle, 20 from far edge, dia 6 through"
	}
	return "left end 3/4 dia 3/8 deep 1 1/4\nright end 3/4 from far edge dia 3/8 deep 1 1/4\nnear edge 3 from right end dia 5 mm deep 11 mm\nback middle, 3/4 from far edge, dia 1/4 through"
}
