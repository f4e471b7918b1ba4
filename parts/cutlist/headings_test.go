package cutlist

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestRecognise(t *testing.T) {
	tests := []struct {
		heading string
		field   Field
		unit    parts.Unit
	}{
		{"Qty.", QuantityField, ""}, {"No.", QuantityField, ""}, {"no", QuantityField, ""}, {"PCS", QuantityField, ""},
		{"Stück", QuantityField, ""}, {"Stu\u0308ck", QuantityField, ""}, {"Anzahl", QuantityField, ""}, {"Menge", QuantityField, ""},
		{"Part name", PartField, ""}, {"Description", PartField, ""}, {"Bauteil", PartField, ""}, {"Bezeichnung", PartField, ""},
		{"Length (mm)", LengthField, parts.Millimetres}, {"Länge [mm]", LengthField, parts.Millimetres}, {"LAENGE", LengthField, ""},
		{"L", LengthField, ""}, {`L"`, LengthField, parts.Inches}, {"Length, in", LengthField, parts.Inches},
		{"Length in inches", LengthField, parts.Inches}, {"Länge in cm", LengthField, parts.Centimetres}, {"L / ft", LengthField, parts.Feet},
		{"W", WidthField, ""}, {"Breite", WidthField, ""}, {"b (mm)", WidthField, parts.Millimetres},
		{"T", ThicknessField, ""}, {"Th.", ThicknessField, ""}, {"Stärke", ThicknessField, ""}, {"thick (in)", ThicknessField, parts.Inches},
		{"Species", MaterialField, ""}, {"Holzart", MaterialField, ""}, {"Werkstoff", MaterialField, ""},
		{"Goes in", AssemblyField, ""}, {"goes-in", AssemblyField, ""}, {"Unit", AssemblyField, ""}, {"Baugruppe", AssemblyField, ""},
		{"Remarks:", NotesField, ""}, {"Bemerkung", NotesField, ""}, {"Extra", SparesField, ""}, {"Reserve", SparesField, ""},
		{"Tests", TestsField, ""}, {"Test pieces", TestsField, ""}, {"Probestücke", TestsField, ""}, {"Probestuecke:", TestsField, ""},
		{"Per blank", BlankField, ""}, {"Parts per blank", BlankField, ""}, {"Blank", BlankField, ""}, {"je Rohling", BlankField, ""},
		{"Teile pro Rohling", BlankField, ""}, {"Blanks", Ignored, ""}, {"Rohling", Ignored, ""},
		{"Pattern", PatternField, ""}, {"Bore", PatternField, ""}, {"Bore pattern", PatternField, ""}, {"Bohrbild", PatternField, ""},
		{"Lochbild", PatternField, ""}, {"Holes", Ignored, ""},
		{"Hand", HandField, ""}, {"Left/right", HandField, ""}, {"L/R", HandField, ""}, {"Hand (l/r)", HandField, ""},
		{"links/rechts", HandField, ""}, {"Side", Ignored, ""}, {"Seite", Ignored, ""},
		{"Grain", GrainField, ""}, {"Grain direction", GrainField, ""}, {"Faserrichtung", GrainField, ""},
		{"Price", Ignored, ""}, {"", Ignored, ""}, {"mm", Ignored, ""},
	}
	for _, tt := range tests {
		t.Run(tt.heading, func(t *testing.T) {
			c, _ := recognise(tt.heading, nil)
			assert.Equal(t, tt.field, c.Field)
			if tt.field != Ignored {
				assert.Equal(t, tt.unit, c.Unit)
			}
		})
	}
}

