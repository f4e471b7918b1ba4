package cutlist

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"path"
	"strings"

	"benchtally/parts"
)

// How much a spreadsheet may unpack to, in bytes: a small file can hold a
// huge one.
const (
	mostUnpacked = 64 << 20 // of all that is read
	mostEntry    = 32 << 20 // of one file inside
	mostStrings  = mostCells
)

// workbook is an opened XLSX file (ISO/IEC 29500-1, SpreadsheetML).
type workbook struct {
	entries map[string]*zip.File // by lower-case path
	left    int64                // bytes that may still be unpacked
	strings []string             // texts that cells share
	formats []format             // of numbers, by style
}

// errUnpacked says that a file inside is larger than a cut list can be.
var errUnpacked = errors.New("unpacks to too much")

// readXLSX reads the first visible sheet that has rows.
func readXLSX(data []byte) (Table, error) {
	table, err := openXLSX(data)
	switch {
	case err == nil:
		return table, nil
	case parts.AsProblem(err) != nil:
		return Table{}, err
	case errors.Is(err, errUnpacked):
		return Table{}, parts.Problemf(parts.TooBig, "file-large", "The spreadsheet unpacks to more than %d MB.", mostEntry>>20).
			Next("Copy the cut list alone into an empty spreadsheet and save that.").Because(err)
	}
	return Table{}, parts.Problemf(parts.Invalid, "file-broken", "The spreadsheet is damaged, or no XLSX file.").
		Next(saveAs).Because(err)
}

func openXLSX(data []byte) (Table, error) {
	archive, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return Table{}, err
	}
	w := &workbook{entries: make(map[string]*zip.File, len(archive.File)), left: mostUnpacked}
	for _, f := range archive.File {
		w.entries[strings.ToLower(strings.ReplaceAll(f.Name, `\`, "/"))] = f
	}
	sheets, err := w.open()
	if err != nil {
		return Table{}, err
	}
	for _, name := range sheets {
		table, err := w.sheet(name)
		if err != nil || len(table.Rows) > 0 {
			return table, err
		}
	}
	return Table{}, parts.Problemf(parts.Invalid, "file-empty", "No sheet of the spreadsheet has rows.").
		Next("Save the cut list again and choose that file.")
}

// open reads what all sheets share and gives the paths of the visible ones,
// in order.
func (w *workbook) open() ([]string, error) {
	main := "xl/workbook.xml"
	if root, err := w.relations(""); err == nil {
		for _, r := range root {
			if strings.HasSuffix(r.Type, "/officeDocument") {
				main = r.Target
			}
		}
	}
	var book struct {
		Sheets []struct {
			State string     `xml:"state,attr"`
			Attrs []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	if err := w.decode(main, &book); err != nil {
		return nil, err
	}
	relations, err := w.relations(main)
	if err != nil {
		return nil, err
	}
	var sheets []string
	for _, s := range book.Sheets {
		for _, a := range s.Attrs {
			r := relations[a.Value]
			if a.Name.Local == "id" && strings.HasSuffix(r.Type, "/worksheet") && (s.State == "" || s.State == "visible") {
				sheets = append(sheets, r.Target)
			}
		}
	}
	return sheets, w.shared(relations)
}

// shared reads the texts and the number formats that cells refer to.
func (w *workbook) shared(relations map[string]relation) (err error) {
	for _, r := range relations {
		switch {
		case strings.HasSuffix(r.Type, "/sharedStrings"):
			err = w.readStrings(r.Target)
		case strings.HasSuffix(r.Type, "/styles"):
			err = w.readFormats(r.Target)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// relation says where another file of the package lies, and what it is.
type relation struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
}

// relations gives the relations of a file by id, with targets as whole paths.
func (w *workbook) relations(of string) (map[string]relation, error) {
	dir, base := path.Split(of)
	var list struct {
		Relations []relation `xml:"Relationship"`
	}
	if err := w.decode(dir+"_rels/"+base+".rels", &list); err != nil {
		return nil, err
	}
	byID := make(map[string]relation, len(list.Relations))
	for _, r := range list.Relations {
		if !strings.HasPrefix(r.Target, "/") {
			r.Target = path.Join("/", dir, r.Target)
		}
		r.Target = strings.TrimPrefix(r.Target, "/")
		byID[r.ID] = r
	}
	return byID, nil
}

// read hands the XML of one file of the package to use.
func (w *workbook) read(name string, use func(*xml.Decoder) error) error {
	entry := w.entries[strings.ToLower(name)]
	if entry == nil {
		return errors.New("no " + name)
	}
	file, err := entry.Open()
	if err != nil {
		return err
	}
	defer file.Close()
	limit := min(w.left, mostEntry)
	limited := &io.LimitedReader{R: file, N: limit + 1}
	err = use(xml.NewDecoder(limited))
	w.left -= limit + 1 - limited.N
	if limited.N <= 0 {
		return errUnpacked
	}
	return err
}

func (w *workbook) decode(name string, into any) error {
	return w.read(name, func(d *xml.Decoder) error { return d.Decode(into) })
}
