package cutlist

import (
	"slices"
	"strings"

	"benchtally/parts"
)

// reader is a list while it is read.
type reader struct {
	list    List
	choices Choices
	more    int // troubles beyond those reported
	pieces  int
	made    map[string]int // index of each assembly by its path, folded
}

// Read makes lines and assemblies of a table. It never fails: what is wrong
// is in Troubles.
func Read(t Table, c Choices) List {
	r := &reader{choices: c, list: List{Unit: c.Unit}}
	if r.list.Unit.Of() == 0 {
		r.list.Unit = parts.Inches
	}
	below := r.columns(t)
	if len(r.list.Troubles) == 0 {
		r.decimals(below)
		r.lines(below)
		r.assemblies()
	}
	r.finish()
	return r.list
}

// lines reads the rows below the headings.
func (r *reader) lines(rows []Row) {
	for _, row := range rows {
		if why := r.skip(row); why != "" {
			r.list.Skipped = append(r.list.Skipped, Skipped{Row: row.Number, Why: why})
			continue
		}
		if len(r.list.Lines) == MostLines {
			r.trouble(row.Number, Column{}, parts.Problemf(parts.TooBig, "list-long", "The list has more than %d lines.", MostLines).
				Next("Import it in pieces."))
			break
		}
		line := r.line(row)
		r.pieces += line.Pieces()
		r.list.Lines = append(r.list.Lines, line)
	}
	if r.pieces > MostParts {
		r.trouble(0, Column{}, parts.Problemf(parts.TooBig, "list-parts", "The list makes %d parts, more than %d.", r.pieces, MostParts).
			Next("Check the quantities, or import it in pieces."))
	}
	if len(r.list.Lines) == 0 && len(r.list.Troubles) == 0 {
		r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "list-empty", "There are no parts below the headings in row %d.", r.list.Heading).
			Next("Each part needs a row with its quantity, name and length."))
	}
}

// totals are words that begin a row of sums.
var totals = []string{"total", "subtotal", "grandtotal", "sum", "gesamt", "summe", "zwischensumme"}

// skip says why a row is no line, "" when it is one.
// A lone text that is no quantity and no length is a title or a remark.
func (r *reader) skip(row Row) string {
	filled, first := 0, ""
	for _, cell := range row.Cells {
		if !blank(cell) {
			if filled++; filled == 1 {
				first = cell.Text
			}
		}
	}
	name := r.find(PartField)
	length := r.find(LengthField)
	switch {
	case r.headingsAgain(row):
		return "the headings again"
	case blank(at(row, *length)) && (isTotal(first) || isTotal(at(row, *name).Text)):
		return "a total: " + short(first)
	case filled == 1 && first != "" && blank(at(row, *length)) && !digitFirst(at(row, *r.find(QuantityField)).Text):
		return "a text alone: " + short(first)
	}
	return ""
}

func digitFirst(text string) bool { return text != "" && text[0] >= '0' && text[0] <= '9' }

func isTotal(text string) bool {
	word, _, _ := strings.Cut(clean(text), " ")
	return slices.Contains(totals, fold(word))
}

func (r *reader) headingsAgain(row Row) bool {
	same := 0
	for i, cell := range row.Cells[:min(len(row.Cells), len(r.list.Columns))] {
		if heading := r.list.Columns[i].Heading; heading != "" && clean(cell.Text) == heading {
			same++
		}
	}
	return same >= 2
}

// at is the cell of a row in a column, empty when the row is shorter.
func at(row Row, c Column) Cell {
	if c.Index > len(row.Cells) || c.Index < 1 {
		return Cell{}
	}
	return row.Cells[c.Index-1]
}

// trouble notes what is wrong and where, unless there is enough already.
func (r *reader) trouble(row int, c Column, p *parts.Problem) {
	if len(r.list.Troubles) >= MostTroubles-1 {
		r.more++
		return
	}
	r.list.Troubles = append(r.list.Troubles, Trouble{Row: row, Column: c.Index, Heading: c.Heading, Field: c.Field, Problem: p})
}

// finish puts the troubles in order and says how many there are beyond them.
func (r *reader) finish() {
	slices.SortStableFunc(r.list.Troubles, func(a, b Trouble) int {
		if a.Row != b.Row {
			return a.Row - b.Row
		}
		return a.Column - b.Column
	})
	if r.more > 0 {
		r.list.Troubles = append(r.list.Troubles, Trouble{Problem: parts.Problemf(parts.Invalid, "more-troubles",
			"And %d more.", r.more).Next("Put right what is listed here and read the list again.")})
	}
}
