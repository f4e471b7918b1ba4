package cutlist

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

	"benchtally/parts"
)

// headingWords lists the headings of each field as the trade writes them in
// English and German, folded.
var headingWords = map[Field][]string{
	QuantityField: {"quantity", "qty", "no", "noof", "numberof", "noofpieces", "pcs", "pieces", "pieceno", "count",
		"anzahl", "anz", "stueck", "stk", "stueckzahl", "menge"},
	PartField: {"part", "parts", "partname", "name", "description", "partdescription", "item", "component",
		"bezeichnung", "teil", "bauteil", "benennung", "teilename"},
	LengthField:    {"length", "len", "l", "finishedlength", "laenge", "fertiglaenge"},
	WidthField:     {"width", "w", "wide", "finishedwidth", "breite", "b", "fertigbreite"},
	ThicknessField: {"thickness", "thick", "thk", "t", "th", "finishedthickness", "dicke", "staerke", "fertigdicke"},
	MaterialField:  {"material", "species", "wood", "stock", "timber", "holz", "holzart", "werkstoff"},
	AssemblyField:  {"assembly", "frame", "unit", "goesin", "goesinto", "baugruppe", "rahmen", "gehoertzu"},
	NotesField:     {"notes", "note", "remarks", "remark", "comments", "comment", "bemerkung", "bemerkungen", "notiz", "notizen", "hinweis"},
	SparesField:    {"spares", "spare", "extra", "extras", "reserve", "ersatz"},
	TestsField:     {"testpieces", "testpiece", "tests", "test", "trialpieces", "probestuecke", "probestueck", "proben", "probe"},
	BlankField: {"perblank", "partsperblank", "piecesperblank", "blank",
		"jerohling", "prorohling", "teilejerohling", "teileprorohling", "stueckjerohling", "stueckprorohling"},
	PatternField: {"pattern", "bore", "borepattern", "boringpattern", "holepattern", "drillpattern",
		"bohrbild", "lochbild", "bohrmuster"},
	// Not "side": it may as well say which side is seen, or veneered.
	HandField:  {"hand", "handed", "handedness", "leftright", "leftorright", "lr", "handlr", "handleftright", "lhrh", "linksrechts", "linksoderrechts"},
	GrainField: {"grain", "graindirection", "grainruns", "graindir", "faser", "faserrichtung", "faserverlauf", "maserung", "maserrichtung", "laufrichtung"},
}

// headingFields is headingWords turned round.
var headingFields = func() map[string]Field {
	fields := map[string]Field{}
	for field, headings := range headingWords {
		for _, h := range headings {
			fields[h] = field
		}
	}
	return fields
}()

// fold makes two ways of writing a heading or a name the same: small letters
// and digits only, ä as ae.
func fold(s string) string {
	s = umlauts.Replace(strings.ToLower(clean(s)))
	folded := strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
	if folded == "" {
		return s // "#"
	}
	return folded
}

var umlauts = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss")

// unitWord gives the unit a word stands for, "" for none.
func unitWord(word string) parts.Unit {
	switch strings.Trim(strings.ToLower(word), " .()[]") {
	case "in", "inch", "inches", "zoll", `"`, "″", "”":
		return parts.Inches
	case "ft", "feet", "foot", "'", "′":
		return parts.Feet
	case "mm", "millimetres", "millimeters", "millimeter":
		return parts.Millimetres
	case "cm", "centimetres", "centimeters", "zentimeter":
		return parts.Centimetres
	case "m", "metres", "meters", "meter":
		return parts.Metres
	}
	return ""
}

// splitUnit takes the unit off a heading: "Length (mm)", "Länge [mm]",
// "Length, in", "Width in inches".
func splitUnit(heading string) (name string, unit parts.Unit) {
	words := strings.FieldsFunc(strings.NewReplacer(`"`, ` " `, "″", " ″ ").Replace(heading), func(r rune) bool {
		return unicode.IsSpace(r) || strings.ContainsRune("()[]{},;:/|", r)
	})
	if len(words) < 2 {
		return heading, ""
	}
	last := len(words) - 1
	if unit = unitWord(words[last]); unit == "" {
		return heading, ""
	}
	if last > 1 && strings.EqualFold(words[last-1], "in") {
		last--
	}
	return strings.Join(words[:last], " "), unit
}

// recognise says what a heading stands for. byHand is keyed by folded heading.
func recognise(heading string, byHand map[string]Field) (c Column, known bool) {
	name, unit := splitUnit(heading)
	c = Column{Heading: clean(heading), Unit: unit}
	for _, key := range []string{fold(heading), fold(name)} {
		if field, said := byHand[key]; said && key != "" {
			c.Field, c.ByHand = field, true
			return c, true
		}
	}
	if c.Field, known = headingFields[fold(name)]; known {
		return c, true
	}
	c.Field, known = headingFields[fold(heading)]
	c.Unit = "" // the word was no unit: "goes in"
	return c, known
}

// known counts the different fields that a row names as headings.
func known(row Row, byHand map[string]Field) int {
	fields := map[Field]bool{}
	for _, cell := range row.Cells {
		if c, ok := recognise(cell.Text, byHand); ok && cell.Kind == Text {
			fields[c.Field] = true
		}
	}
	return len(fields)
}

// ParseColumn reads a choice of column as it is typed: HEADING=field. "ignore"
// or nothing after the last equals sign ignores the column. The error is an
// Invalid Problem, column-unreadable or field-unknown.
func ParseColumn(s string) (heading string, field Field, err error) {
	i := strings.LastIndexByte(s, '=')
	if i < 0 || fold(s[:i]) == "" {
		return "", "", parts.Problemf(parts.Invalid, "column-unreadable", "%s does not say which column holds what.", short(s)).
			Next("Write HEADING=field, for example Artikel=part.")
	}
	field = fieldOf(s[i+1:])
	if p := unknownField(field); p != nil {
		return "", "", p
	}
	return strings.TrimSpace(s[:i]), field, nil
}

// fieldOf is the field that a person names, in any way of writing it. A name
// that is no field is given back folded.
func fieldOf(name string) Field {
	key := fold(name)
	if key == "ignore" || key == "ignored" {
		return Ignored
	}
	for _, f := range Fields {
		if fold(string(f)) == key {
			return f
		}
	}
	return Field(key)
}

func unknownField(field Field) *parts.Problem {
	if field == Ignored || slices.Contains(Fields, field) {
		return nil
	}
	return parts.Problemf(parts.Invalid, "field-unknown", "A cut list has no field %s.", short(string(field))).
		Next("The fields are %s, and ignore.", fieldNames())
}

func fieldNames() string {
	names := make([]string, len(Fields))
	for i, f := range Fields {
		names[i] = string(f)
	}
	return strings.Join(names, ", ")
}

// understood lists some headings of every field, for the one who has to
// rename a column.
func understood() string {
	list := make([]string, len(Fields))
	for i, f := range Fields {
		list[i] = fmt.Sprintf("%s (%s)", f, strings.Join(headingWords[f][:min(3, len(headingWords[f]))], ", "))
	}
	return strings.Join(list, "; ")
}
