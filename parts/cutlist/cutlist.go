// Package cutlist reads a cut list: the bytes of a CSV or XLSX file, or pasted
// text, become lines, assemblies and troubles, each at its row and column. It
// owns which headings, separators and ways of writing are understood, and the
// limits of a list. It does not make parts or marks and saves nothing: a list
// with any trouble is for the caller to refuse whole.
package cutlist

import (
	"fmt"

	"benchtally/parts"
)

// The limits of one list.
const (
	MostLines    = 5_000  // rows that become lines
	MostParts    = 50_000 // pieces in all, spares and test pieces included; and assemblies in all
	MostQuantity = 10_000 // pieces of one line, and spares or test pieces of one line
	MostPerBlank = 1_000  // parts in one blank
	MostLevels   = 5      // assemblies inside one another
	LongestName  = 80     // characters of a part's name, a material, an assembly
	LongestNotes = 500    // characters of notes
	MostTroubles = 200    // troubles reported; the last one says how many more there are
)

// Field is what a column of the list holds. Ignored is a column nobody reads.
type Field string

// The fields of a line. A list needs the first three.
const (
	Ignored        Field = ""
	QuantityField  Field = "quantity"
	PartField      Field = "part"
	LengthField    Field = "length"
	WidthField     Field = "width"
	ThicknessField Field = "thickness"
	MaterialField  Field = "material"
	AssemblyField  Field = "assembly"
	NotesField     Field = "notes"
	SparesField    Field = "spares"
	TestsField     Field = "test pieces"
	BlankField     Field = "per blank"
	PatternField   Field = "pattern"
	HandField      Field = "hand"
	GrainField     Field = "grain"
)

// Fields lists every field in the order people expect to see them.
var Fields = []Field{QuantityField, PartField, LengthField, WidthField, ThicknessField,
	MaterialField, AssemblyField, NotesField, SparesField, TestsField, BlankField, PatternField, HandField, GrainField}

// Choices are what a person says about a list before it is read. The zero
// Choices let the list speak for itself.
type Choices struct {
	Unit         parts.Unit       // of numbers without one, unless their heading names one; empty means inches
	DecimalComma *bool            // nil finds out from the list
	Columns      map[string]Field // heading -> field, by hand; wins over what is recognised
	Assemblies   map[string]int   // path -> how many are made, instead of the number proposed
	Patterns     []parts.Pattern  // of the shop; a line may name these and no others
}

// List is a cut list as it was read. When Troubles is not empty, lines hold
// only what could be read of them.
type List struct {
	Unit         parts.Unit
	DecimalComma bool
	Heading      int // the row of the headings; 0 when none was found
	Columns      []Column
	Lines        []Line
	Assemblies   []Assembly // in the order of their first line, each before what goes into it
	Skipped      []Skipped
	Troubles     []Trouble // in the order of rows
}

// Column is a column under the heading row.
type Column struct {
	Index   int // from 1
	Heading string
	Field   Field
	Unit    parts.Unit // named in the heading; "" for none
	ByHand  bool       // a person said so; else the heading was recognised, or Field is Ignored
}

// Line is one row of the list.
type Line struct {
	Row       int // in the file, from 1
	Name      string
	Quantity  int // pieces without spares and test pieces
	Spares    int
	Tests     int // pieces for trying a setup or a colour
	PerBlank  int // parts in one blank; 0 and 1 for none
	Length    parts.Size
	Width     parts.Size
	Thickness parts.Size
	Material  string
	Assembly  string // the path of its assembly; "" for a loose part
	Notes     string
	Pattern   string // key of the pattern of holes; "" for none
	Hand      parts.Hand
	Grain     parts.Grain // "" when the list does not say
}

// Pieces is how many pieces the line gives, spares and test pieces counted.
func (l Line) Pieces() int { return l.Quantity + l.Spares + l.Tests }

// Assembly is what the lines with one path go into, and what assemblies
// inside it go into.
type Assembly struct {
	Name     string // of itself: "Ladder"
	Path     string // from the outermost to itself: "Bench back > Ladder"
	Into     int    // index of the assembly it goes into; -1 for none
	Each     int    // how many of it one of those takes; 0 for none, or when they cannot be shared out
	Count    int    // how many are made
	Proposed int    // the greatest number that divides the quantities of all that goes into it
	Takes    []Take // the lines that go into it, not those of assemblies inside it
}

// Take is how many pieces of a line one assembly takes.
type Take struct {
	Line int // index in Lines
	Each int // 0 when the quantity cannot be divided
}

// Skipped is a row that holds something but is no line.
type Skipped struct {
	Row int
	Why string
}

// Trouble is what is wrong with the list, and where.
type Trouble struct {
	Row     int    // in the file, from 1; 0 when it is about the whole list
	Column  int    // from 1; 0 when it is about the whole row
	Heading string // of the column, as the list writes it
	Field   Field  // what the column holds
	Problem *parts.Problem
}

// String is the place and the sentence: "row 7, length: ...".
func (t Trouble) String() string {
	column := string(t.Field)
	if column == "" {
		column = t.Heading
	}
	switch {
	case t.Row == 0:
		return t.Problem.Error()
	case column == "":
		return fmt.Sprintf("row %d: %v", t.Row, t.Problem)
	}
	return fmt.Sprintf("row %d, %s: %v", t.Row, column, t.Problem)
}
