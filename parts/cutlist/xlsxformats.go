package cutlist

import (
	"encoding/xml"
	"strings"

	"benchtally/parts"
)

// format is what the look of a number says about its meaning.
type format struct {
	date bool
	unit parts.Unit // shown behind the number: `0.0" mm"`
}

// readFormats reads the number format of every cell style.
func (w *workbook) readFormats(name string) error {
	var styles struct {
		Codes []struct {
			ID   int    `xml:"numFmtId,attr"`
			Code string `xml:"formatCode,attr"`
		} `xml:"numFmts>numFmt"`
		Cells []struct {
			ID int `xml:"numFmtId,attr"`
		} `xml:"cellXfs>xf"`
	}
	if err := w.read(name, func(d *xml.Decoder) error { return d.Decode(&styles) }); err != nil {
		return err
	}
	codes := make(map[int]string, len(styles.Codes))
	for _, c := range styles.Codes {
		codes[c.ID] = c.Code
	}
	for _, c := range styles.Cells {
		if code, own := codes[c.ID]; own {
			w.formats = append(w.formats, readFormat(code))
		} else {
			w.formats = append(w.formats, format{date: builtInDate(c.ID)})
		}
	}
	return nil
}

// builtInDate tells the numbers of date and time formats that need no code
// in the file (ISO/IEC 29500-1, 18.8.30).
func builtInDate(id int) bool {
	return id >= 14 && id <= 22 || id >= 27 && id <= 36 || id >= 45 && id <= 47 || id >= 50 && id <= 58
}

// readFormat reads the first section of a number format code: letters of
// days, months, years, hours or seconds make a date, and quoted or escaped
// text may be a unit.
func readFormat(code string) format {
	var f format
	var shown strings.Builder
	quoted, bracket, escaped, dropped := false, false, false, false
	for _, r := range code {
		switch {
		case dropped:
			dropped = false
		case escaped:
			shown.WriteRune(r)
			escaped = false
		case r == '"':
			quoted = !quoted
		case quoted:
			shown.WriteRune(r)
		case bracket:
			bracket = r != ']'
		case r == '[':
			bracket = true
		case r == '\\':
			escaped = true
		case r == '_' || r == '*': // as wide as, or filled with, the next one
			dropped = true
		case r == ';':
			f.unit = unitWord(shown.String())
			return f
		case strings.ContainsRune("dmyhsDMYHS", r):
			f.date = true
		}
	}
	f.unit = unitWord(shown.String())
	return f
}
