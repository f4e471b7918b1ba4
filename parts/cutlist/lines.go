package cutlist

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
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
	line.Assembly = r.path(row)
	line.Notes = r.text(row, NotesField, LongestNotes)
	line.Spares = r.count(row, SparesField, 0)
	line.Tests = r.count(row, TestsField, 0)
	line.PerBlank = r.count(row, BlankField, 0)
	line.Pattern = r.pattern(row)
	line.Hand = r.hand(row)
	line.Grain = r.grain(row)
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
	if least == 0 && dashes(text) {
		return 0
	}
	most, next := MostQuantity, "Write the number of pieces of this line alone."
	if field == BlankField {
		most, next = MostPerBlank, "Write how many parts one blank becomes."
	}
	found := counted.FindStringSubmatch(text)
	if found == nil {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "count-unreadable", "%s is not a whole number of pieces.", short(text)).
			Next("Write it like 12, without a point or comma."))
		return 0
	}
	n, err := strconv.Atoi(found[1])
	if err != nil || n < least || n > most {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "count-out", "%s is out of bounds: there may be %d to %d pieces.", short(text), least, most).Next(next))
		return 0
	}
	return n
}

// dashes reports whether a cell says "none" with a dash.
func dashes(text string) bool { return strings.Trim(text, "-–—") == "" }

// pattern reads the name or the key of one of the shop's patterns of holes
// and gives its key.
func (r *reader) pattern(row Row) string {
	cell, column, ok := r.cell(row, PatternField)
	if !ok || dashes(clean(cell.Text)) {
		return ""
	}
	name, names := clean(cell.Text), make([]string, len(r.choices.Patterns))
	for i, p := range r.choices.Patterns {
		if strings.EqualFold(name, p.Key) || strings.EqualFold(name, clean(p.Name)) {
			return p.Key
		}
		names[i] = p.Name
	}
	unknown := parts.Problemf(parts.Invalid, "pattern-unknown", "The shop has no pattern of holes %s.", short(name))
	if len(names) == 0 {
		unknown = unknown.Next("Make the pattern first, or say on the import page that this column is not used.")
	} else {
		unknown = unknown.Next("There are: %s. Write one of these, or make the pattern first.", listed(names))
	}
	r.trouble(row.Number, column, unknown)
	return ""
}

// mostListed bounds the names in a sentence.
const mostListed = 12

// listed joins names for a sentence.
func listed(names []string) string {
	if left := len(names) - mostListed; left > 0 {
		names = append(slices.Clone(names[:mostListed]), fmt.Sprintf("and %d more", left))
	}
	return strings.Join(names, "; ")
}

// handWords are ways of writing a hand, folded.
var handWords = map[string]parts.Hand{
	"left": parts.Left, "l": parts.Left, "lh": parts.Left, "lefthand": parts.Left, "lefthanded": parts.Left,
	"links": parts.Left, "li": parts.Left, "linke": parts.Left,
	"right": parts.Right, "r": parts.Right, "rh": parts.Right, "righthand": parts.Right, "righthanded": parts.Right,
	"rechts": parts.Right, "re": parts.Right, "rechte": parts.Right,
	"none": "", "keine": "", "ohne": "",
}

// hand reads which of a pair a line is.
func (r *reader) hand(row Row) parts.Hand {
	cell, column, ok := r.cell(row, HandField)
	if !ok || dashes(clean(cell.Text)) {
		return ""
	}
	hand, known := handWords[fold(cell.Text)]
	if !known {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "hand-unreadable", "%s is neither left nor right.", short(cell.Text)).
			Next("Write left or right, with a row for each of the two, or leave it empty for a part that has no hand."))
	}
	return hand
}

// grainWords are ways of writing which way the grain runs, folded.
var grainWords = map[string]parts.Grain{
	"lengthwise": parts.GrainLong, "alonglength": parts.GrainLong, "length": parts.GrainLong, "long": parts.GrainLong, "along": parts.GrainLong,
	"l": parts.GrainLong, "laengs": parts.GrainLong, "laenge": parts.GrainLong,
	"crosswise": parts.GrainAcross, "alongwidth": parts.GrainAcross, "width": parts.GrainAcross, "across": parts.GrainAcross, "cross": parts.GrainAcross,
	"w": parts.GrainAcross, "quer": parts.GrainAcross, "breite": parts.GrainAcross,
	"none": parts.GrainNone, "no": parts.GrainNone, "any": parts.GrainNone, "keine": parts.GrainNone, "ohne": parts.GrainNone, "egal": parts.GrainNone,
}

// grain reads which way the grain of a line runs.
func (r *reader) grain(row Row) parts.Grain {
	cell, column, ok := r.cell(row, GrainField)
	if !ok || dashes(clean(cell.Text)) {
		return ""
	}
	grain, known := grainWords[fold(cell.Text)]
	if !known {
		r.trouble(row.Number, column, parts.Problemf(parts.Invalid, "grain-unreadable", "%s does not say which way the grain runs.", short(cell.Text)).
			Next("Write along length, along width or none, or leave it empty: it then runs along the length."))
	}
	return grain
}
