package cutlist

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
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
	mostSlow     = 2 * MostLines // elements of a sheet that the library goes through again for every cell
)

// errUnpacked says that the file holds more than a cut list can.
var errUnpacked = errors.New("unpacks to too much")

// checkXLSX looks through the files inside before the library reads them.
func checkXLSX(data []byte) error {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return err
	}
	left := uint64(mostUnpacked)
	for _, entry := range archive.File {
		if entry.UncompressedSize64 > min(left, mostEntry) {
			return errUnpacked
		}
		left -= entry.UncompressedSize64
		if err := checkEntry(entry); err != nil {
			return err
		}
	}
	return nil
}

// checkEntry counts the elements of one file. Only a sheet must be sound:
// pictures are no XML, and the library reports what else it cannot read.
func checkEntry(entry *zip.File) error {
	file, err := entry.Open()
	if err != nil {
		return err
	}
	defer file.Close()
	d := xml.NewDecoder(file)
	d.CharsetReader = charset.NewReaderLabel
	var s *walk
	for elements := 0; ; {
		token, err := d.Token()
		if err != nil {
			if s == nil || errors.Is(err, io.EOF) {
				return nil
			}
			return err
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		if elements++; elements == 1 && e.Name.Local == "worksheet" {
			s = &walk{}
		}
		if elements > mostElements {
			return errUnpacked
		}
		if s != nil {
			if err := s.follow(e); err != nil {
				return err
			}
		}
	}
}

// walk follows the rows and cells of a sheet. The library reads a sheet by
// rows and a second time by cells; both give the same only when all stand in
// order, and the second keeps every place left of a cell.
type walk struct{ row, column, kept, slow int }

func (w *walk) follow(e xml.StartElement) error {
	at := ""
	for _, a := range e.Attr {
		if a.Name.Local == "r" {
			at = a.Value
		}
	}
	switch e.Name.Local {
	case "mergeCell", "col":
		w.slow++
	case "row":
		row, err := w.row+1, error(nil)
		if at == "" {
			w.slow++
		} else if row, err = strconv.Atoi(at); err != nil || row <= w.row {
			return errors.New("rows out of order")
		}
		w.row, w.column = row, 0
	case "c":
		column, err := w.column+1, error(nil)
		if at != "" {
			column, _, err = excelize.CellNameToCoordinates(at)
		}
		place, _ := excelize.CoordinatesToCellName(column, w.row)
		if err != nil || column <= w.column || at != "" && at != place {
			return errors.New("cells out of order")
		}
		w.kept += column - w.column
		w.column = column
	}
	if w.kept > mostElements || w.slow > mostSlow {
		return errUnpacked
	}
	return nil
}
