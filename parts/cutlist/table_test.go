package cutlist

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"benchtally/parts"
)

func TestTextFiles(t *testing.T) {
	utf16 := func(e unicode.Endianness, s string) string {
		b, err := unicode.UTF16(e, unicode.UseBOM).NewEncoder().String(s)
		require.NoError(t, err)
		return b
	}
	tests := []struct {
		name string
		file string
	}{
		{"commas", "qty,part,length\n2,Tür,34"},
		{"semicolons", "qty;part;length\n2;Tür;34"},
		{"tabs", "qty\tpart\tlength\n2\tTür\t34"},
		{"byte order mark", "\ufeffqty,part,length\n2,Tür,34"},
		{"Windows line ends", "qty,part,length\r\n2,Tür,34\r\n"},
		{"old line ends", "qty,part,length\r2,Tür,34\r"},
		{"UTF-16, little end first", utf16(unicode.LittleEndian, "qty\tpart\tlength\n2\tTür\t34")},
		{"UTF-16, big end first", utf16(unicode.BigEndian, "qty\tpart\tlength\n2\tTür\t34")},
		{"Windows-1252", "qty,part,length\n2,T\xfcr,34"},
		{"quoted", `"qty","part","length"` + "\n" + `"2","Tür","34"`},
		{"spaces before quotes", "qty, part, length\n2, \"Tür\", 34"},
		{"inch mark without quotes", "qty,part,length\n2,Tür,34\""},
		{"inch mark in quotes", "qty,part,length\n2,Tür,\"34\"\"\""},
		{"semicolons with commas inside", "qty;part;length\n2;Tür;34,0"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			list := Read(tableOf(t, []byte(tt.file)), Choices{})
			require.Empty(t, sayings(list))
			require.Len(t, list.Lines, 1)
			assert.Equal(t, Line{Row: 2, Name: "Tür", Quantity: 2, Length: inch(34, 0, 1)}, list.Lines[0])
		})
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	tests := []struct {
		name string
		file string
		code string
	}{
		{"empty", "", "file-empty"},
		{"only line ends", "\r\n \n", "file-empty"},
		{"old spreadsheet", "\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1 more", "file-old"},
		{"PDF", "%PDF-1.7\n", "file-pdf"},
		{"picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "file-strange"},
		{"UTF-16 without a byte order mark", "q\x00t\x00y\x00", "file-strange"},
		{"zip cut short", "PK\x03\x04\x14\x00", "file-broken"},
		{"a mark nobody closes", "qty,part,length\n2,\"rail,34\n3,stile,11\n", "file-quotes"},
		{"too many columns", "qty,part,length" + strings.Repeat(",x", 200), "file-large"},
		{"too many rows", strings.Repeat("x\n", 20_001), "file-large"},
		{"a cell too long", "qty,part\n1," + strings.Repeat("x", 4_001), "file-large"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := ReadFile("list.xyz", []byte(tt.file))
			p := parts.AsProblem(err)
			require.NotNil(t, p)
			assert.Equal(t, tt.code, p.Code)
			assert.NotEmpty(t, p.Do, "what to do next")
		})
	}
	_, err := ReadFile("list", []byte("qty,part,length\n2,\"rail,34\n3,stile,11\n"))
	assert.ErrorContains(t, err, "In row 2 a cell begins with a quotation mark")
}

func TestPastedText(t *testing.T) {
	table, err := ReadText("qty\tpart\tlength\n2\trail\t34 1/2\"\n")
	require.NoError(t, err)
	list := Read(table, Choices{})
	require.Empty(t, sayings(list))
	assert.Equal(t, inch(34, 1, 2), list.Lines[0].Length)
	_, err = ReadText(" \n")
	assert.Equal(t, "file-empty", parts.CodeOf(err))
	table, err = ReadText("qty\tpart\tlength\n2\tra\xffil\t34")
	require.NoError(t, err)
	assert.Equal(t, []string{"row 2, part: character-unprintable"}, places(Read(table, Choices{})))
}

func TestRowNumbersCountAsASpreadsheetDoes(t *testing.T) {
	table := tableOf(t, []byte("qty,part,length\n\n2,\"a\n\nb\",1\n\n3,c,1\n"))
	var rows []int
	for _, r := range table.Rows {
		rows = append(rows, r.Number)
	}
	assert.Equal(t, []int{1, 3, 5}, rows)
	assert.False(t, bytes.ContainsRune([]byte(Read(table, Choices{}).Lines[0].Name), '\n'))
}
