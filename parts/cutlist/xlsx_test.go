package cutlist

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"benchtally/parts"
)

// fillRows writes rows of values into the first sheet.
func fillRows(t testing.TB, rows ...[]any) []byte {
	return workbookOf(t, func(f *excelize.File) {
		for i, row := range rows {
			place, err := excelize.CoordinatesToCellName(1, i+1)
			require.NoError(t, err)
			require.NoError(t, f.SetSheetRow("Sheet1", place, &row))
		}
	})
}

func TestXLSXReadsTheSameAsItsCSV(t *testing.T) {
	table := tableOf(t, readTestdata(t, "tern-point.csv"))
	file := workbookOf(t, func(f *excelize.File) {
		for _, row := range table.Rows {
			for i, cell := range row.Cells {
				place, err := excelize.CoordinatesToCellName(i+1, row.Number)
				require.NoError(t, err)
				require.NoError(t, f.SetCellStr("Sheet1", place, cell.Text))
			}
		}
		require.NoError(t, f.MergeCell("Sheet1", "A1", "I1"))
	})
	assert.Equal(t, Read(table, Choices{}), Read(tableOf(t, file), Choices{}))
}

// setStyle gives a cell a number format.
func setStyle(t testing.TB, f *excelize.File, place string, style excelize.Style) {
	t.Helper()
	id, err := f.NewStyle(&style)
	require.NoError(t, err)
	require.NoError(t, f.SetCellStyle("Sheet1", place, place, id))
}

func TestXLSXCells(t *testing.T) {
	code := func(s string) excelize.Style { return excelize.Style{CustomNumFmt: &s} }
	tests := []struct {
		name string
		fill func(f *excelize.File) error
		want parts.Length
		code string
	}{
		{"number", func(f *excelize.File) error { return f.SetCellValue("Sheet1", "C2", 34.5) }, 34*parts.Inch + parts.Inch/2, ""},
		{"text", func(f *excelize.File) error { return f.SetCellValue("Sheet1", "C2", "34 1/2") }, 34*parts.Inch + parts.Inch/2, ""},
		{"number in full, whatever is shown", func(f *excelize.File) error {
			setStyle(t, f, "C2", excelize.Style{NumFmt: 1})
			return f.SetCellValue("Sheet1", "C2", 34.53125)
		}, 34*parts.Inch + parts.Inch*17/32, ""},
		{"shown as a fraction", func(f *excelize.File) error {
			setStyle(t, f, "C2", code("# ?/?"))
			return f.SetCellValue("Sheet1", "C2", 0.375)
		}, parts.Inch * 3 / 8, ""},
		{"noise in the last digit", func(f *excelize.File) error { return f.SetCellDefault("Sheet1", "C2", "34.300000000000004") },
			parts.Inch * 343 / 10, ""},
		{"three decimals are no thousands", func(f *excelize.File) error { return f.SetCellValue("Sheet1", "C2", 2.125) },
			2*parts.Inch + parts.Inch/8, ""},
		{"unit in the number format", func(f *excelize.File) error {
			setStyle(t, f, "C2", code(`0.0" mm"`))
			return f.SetCellValue("Sheet1", "C2", 876.3)
		}, parts.Length(876_300) * parts.Micrometre, ""},
		{"inch mark in the number format", func(f *excelize.File) error {
			setStyle(t, f, "C2", code(`# ?/?\"`))
			return f.SetCellValue("Sheet1", "C2", 0.5)
		}, parts.Inch / 2, ""},
		{"date", func(f *excelize.File) error {
			return f.SetCellValue("Sheet1", "C2", time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC))
		}, 0, "row 2, length: cell-date"},
		{"date shown as d/m", func(f *excelize.File) error {
			setStyle(t, f, "C2", code("d/m"))
			return f.SetCellValue("Sheet1", "C2", 46054)
		}, 0, "row 2, length: cell-date"},
		{"formula without a value", func(f *excelize.File) error { return f.SetCellFormula("Sheet1", "C2", "1+1") }, 0, "row 2, length: cell-formula"},
		{"formula with a value", func(f *excelize.File) error {
			if err := f.SetCellValue("Sheet1", "C2", 17.25); err != nil {
				return err
			}
			return f.SetCellFormula("Sheet1", "C2", "34.5/2")
		}, 17*parts.Inch + parts.Inch/4, ""},
		{"truth", func(f *excelize.File) error { return f.SetCellValue("Sheet1", "C2", true) }, 0, "row 2, length: length-unreadable"},
		{"empty", func(f *excelize.File) error { return nil }, 0, "row 2, length: cell-empty"},
		{"equals sign as text", func(f *excelize.File) error { return f.SetCellStr("Sheet1", "C2", "=A1") }, 0, "row 2, length: length-unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			file := workbookOf(t, func(f *excelize.File) {
				require.NoError(t, f.SetSheetRow("Sheet1", "A1", &[]any{"qty", "part", "length"}))
				require.NoError(t, f.SetSheetRow("Sheet1", "A2", &[]any{12, "rail"}))
				require.NoError(t, tt.fill(f))
			})
			list := Read(tableOf(t, file), Choices{})
			require.Equal(t, tt.code, strings.Join(places(list), "; "))
			assert.Equal(t, tt.want, list.Lines[0].Length.Length)
		})
	}
}

