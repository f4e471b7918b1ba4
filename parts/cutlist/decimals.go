package cutlist

import (
	"regexp"
	"strings"

	"benchtally/parts"
)

// numbers finds the numbers with a point or a comma in a size.
var numbers = regexp.MustCompile(`[0-9]*([.,][0-9]+)+`)

// decimals finds out from the sizes of a list whether decimals follow a comma,
// and reports the sizes that could be read either way when the list writes
// both.
func (r *reader) decimals(rows []Row) {
	if r.choices.DecimalComma != nil {
		r.list.DecimalComma = *r.choices.DecimalComma
		return
	}
	points, commas := 0, 0
	r.sizes(rows, func(_ Row, _ Column, number string) {
		switch decimalOf(number) {
		case '.':
			points++
		case ',':
			commas++
		}
	})
	r.list.DecimalComma = commas > 0 && points == 0
	if points == 0 || commas == 0 {
		return
	}
	r.sizes(rows, func(row Row, c Column, number string) {
		if decimalOf(number) != 0 || strings.Count(number, ".")+strings.Count(number, ",") > 1 {
			return
		}
		r.trouble(row.Number, c, parts.Problemf(parts.Invalid, "decimal-unclear",
			"The list writes decimals both with a point and with a comma, so %s could be thousands or a decimal.", short(number)).
			Next("Write it without thousands, or say which one the list uses."))
	})
}

// sizes calls use for every number with a point or comma in a text cell of a
// size.
func (r *reader) sizes(rows []Row, use func(row Row, c Column, number string)) {
	for _, row := range rows {
		for i, cell := range row.Cells[:min(len(row.Cells), len(r.list.Columns))] {
			c := r.list.Columns[i]
			if cell.Kind != Text || c.Field != LengthField && c.Field != WidthField && c.Field != ThicknessField {
				continue
			}
			for _, number := range numbers.FindAllString(cell.Text, -1) {
				use(row, c, number)
			}
		}
	}
}

// decimalOf gives the decimal character of a number that can be read in one
// way only, 0 for one like 1,219 or 1,219,500 that tells nothing.
func decimalOf(number string) byte {
	last := strings.LastIndexAny(number, ".,")
	before, after := number[:last], number[last+1:]
	several := strings.IndexByte(before, number[last]) >= 0
	grouped := len(after) == 3 && before != "" && before[0] != '0' && len(before) <= 3
	if several || grouped && !strings.ContainsAny(before, ".,") {
		return 0
	}
	return number[last]
}
