package cutlist

import (
	"cmp"
	"regexp"
	"strconv"
	"strings"

	"benchtally/parts"
)

// line reads one row; what cannot be read of it is left out and reported.
func (r *reader) line(row Row) Line {
	line := Line{Row: row.Number}
	line.Quantity = r.count(row, QuantityField, 1)
	line.Name = r.text(row, PartField, LongestName)
	line.Length = r.size(row, LengthField)
	line.Width = r.size(row, WidthField)
	line.Thickness = r.size(row, ThicknessField)
	line.Material = r.text(row, MaterialField, LongestName)
	line.Assembly = r.text(row, AssemblyField, LongestName)
	line.Notes = r.text(row, NotesField, LongestNotes)
	line.Spares = r.count(row, SparesField, 0)
	if unitWord(line.Assembly) != "" {
		r.trouble(row.Number, *r.find(AssemblyField), parts.Problemf(parts.Invalid, "assembly-unit",
			"%s is a unit of length, not something that parts go into.", short(line.Assembly)).
			Next("Say what the column holds with -map 'HEADING=field', or ignore it with -map 'HEADING=ignore', or on the import page."))
	}
	return line
}

// cell gives the cell of a field and its column; false when there is nothing
// to read in it, with the trouble reported if there should be.
func (r *reader) cell(row Row, field Field) (Cell, Column, bool) {
	column := r.find(field)
	if column == nil {
		return Cell{}, Column{}, false
	}
	cell := at(row, *column)
	var p *parts.Problem
	switch {
	case cell.Kind == Formula:
		p = parts.Problemf(parts.Invalid, "cell-formula", "This holds a formula without its value: %s.", short(cmp.Or(cell.Text, "="))).
			Next("Type the number, or save the list with values instead of formulas.")
	case cell.Kind == Failed:
		p = parts.Problemf(parts.Invalid, "cell-failed", "This holds a formula that fails: %s.", short(cell.Text)).
			Next("Put the formula right, or type the value.")
	case cell.Kind == Date:
		p = parts.Problemf(parts.Invalid, "cell-date", "The spreadsheet holds a date here. It makes dates of fractions such as 1/2.").
			Next("Set the column to text and type it again, or write a decimal.")
	case !blank(cell):
		return cell, *column, true
	case field == QuantityField || field == PartField || field == LengthField:
		p = parts.Problemf(parts.Invalid, "cell-empty", "The %s is missing.", field).
			Next("Fill it in, or take the row out if it is no part.")
	default:
		return Cell{}, Column{}, false
	}
	r.trouble(row.Number, *column, p)
	return Cell{}, Column{}, false
}

func (r *reader) text(row Row, field Field, longest int) string {
	cell, column, ok := r.cell(row, field)
	if !ok {
		return ""
	}
	text, p := words(cell.Text, longest)
	if p != nil {
		r.trouble(row.Number, column, p)
	}
	return text
}

func (r *reader) size(row Row, field Field) parts.Size {
	cell, column, ok := r.cell(row, field)
	if !ok {
		return parts.Size{}
	}
	how := parts.Writing{Unit: r.list.Unit, DecimalComma: r.list.DecimalComma && cell.Kind == Text}
	if column.Unit != "" {
		how.Unit = column.Unit
	}
	size, err := parts.ParseSize(cell.Text, how)
	if p := parts.AsProblem(err); p != nil {
		r.trouble(row.Number, column, p)
	} else if size == (parts.Size{}) && field == LengthField {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "cell-empty", "The length is missing.").
			Next(`Write "to suit" if it is found at the bench.`))
	}
	return size
}

// counted reads a whole number, with or without a word for pieces. After a
// point or comma there may be one or two zeros: three would be thousands.
var counted = regexp.MustCompile(`(?i)^([0-9]{1,9})(?:[.,]0{1,2})?\s*(?:x|pcs?\.?|pieces?|off|ea|stk\.?|st\.?|stück)?$`)

// count reads a number of pieces, at least least.
func (r *reader) count(row Row, field Field, least int) int {
	cell, column, ok := r.cell(row, field)
	if !ok {
		return 0
	}
	text := strings.TrimSpace(cell.Text)
	if field == SparesField && strings.Trim(text, "-–—") == "" {
		return 0
	}
	found := counted.FindStringSubmatch(text)
	if found == nil {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "count-unreadable", "%s is not a whole number of pieces.", short(text)).
			Next("Write it like 12, without a point or comma."))
		return 0
	}
	n, err := strconv.Atoi(found[1])
	if err != nil || n < least || n > MostQuantity {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "count-out", "%s is out of bounds: there may be %d to %d pieces.", short(text), least, MostQuantity).
			Next("Write the number of pieces of this line alone."))
		return 0
	}
	return n
}
