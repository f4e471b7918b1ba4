package cutlist

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"benchtally/parts"
)

// readXLSX reads the first visible sheet that has rows.
func readXLSX(data []byte) (Table, error) {
	table, err := openXLSX(data)
	switch {
	case err == nil:
		return table, nil
	case parts.AsProblem(err) != nil:
		return Table{}, err
	case errors.Is(err, errUnpacked):
		return Table{}, parts.Problemf(parts.TooBig, "file-large", "The spreadsheet unpacks to more than a cut list can hold.").
			Next("Copy the cut list alone into an empty spreadsheet and save that.").Because(err)
	}
	return Table{}, parts.Problemf(parts.Invalid, "file-broken", "The spreadsheet is damaged, or no XLSX file.").
		Next(saveAs).Because(err)
}

func openXLSX(data []byte) (t Table, err error) {
	// Files nobody thought of make the library panic; to the shop they are
	// damaged like any other.
	defer func() {
		if fault := recover(); fault != nil {
			t, err = Table{}, fmt.Errorf("read spreadsheet: %v", fault)
		}
	}()
	bare, err := checkXLSX(data)
	if err != nil {
		return Table{}, err
	}
	file, err := excelize.OpenReader(bytes.NewReader(data),
		excelize.Options{RawCellValue: true, UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostEntry})
	if err != nil {
		return Table{}, err
	}
	defer file.Close()
	names := file.GetSheetList()
	if len(names) == 0 {
		return Table{}, errors.New("no sheets")
	}
	for _, name := range names {
		if visible, err := file.GetSheetVisible(name); err == nil && !visible {
			continue
		}
		table, err := sheet{file, name, bare, map[int]format{}}.read()
		if err != nil || len(table.Rows) > 0 {
			return table, err
		}
	}
	return Table{}, parts.Problemf(parts.Invalid, "file-empty", "No sheet of the spreadsheet has rows.").
		Next("Save the cut list again and choose that file.")
}

// sheet is one sheet while it is read.
type sheet struct {
	file    *excelize.File
	name    string
	bare    bare
	formats map[int]format // by style
}

func (s sheet) read() (Table, error) {
	var t Table
	rows, err := s.file.Rows(s.name)
	if err != nil {
		return Table{}, err
	}
	defer rows.Close()
	// To the library a cell under a merged one is of that one's kind and has
	// its formula. If this fails, so does the first look at a cell.
	_ = s.file.UnmergeCell(s.name, "A1", "XFD1048576")
	cells := 0
	for number := 1; rows.Next(); number++ {
		values, err := rows.Columns()
		if err != nil {
			return Table{}, err
		}
		if len(values) > mostColumns {
			return Table{}, tooBig("Row %d has more than %d columns.", number, mostColumns)
		}
		row := Row{Number: number, Cells: make([]Cell, len(values))}
		for i, value := range values {
			if row.Cells[i], err = s.cell(i+1, number, strings.TrimSpace(value)); err != nil {
				return Table{}, err
			}
		}
		if err := t.add(row, &cells); err != nil {
			return Table{}, err
		}
	}
	return t, rows.Error()
}

// cell finds out what a value is.
func (s sheet) cell(column, row int, value string) (Cell, error) {
	place, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return Cell{}, err
	}
	if value == "" {
		// bare is of all sheets together.
		formula, err := s.file.GetCellFormula(s.name, place)
		if err != nil || formula == "" || !s.bare[place] {
			return Cell{}, err
		}
		return Cell{Kind: Formula}, nil
	}
	kind, err := s.file.GetCellType(s.name, place)
	switch kind {
	case excelize.CellTypeUnset, excelize.CellTypeNumber:
		if err == nil {
			return s.number(place, value)
		}
	case excelize.CellTypeDate:
		return Cell{Text: value, Kind: Date}, nil
	case excelize.CellTypeError:
		return Cell{Text: value, Kind: Failed}, nil
	case excelize.CellTypeBool:
		return Cell{Text: map[string]string{"1": "TRUE", "0": "FALSE"}[value]}, nil
	}
	return Cell{Text: value}, err
}

// number writes a number in full, to the fifteen digits that spreadsheets
// show, with the unit that its format appends.
func (s sheet) number(place, value string) (Cell, error) {
	f, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsNaN(f) || math.Abs(f) > 1e15 {
		return Cell{Text: value}, nil
	}
	f, _ = strconv.ParseFloat(strconv.FormatFloat(f, 'g', 15, 64), 64)
	cell := Cell{Text: strconv.FormatFloat(f, 'f', -1, 64), Kind: Number}
	id, err := s.file.GetCellStyle(s.name, place)
	if err != nil {
		return Cell{}, err
	}
	format, known := s.formats[id]
	if !known {
		// A style that the file does not have says nothing about the number.
		if style, err := s.file.GetStyle(id); err == nil {
			format = readFormat(style.NumFmt, style.CustomNumFmt)
		}
		s.formats[id] = format
	}
	switch {
	case format.date:
		cell.Kind = Date
	case format.unit != "":
		cell.Text += " " + string(format.unit)
	}
	return cell, nil
}

// format is what the look of a number says about its meaning.
type format struct {
	date bool
	unit parts.Unit // shown behind the number: `0.0" mm"`
}

// formatPieces finds what means something in a number format code, up to the
// end of its first section, which is that of lengths: quoted and escaped text,
// fillers, colours and conditions, letters of days, months, years, hours and
// seconds (ISO/IEC 29500-1, 18.8.31).
var formatPieces = regexp.MustCompile(`(?s)"([^"]*)"?|\\(.)|[_*].|\[[^\]]*\]?|;.*|([dmyhsDMYHS])`)

// readFormat reads a number format: its code, or the number of one that needs
// no code in the file (18.8.30).
func readFormat(id int, code *string) format {
	if code == nil {
		return format{date: id >= 14 && id <= 22 || id >= 27 && id <= 36 || id >= 45 && id <= 47 || id >= 50 && id <= 58}
	}
	var f format
	var shown strings.Builder
	for _, piece := range formatPieces.FindAllStringSubmatch(*code, -1) {
		shown.WriteString(piece[1] + piece[2])
		f.date = f.date || piece[3] != ""
	}
	f.unit = unitWord(shown.String())
	return f
}
