package cutlist

import (
	"bytes"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"benchtally/parts"
)

// The limits of a file, before it is known what its rows mean.
const (
	mostRows    = 20_000 // rows that hold something
	mostColumns = 200
	mostCells   = 400_000
	longestCell = 4_000 // bytes
)

// Table is the cells of a file.
type Table struct{ Rows []Row }

// Row is one row that holds something.
type Row struct {
	Number int // as a spreadsheet counts, from 1
	Cells  []Cell
}

// Cell is the text of a cell and what the file says it is.
type Cell struct {
	Text string
	Kind Kind
}

// Kind is what the file says a cell is.
type Kind byte

// The kinds of cell. Only Text and Number can be read.
const (
	Text    Kind = iota
	Number       // a spreadsheet's number: in full, with a decimal point whatever the list writes
	Date         // a spreadsheet's date, often made of a fraction
	Formula      // a formula without a stored value
	Failed       // a formula whose value is an error
)

// ReadFile reads the cells of a CSV or XLSX file; the name only helps to say
// what is wrong. The error is a Problem: file-empty, file-old, file-pdf,
// file-strange, file-broken, file-quotes, or file-large (TooBig).
func ReadFile(name string, data []byte) (Table, error) {
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return Table{}, parts.Problemf(parts.Invalid, "file-empty", "The file has no rows.").
			Next("Save the cut list again and choose that file.")
	case bytes.HasPrefix(data, []byte("PK\x03\x04")), bytes.HasPrefix(data, []byte("PK\x05\x06")):
		return readXLSX(data)
	case bytes.HasPrefix(data, []byte("\xD0\xCF\x11\xE0")):
		return Table{}, parts.Problemf(parts.Invalid, "file-old", "The file %s is a spreadsheet of the old kind (.xls), or one with a password.", short(name)).
			Next(saveAs)
	case bytes.HasPrefix(data, []byte("%PDF")):
		return Table{}, parts.Problemf(parts.Invalid, "file-pdf", "The file %s is a PDF; the cut list in it cannot be read.", short(name)).
			Next("Ask for the spreadsheet it was made from, or copy its rows and paste them.")
	}
	text, ok := decode(data)
	if !ok {
		return Table{}, parts.Problemf(parts.Invalid, "file-strange", "The file %s is neither CSV nor XLSX.", short(name)).Next(saveAs)
	}
	return readText(text)
}

const saveAs = "Open it in a spreadsheet program and save it as .xlsx or CSV (UTF-8)."

// ReadText reads pasted text: cells with tabs between them as a spreadsheet
// copies them, or CSV. Its errors are those of ReadFile.
func ReadText(text string) (Table, error) {
	if strings.TrimSpace(text) == "" {
		return Table{}, parts.Problemf(parts.Invalid, "file-empty", "Nothing was pasted.").
			Next("Copy the rows of the cut list with their headings and paste them.")
	}
	return ReadFile("", []byte(strings.ToValidUTF8(text, "\uFFFD")))
}

// decode gives the text of a file in UTF-8, in UTF-16 with a byte order mark,
// or else in Windows-1252; false when it is no text.
func decode(data []byte) (string, bool) {
	switch {
	case bytes.HasPrefix(data, []byte("\xFF\xFE")), bytes.HasPrefix(data, []byte("\xFE\xFF")):
		text, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewDecoder().Bytes(data)
		if err != nil || bytes.IndexByte(text, 0) >= 0 {
			return "", false
		}
		return string(text), true
	case bytes.IndexByte(data, 0) >= 0:
		return "", false
	case utf8.Valid(data):
		return strings.TrimPrefix(string(data), "\uFEFF"), true
	}
	text, err := charmap.Windows1252.NewDecoder().Bytes(data)
	return string(text), err == nil
}

// add appends a row that holds something, or says which limit it breaks.
// cells counts those of the whole table so far.
func (t *Table) add(row Row, cells *int) error {
	for len(row.Cells) > 0 && blank(row.Cells[len(row.Cells)-1]) {
		row.Cells = row.Cells[:len(row.Cells)-1]
	}
	if len(row.Cells) == 0 {
		return nil
	}
	*cells += len(row.Cells)
	switch {
	case len(row.Cells) > mostColumns:
		return tooBig("Row %d has more than %d columns.", row.Number, mostColumns)
	case len(t.Rows) >= mostRows || *cells > mostCells:
		return tooBig("The file has more than %d rows.", len(t.Rows))
	}
	for i, c := range row.Cells {
		if len(c.Text) > longestCell {
			return tooBig("Row %d, column %d holds more than %d characters.", row.Number, i+1, longestCell)
		}
	}
	t.Rows = append(t.Rows, row)
	return nil
}

func tooBig(say string, args ...any) *parts.Problem {
	return parts.Problemf(parts.TooBig, "file-large", say, args...).
		Next("A cut list has at most %d lines; take out what is not part of it, or import it in pieces.", MostLines)
}

func blank(c Cell) bool {
	return c.Kind != Formula && strings.TrimSpace(c.Text) == ""
}

// short shows a file's name or a cell's text inside a sentence.
func short(s string) string {
	if s = clean(s); utf8.RuneCountInString(s) > 40 {
		s = string([]rune(s)[:40]) + "…"
	}
	for _, r := range s {
		if unprintable(r) {
			s = strings.ReplaceAll(s, string(r), "\uFFFD")
		}
	}
	return "“" + s + "”"
}
