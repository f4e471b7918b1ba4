package cutlist

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"maps"
	"slices"
	"strconv"

	"github.com/xuri/excelize/v2"
	"golang.org/x/net/html/charset"
)

// How much a spreadsheet may unpack to: a small file can hold a huge one, and
// the library keeps all of it in memory.
const (
	mostUnpacked = 64 << 20      // bytes of all files inside
	mostEntry    = 32 << 20      // bytes of one
	mostElements = 1_000_000     // XML elements of one; cells of a sheet, with the empty ones left of them
	mostSlow     = 2 * MostLines // rows without a number, merged cells and columns: the library goes through all for each
)

// errUnpacked says that the file holds more than a cut list can.
var errUnpacked = errors.New("unpacks to too much")

// bare is the places of formulas whose value is not stored. To the library
// they are the same as formulas that give an empty text.
type bare map[string]bool

// checkXLSX looks through the files inside before the library reads them.
func checkXLSX(data []byte) (bare, error) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	left, found := uint64(mostUnpacked), bare{}
	for _, entry := range archive.File {
		if entry.UncompressedSize64 > min(left, mostEntry) {
			return nil, errUnpacked
		}
		left -= entry.UncompressedSize64
		if err := checkEntry(entry, found); err != nil {
			return nil, err
		}
	}
	return found, nil
}

// checkEntry looks through one file. Only a sheet must be sound: pictures are
// no XML, and the library reports what else it cannot read.
func checkEntry(entry *zip.File, found bare) error {
	file, err := entry.Open()
	if err != nil {
		return err
	}
	defer file.Close()
	d := xml.NewDecoder(file)
	d.CharsetReader = charset.NewReaderLabel
	isSheet, sheet := false, walk{bare: bare{}}
	for elements := 0; elements <= mostElements; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) || err != nil && !isSheet {
			maps.Copy(found, sheet.bare)
			return nil
		}
		if err != nil {
			return err
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if elements++; elements == 1 {
			isSheet = e.Name.Local == "worksheet"
		}
		if isSheet {
			if err := sheet.follow(e); err != nil {
				return err
			}
		}
	}
	return errUnpacked
}

// walk goes through the rows and cells of a sheet. The library reads a sheet
// by rows and again by cells; both give the same only when all stand in order,
// and the second keeps every place left of a cell.
type walk struct {
	row, column int
	place, kind string // of the cell
	kept, slow  int
	bare        bare
}

func (w *walk) follow(e xml.StartElement) error {
	attr := func(name string) string {
		i := slices.IndexFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == name })
		if i < 0 {
			return ""
		}
		return e.Attr[i].Value
	}
	switch e.Name.Local {
	case "mergeCell", "col":
		w.slow++
	case "row":
		row, err := w.row+1, error(nil)
		if number := attr("r"); number == "" {
			w.slow++
		} else if row, err = strconv.Atoi(number); err != nil || row <= w.row {
			return errors.New("rows out of order")
		}
		w.row, w.column = row, 0
	case "c":
		column, place := w.column+1, attr("r")
		if place != "" {
			column, _, _ = excelize.CellNameToCoordinates(place)
		}
		w.place, _ = excelize.CoordinatesToCellName(column, w.row)
		if column <= w.column || place != "" && place != w.place {
			return errors.New("cells out of order")
		}
		w.kept += column - w.column
		w.column, w.kind = column, attr("t")
	case "f":
		w.bare[w.place] = true
	case "v":
		if w.kind == "str" || w.kind == "s" {
			delete(w.bare, w.place)
		}
	}
	if w.kept > mostElements || w.slow > mostSlow {
		return errUnpacked
	}
	return nil
}
