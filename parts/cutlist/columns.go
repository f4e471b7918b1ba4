package cutlist

import (
	"maps"
	"slices"
	"strings"

	"benchtally/parts"
)

// columns finds the heading row and what its columns hold. It gives the rows
// below, none when the list cannot be read.
func (r *reader) columns(t Table) []Row {
	byHand := r.foldColumns()
	for i, row := range t.Rows {
		if known(row, byHand) < 2 {
			continue
		}
		r.list.Heading = row.Number
		for j, cell := range row.Cells {
			column, _ := recognise(cell.Text, byHand)
			column.Index = j + 1
			r.list.Columns = append(r.list.Columns, column)
		}
		r.checkByHand(byHand)
		r.checkTwice()
		r.checkMissing()
		return t.Rows[i+1:]
	}
	r.trouble(0, Column{}, parts.Problemf(parts.Invalid, "headings-missing",
		"No row of the list names its columns. These headings are understood: %s.", understood()).
		Next("Put such headings above the parts, or say which column is which with -map 'HEADING=field', or on the import page."))
	return nil
}

// foldColumns keys the columns chosen by hand by folded heading.
func (r *reader) foldColumns() map[string]Field {
	byHand := make(map[string]Field, len(r.choices.Columns))
	for _, heading := range slices.Sorted(maps.Keys(r.choices.Columns)) {
		field := r.choices.Columns[heading]
		if p := unknownField(field); p != nil {
			r.trouble(0, Column{}, p)
			continue
		}
		byHand[fold(heading)] = field
	}
	return byHand
}

// checkByHand reports choices of a heading that the list does not have.
func (r *reader) checkByHand(byHand map[string]Field) {
	for _, heading := range slices.Sorted(maps.Keys(r.choices.Columns)) {
		has := slices.ContainsFunc(r.list.Columns, func(c Column) bool {
			name, _ := splitUnit(c.Heading)
			return fold(c.Heading) == fold(heading) || fold(name) == fold(heading)
		})
		if has {
			continue
		}
		var all []string
		for _, c := range r.list.Columns {
			if c.Heading != "" {
				all = append(all, c.Heading)
			}
		}
		r.trouble(r.list.Heading, Column{}, parts.Problemf(parts.Invalid, "column-missing",
			"No column is headed %s.", short(heading)).Next("The headings are: %s.", strings.Join(all, "; ")))
	}
}

// checkTwice reports fields that two columns hold. A column chosen by hand
// beats one that was only recognised.
func (r *reader) checkTwice() {
	for i := range r.list.Columns {
		c := &r.list.Columns[i]
		for j := range r.list.Columns {
			other := r.list.Columns[j]
			switch {
			case c.Field == Ignored || i == j || other.Field != c.Field:
				continue
			case other.ByHand && !c.ByHand:
				c.Field = Ignored
			case j < i && other.ByHand == c.ByHand:
				r.trouble(r.list.Heading, *c, parts.Problemf(parts.Invalid, "columns-alike",
					"The columns %s (column %d) and %s (column %d) both hold the %s.",
					short(other.Heading), other.Index, short(c.Heading), c.Index, c.Field).
					Next("Rename one, or say which one to read with -map 'HEADING=field', or on the import page."))
				c.Field = Ignored
			}
		}
	}
}

// checkMissing reports fields without which there are no parts.
func (r *reader) checkMissing() {
	for _, field := range []Field{QuantityField, PartField, LengthField} {
		if r.find(field) == nil {
			r.trouble(r.list.Heading, Column{}, parts.Problemf(parts.Invalid, "field-missing",
				"No column holds the %s. Its heading may be: %s.", field, strings.Join(headingWords[field], ", ")).
				Next("Rename a column, or say which one it is with -map 'HEADING=%s', or on the import page.", field))
		}
	}
}

// find gives the column that holds a field, or nil.
func (r *reader) find(field Field) *Column {
	for i := range r.list.Columns {
		if r.list.Columns[i].Field == field {
			return &r.list.Columns[i]
		}
	}
	return nil
}