// By hand, because excelize writes no file that differs from what it reads.
func TestXLSXCellsOfOtherWriters(t *testing.T) {
	good := fillRows(t, []any{"qty", "part", "length", ""})
	tests := []struct {
		name  string
		cells string // of row 2, from column A
		want  []Cell
	}{
		{"formulas with values", `<c t="str"><f>1</f><v>34 1/2</v></c><c><f>1</f><v>2.50</v></c>`, []Cell{{Text: "34 1/2"}, {Text: "2.5", Kind: Number}}},
		{"formula that gives an empty text", `<c t="str"><f>1</f><v></v></c><c t="s"><f>1</f><v>3</v></c><c><v>1</v></c>`, []Cell{{}, {}, {Text: "1", Kind: Number}}},
		{"formulas without values", `<c t="str"><f>1</f></c><c><f>1</f></c><c><f>1</f><v></v></c>`, []Cell{{Kind: Formula}, {Kind: Formula}, {Kind: Formula}}},
		{"formula that fails", `<c t="e"><f>1/0</f><v>#DIV/0!</v></c>`, []Cell{{Text: "#DIV/0!", Kind: Failed}}},
		{"date as text", `<c t="d"><v>2026-02-01</v></c>`, []Cell{{Text: "2026-02-01", Kind: Date}}},
		{"rich text", `<c t="inlineStr"><is><r><t>34 </t></r><r><t>1/2 </t></r></is></c>`, []Cell{{Text: "34 1/2"}}},
		{"places left out", `<c r="B2"><v>1</v></c><c><v>2</v></c>`, []Cell{{}, {Text: "1", Kind: Number}, {Text: "2", Kind: Number}}},
		{"empty cells far to the right", `<c r="A2"><v>1</v></c><c r="AMJ2" s="0"/>`, []Cell{{Text: "1", Kind: Number}}},
		{"style that is not there", `<c s="99"><v>1E1</v></c>`, []Cell{{Text: "10", Kind: Number}}},
		{"under a merged formula", `<c r="A2" t="e"><v>#N/A</v></c><c r="D2"/><c r="E2"><v>34</v></c><c r="F2"><v>1</v></c>`,
			[]Cell{{Text: "#N/A", Kind: Failed}, {}, {}, {}, {Text: "34", Kind: Number}, {Text: "1", Kind: Number}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			table := tableOf(t, repack(t, good, "xl/worksheets/sheet1.xml",
				`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`+
					`<row r="1"><c r="D1" t="str"><f>1</f><v>above</v></c></row><row r="2">`+tt.cells+`</row>`+
					`</sheetData><mergeCells><mergeCell ref="D1:E2"/></mergeCells></worksheet>`))
			require.Len(t, table.Rows, 2)
			assert.Equal(t, tt.want, table.Rows[1].Cells)
		})
	}
}

func TestXLSXNumbersInADecimalCommaList(t *testing.T) {
	list := Read(tableOf(t, fillRows(t, []any{"Stück", "Teil", "Länge (mm)"}, []any{1, "A", "876,3"}, []any{1, "B", 1219.125})), Choices{})
	require.Empty(t, sayings(list))
	assert.True(t, list.DecimalComma)
	assert.Equal(t, parts.Length(1_219_125)*parts.Micrometre, list.Lines[1].Length.Length)
}

