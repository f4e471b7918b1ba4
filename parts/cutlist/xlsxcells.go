package cutlist

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
)

// elements calls use for every element that starts, until the end of the file.
func elements(d *xml.Decoder, use func(xml.StartElement) error) error {
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		if start, ok := token.(xml.StartElement); ok {
			if err := use(start); err != nil {
				return err
			}
		}
	}
}

// richText is text that may be cut into runs of different looks.
type richText struct {
	Text string `xml:"t"`
	Runs []struct {
		Text string `xml:"t"`
	} `xml:"r"`
}

func (r richText) String() string {
	var text strings.Builder
	text.WriteString(r.Text)
	for _, run := range r.Runs {
		text.WriteString(run.Text)
	}
	return text.String()
}

func (w *workbook) readStrings(name string) error {
	return w.read(name, func(d *xml.Decoder) error {
		return elements(d, func(e xml.StartElement) error {
			if e.Name.Local != "si" {
				return nil
			}
			if len(w.strings) >= mostStrings {
				return errUnpacked
			}
			var text richText
			if err := d.DecodeElement(&text, &e); err != nil {
				return err
			}
			w.strings = append(w.strings, text.String())
			return nil
		})
	})
}

// cellXML is a cell as the file holds it.
type cellXML struct {
	Place   string    `xml:"r,attr"`
	Type    string    `xml:"t,attr"`
	Style   int       `xml:"s,attr"`
	Formula *struct{} `xml:"f"`
	Value   *string   `xml:"v"`
	Inline  richText  `xml:"is"`
}

// sheet reads the cells of one sheet.
func (w *workbook) sheet(name string) (Table, error) {
	var t Table
	var row Row
	cells := 0
	err := w.read(name, func(d *xml.Decoder) error {
		err := elements(d, func(e xml.StartElement) error {
			switch e.Name.Local {
			case "row":
				if err := t.add(row, &cells); err != nil {
					return err
				}
				row = Row{Number: rowNumber(e, row.Number+1)}
			case "c":
				return w.cell(d, e, &row)
			}
			return nil
		})
		if err != nil {
			return err
		}
		return t.add(row, &cells)
	})
	return t, err
}

// rowNumber is what the row says its number is, next when it says nothing.
func rowNumber(e xml.StartElement, next int) int {
	for _, a := range e.Attr {
		if n, err := strconv.Atoi(a.Value); a.Name.Local == "r" && err == nil && n >= next && n <= 1<<20 {
			return n
		}
	}
	return next
}

// cell reads one cell and puts it in its place in the row.
func (w *workbook) cell(d *xml.Decoder, e xml.StartElement, row *Row) error {
	var c cellXML
	if err := d.DecodeElement(&c, &e); err != nil {
		return err
	}
	cell, at := w.value(c), column(c.Place)
	switch {
	case at == 0:
		at = len(row.Cells) + 1
	case at <= len(row.Cells):
		return errors.New("cells out of order")
	}
	if blank(cell) && c.Place != "" {
		return nil
	}
	if at > mostColumns {
		return tooBig("Row %d has more than %d columns.", row.Number, mostColumns)
	}
	for len(row.Cells) < at-1 {
		row.Cells = append(row.Cells, Cell{})
	}
	row.Cells = append(row.Cells, cell)
	return nil
}

// column is the number of the column in a place like "AB12", 0 when there is
// no place.
func column(place string) int {
	n := 0
	for _, r := range place {
		if r < 'A' || r > 'Z' || n > mostColumns {
			break
		}
		n = n*26 + int(r-'A') + 1
	}
	return n
}

// value gives the text of a cell.
func (w *workbook) value(c cellXML) Cell {
	if c.Type == "inlineStr" {
		return Cell{Text: strings.TrimSpace(c.Inline.String())}
	}
	if c.Value == nil || *c.Value == "" && c.Type != "str" {
		if c.Formula != nil {
			return Cell{Kind: Formula}
		}
		return Cell{}
	}
	value := strings.TrimSpace(*c.Value)
	switch c.Type {
	case "s":
		i, err := strconv.Atoi(value)
		if err != nil || i < 0 || i >= len(w.strings) {
			return Cell{Text: value, Kind: Failed}
		}
		return Cell{Text: strings.TrimSpace(w.strings[i])}
	case "str":
		return Cell{Text: value}
	case "d":
		return Cell{Text: value, Kind: Date}
	case "e":
		return Cell{Text: value, Kind: Failed}
	case "b":
		return Cell{Text: map[string]string{"1": "TRUE", "0": "FALSE"}[value]}
	}
	f, err := strconv.ParseFloat(value, 64)
	if err != nil || math.IsInf(f, 0) || math.IsNaN(f) || math.Abs(f) > 1e15 {
		return Cell{Text: value}
	}
	return w.number(f, c.Style)
}

// number writes a number in full, to the fifteen digits that spreadsheets
// show, with the unit that its format appends.
func (w *workbook) number(f float64, style int) Cell {
	f, _ = strconv.ParseFloat(strconv.FormatFloat(f, 'g', 15, 64), 64)
	text := strconv.FormatFloat(f, 'f', -1, 64)
	if style < 0 || style >= len(w.formats) {
		return Cell{Text: text, Kind: Number}
	}
	switch format := w.formats[style]; {
	case format.date:
		return Cell{Text: text, Kind: Date}
	case format.unit != "":
		return Cell{Text: text + " " + string(format.unit), Kind: Number}
	}
	return Cell{Text: text, Kind: Number}
}