func TestColumns(t *testing.T) {
	read := func(c Choices, rows ...string) List {
		return Read(tableOf(t, []byte(strings.Join(rows, "\n"))), c)
	}
	t.Run("any order, below a title", func(t *testing.T) {
		list := read(Choices{}, "Tern Point", "", "Length (mm),Price,Part,No.", "914,1,rail,2")
		require.Empty(t, sayings(list))
		assert.Equal(t, 914*parts.Millimetre, list.Lines[0].Length.Length)
		assert.Equal(t, []Column{{1, "Length (mm)", LengthField, parts.Millimetres, false}, {2, "Price", Ignored, "", false},
			{3, "Part", PartField, "", false}, {4, "No.", QuantityField, "", false}}, list.Columns)
	})
	t.Run("no headings at all", func(t *testing.T) {
		list := read(Choices{}, "12,rail,34", "24,stile,11")
		require.Equal(t, []string{"headings-missing"}, places(list))
		assert.Contains(t, sayings(list)[0], "quantity (quantity, qty, no)")
		assert.Contains(t, sayings(list)[0], "-map 'HEADING=field'")
	})
	t.Run("two columns for one field", func(t *testing.T) {
		list := read(Choices{}, "Qty,Item,Description,Length", "2,1,rail,34")
		require.Equal(t, []string{"row 1, part: columns-alike"}, places(list))
		assert.Contains(t, sayings(list)[0], "The columns “Item” (column 2) and “Description” (column 3) both hold the part.")
	})
	t.Run("two columns for one field, settled by hand", func(t *testing.T) {
		list := read(Choices{Columns: map[string]Field{"description": PartField}}, "Qty,Item,Description,Length", "2,1,rail,34")
		require.Empty(t, sayings(list))
		assert.Equal(t, "rail", list.Lines[0].Name)
		list = read(Choices{Columns: map[string]Field{"Item": Ignored}}, "Qty,Item,Description,Length", "2,1,rail,34")
		require.Empty(t, sayings(list))
		assert.Equal(t, "rail", list.Lines[0].Name)
	})
	t.Run("two columns for one field, both by hand", func(t *testing.T) {
		list := read(Choices{Columns: map[string]Field{"A": PartField, "B": PartField}}, "Qty,A,B,Length", "2,1,rail,34")
		assert.Equal(t, []string{"row 1, part: columns-alike"}, places(list))
	})
	t.Run("by hand", func(t *testing.T) {
		list := read(Choices{Columns: map[string]Field{"#": QuantityField, "ARTIKEL": PartField, "lang": LengthField}}, "#,Artikel,Lang (cm)", "2,rail,91.4")
		require.Empty(t, sayings(list))
		assert.Equal(t, 914*parts.Millimetre, list.Lines[0].Length.Length)
		assert.True(t, list.Columns[1].ByHand)
	})
	t.Run("a heading that is not there", func(t *testing.T) {
		list := read(Choices{Columns: map[string]Field{"Artikel": PartField}}, "Qty,Part,Length", "2,rail,34")
		assert.Equal(t, []string{"row 1: No column is headed “Artikel”. The headings are: Qty; Part; Length."}, sayings(list))
	})
	t.Run("a field that is not there", func(t *testing.T) {
		list := read(Choices{Columns: map[string]Field{"Part": "colour"}}, "Qty,Part,Length", "2,rail,34")
		assert.Equal(t, []string{"field-unknown"}, places(list))
	})
	t.Run("a field missing", func(t *testing.T) {
		list := read(Choices{}, "Part,Width", "rail,2")
		assert.Equal(t, []string{"row 1: field-missing", "row 1: field-missing"}, places(list))
	})
}

func TestParseColumn(t *testing.T) {
	heading, field, err := ParseColumn("Artikel = Part")
	require.NoError(t, err)
	assert.Equal(t, "Artikel", heading)
	assert.Equal(t, PartField, field)
	_, field, err = ParseColumn("Pos=ignore")
	require.NoError(t, err)
	assert.Equal(t, Ignored, field)
	for text, want := range map[string]Field{"A=test pieces": TestsField, "A=TestPieces": TestsField, "A=Per Blank": BlankField,
		"A=pattern": PatternField, "A=hand": HandField, "A=grain": GrainField} {
		_, field, err = ParseColumn(text)
		require.NoError(t, err)
		assert.Equal(t, want, field, text)
	}
	_, _, err = ParseColumn("Artikel")
	assert.Equal(t, "column-unreadable", parts.CodeOf(err))
	_, _, err = ParseColumn("Artikel=colour")
	assert.Equal(t, "field-unknown", parts.CodeOf(err))
}