func TestXLSXTakesTheFirstVisibleSheetWithRows(t *testing.T) {
	file := workbookOf(t, func(f *excelize.File) {
		for _, name := range []string{"Old", "List"} {
			_, err := f.NewSheet(name)
			require.NoError(t, err)
			require.NoError(t, f.SetSheetRow(name, "B3", &[]any{"qty", "part", "length"}))
			require.NoError(t, f.SetSheetRow(name, "B5", &[]any{1, name, 34}))
		}
		require.NoError(t, f.SetSheetVisible("Old", false))
	})
	list := Read(tableOf(t, file), Choices{})
	require.Empty(t, sayings(list))
	assert.Equal(t, []Line{{Row: 5, Name: "List", Quantity: 1, Length: inch(34, 0, 1)}}, list.Lines)

	_, err := ReadFile("", workbookOf(t, func(*excelize.File) {}))
	assert.Equal(t, "file-empty", parts.CodeOf(err))
}

// officeXLSX has LibreOffice make an XLSX file of one of the example lists.
// options are those of its CSV filter, in order: separator, quote, character
// set (76 UTF-8, 1 Windows-1252), first row, columns, language (1033 English,
// 1031 German), quoted cells as text, special numbers such as dates.
func officeXLSX(t *testing.T, name, options string) Table {
	t.Helper()
	office, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("BENCHTALLY_TEST_ALL") != "" {
			t.Fatal("soffice is not installed and BENCHTALLY_TEST_ALL is set")
		}
		t.Skip("soffice is not installed")
	}
	dir := t.TempDir()
	source := filepath.Join(dir, name+".csv")
	require.NoError(t, os.WriteFile(source, readTestdata(t, name+".csv"), 0o600))
	out, err := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(dir)+"/office", "--headless",
		"--infilter=CSV:"+options, "--convert-to", "xlsx", "--outdir", dir, source).CombinedOutput()
	require.NoError(t, err, "%s", out)
	file, err := os.ReadFile(filepath.Join(dir, name+".xlsx"))
	require.NoError(t, err)
	return tableOf(t, file)
}

// LibreOffice writes XLSX files by itself; what it makes of an example list
// must read as the list does.
func TestXLSXOfLibreOffice(t *testing.T) {
	for name, options := range map[string]string{
		"tern-point":    "44,34,76,1,,1033,false,false",
		"tern-point-de": "59,34,1,1,,1031,false,true",
	} {
		t.Run(name, func(t *testing.T) {
			want := Read(tableOf(t, readTestdata(t, name+".csv")), Choices{})
			got := Read(officeXLSX(t, name, options), Choices{})
			require.Empty(t, sayings(got))
			assert.Equal(t, want.Lines, got.Lines)
			assert.Equal(t, want.Assemblies, got.Assemblies)
		})
	}
}

// A spreadsheet program that is allowed to makes a date of 3/4. That must
// never be read as a thickness of forty-six thousand.
func TestDatesThatLibreOfficeMakesOfFractions(t *testing.T) {
	list := Read(officeXLSX(t, "tern-point", "44,34,76,1,,1033,false,true"), Choices{})
	require.NotEmpty(t, list.Troubles)
	for _, trouble := range list.Troubles {
		assert.Equal(t, "cell-date", trouble.Problem.Code)
		assert.Equal(t, ThicknessField, trouble.Field)
	}
}

func FuzzXLSX(f *testing.F) {
	good := fillRows(f, []any{"qty", "part", "length"}, []any{1, "rail", 34})
	f.Add("xl/worksheets/sheet1.xml", `<worksheet><row r="1"><c r="B1" t="inlineStr"><is><t>qty</t></is></c></row></worksheet>`)
	f.Add("xl/styles.xml", `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="0\&quot;"/></numFmts></styleSheet>`)
	f.Add("xl/sharedStrings.xml", `<sst><si><r><t>a</t></r></si></sst>`)
	f.Add("xl/workbook.xml", `<workbook><sheets><sheet id="rId1"/></sheets></workbook>`)
	f.Add("_rels/.rels", `<Relationships><Relationship Type="/officeDocument" Target="../../x"/></Relationships>`)
	f.Fuzz(func(t *testing.T, name, content string) {
		if len(content) > 1<<20 || len(name) > 1000 {
			t.Skip("only slow")
		}
		checkFile(t, repack(t, good, name, content))
	})
}
