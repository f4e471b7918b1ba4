package cutlist

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// repack writes an XLSX file again with one entry replaced.
func repack(t testing.TB, file []byte, name, content string) []byte {
	t.Helper()
	in, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	for _, entry := range in.File {
		if entry.Name != name {
			require.NoError(t, out.Copy(entry))
		}
	}
	w, err := out.Create(name)
	require.NoError(t, err)
	_, err = w.Write([]byte(content))
	require.NoError(t, err)
	require.NoError(t, out.Close())
	return b.Bytes()
}

// rowsOf writes n rows with one cell each; cell has a place for the row's number.
func rowsOf(n int, cell string) string {
	var b strings.Builder
	for i := 1; i <= n; i++ {
		fmt.Fprintf(&b, `<row r="%d">`+cell+"</row>", i, i)
	}
	return b.String()
}

func TestXLSXThatCannotBeRead(t *testing.T) {
	good := fillRows(t, []any{"qty", "part", "length"}, []any{1, "rail", 34})
	const sheet = "xl/worksheets/sheet1.xml"
	tests := []struct {
		name string
		file []byte
		code string
	}{
		{"cut short", good[:len(good)/2], "file-broken"},
		{"another kind of zip", repack(t, []byte("PK\x05\x06"+strings.Repeat("\x00", 18)), "content.xml", "<office/>"), "file-broken"},
		{"sheet that is no XML", repack(t, good, sheet, "<worksheet><row"), "file-broken"},
		{"zip bomb", repack(t, good, sheet, "<worksheet>"+strings.Repeat(" ", mostEntry)+"</worksheet>"), "file-large"},
		{"cell far to the right", repack(t, good, sheet, `<worksheet><row r="1"><c r="XFD1"><v>1</v></c></row></worksheet>`), "file-large"},
		{"too many rows", repack(t, good, sheet, "<worksheet>"+strings.Repeat("<row><c><v>1</v></c></row>", mostRows+1)+"</worksheet>"), "file-large"},
		{"empty cells far to the right of many rows", repack(t, good, sheet, "<worksheet>"+rowsOf(100, `<c r="XFD%d" s="1"/>`)+"</worksheet>"), "file-large"},
		{"more merged cells than lines", repack(t, good, sheet, "<worksheet>"+strings.Repeat("<mergeCell/>", mostSlow+1)+"</worksheet>"), "file-large"},
		{"more styles than cells", repack(t, good, "xl/styles.xml", "<styleSheet>"+strings.Repeat("<xf/>", mostElements)+"</styleSheet>"), "file-large"},
		{"more shared texts than cells", repack(t, good, "xl/sharedStrings.xml", "<sst>"+strings.Repeat("<si/>", mostElements)+"</sst>"), "file-large"},
		{"a shared text of a book", repack(t, good, "xl/sharedStrings.xml", `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">`+strings.Repeat("<si><t>"+strings.Repeat("x", longestCell+1)+"</t></si>", 3)+"</sst>"), "file-large"},
		{"entities that grow", repack(t, good, sheet, `<!DOCTYPE w [<!ENTITY a "xxxxxxxxxx"><!ENTITY b "&a;&a;&a;&a;">]><worksheet><row r="1"><c r="A1"><v>&b;</v></c></row></worksheet>`), "file-broken"},
		{"an entity of another file", repack(t, good, sheet, `<!DOCTYPE w [<!ENTITY a SYSTEM "file:///etc/hostname">]><worksheet><row r="1"><c r="A1"><v>&a;</v></c></row></worksheet>`), "file-broken"},
		{"rows out of order", repack(t, good, sheet, `<worksheet><row r="2"/><row r="1"/></worksheet>`), "file-broken"},
		{"cell of another row", repack(t, good, sheet, `<worksheet><row r="1"><c r="A2"><v>1</v></c></row></worksheet>`), "file-broken"},
		{"cell in small letters", repack(t, good, sheet, `<worksheet><row r="1"><c r="a1"><v>1</v></c></row></worksheet>`), "file-broken"},
		{"cells out of order", repack(t, good, sheet, `<worksheet><row r="1"><c r="B1"><v>1</v></c><c r="A1"><v>1</v></c></row></worksheet>`), "file-broken"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadFile("list.xlsx", tt.file)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			assert.NotEmpty(t, parts.AsProblem(err).Do)
		})
	}
}
