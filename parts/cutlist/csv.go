package cutlist

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"

	"benchtally/parts"
)

// separators are tried in this order; the first of equals wins.
const separators = ";\t,"

// readText reads text with whichever separator makes most sense of it.
func readText(text string) (Table, error) {
	text = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text)
	var best Table
	var problem error
	most := -1
	for _, sep := range separators {
		table, err := readCSV(text, sep)
		if s := sense(table); s > most {
			best, problem, most = table, err, s
		}
	}
	return best, problem
}

// sense says how much a table looks like a cut list: known headings count
// most, then rows with as many cells as most rows have.
func sense(t Table) int {
	headings, alike := 0, 0
	widths := map[int]int{}
	for _, row := range t.Rows[:min(len(t.Rows), 50)] {
		headings = max(headings, known(row, nil))
		if n := len(row.Cells); n > 1 {
			widths[n]++
			alike = max(alike, widths[n])
		}
	}
	return headings*1000 + alike
}

// readCSV reads cells separated by sep. A quotation mark inside a cell that
// does not begin with one, such as an inch mark, is an ordinary character.
func readCSV(text string, sep rune) (Table, error) {
	table, err := readQuoted(text, sep, false)
	if errors.Is(err, csv.ErrBareQuote) || errors.Is(err, csv.ErrQuote) {
		return readQuoted(text, sep, true)
	}
	return table, err
}

// readQuoted reads cells; lazily, inch marks are allowed, but a quoted cell
// may not go on in the next line, or a mark nobody closed would swallow rows.
// With an error it gives the rows so far, to tell how much sense they make.
func readQuoted(text string, sep rune, lazy bool) (Table, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord = sep, lazy, -1
	r.TrimLeadingSpace = sep != '\t'
	var t Table
	cells, inside := 0, 0 // line ends inside quoted cells so far
	for {
		record, err := r.Read()
		if errors.Is(err, io.EOF) {
			return t, nil
		}
		if err != nil {
			return t, err
		}
		line, _ := r.FieldPos(0)
		row := Row{Number: line - inside}
		for _, field := range record {
			ends := strings.Count(field, "\n")
			if lazy && ends > 0 {
				t.Rows = append(t.Rows, row)
				return t, openQuote(row.Number)
			}
			inside += ends
			row.Cells = append(row.Cells, textCell(field))
		}
		if err := t.add(row, &cells); err != nil {
			t.Rows = append(t.Rows, row)
			return t, err
		}
	}
}

func openQuote(row int) *parts.Problem {
	return parts.Problemf(parts.Invalid, "file-quotes", "In row %d a cell begins with a quotation mark, and none closes it.", row).
		Next("Close it, or leave it out. An inch mark goes after its number.")
}

func textCell(text string) Cell {
	text = strings.TrimSpace(text)
	if strings.HasPrefix(text, "=") {
		return Cell{Text: text, Kind: Formula}
	}
	return Cell{Text: text}
}
