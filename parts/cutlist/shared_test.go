package cutlist

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"benchtally/parts"
)

const data = "../../testdata/cutlist"

// readTestdata reads one of the example lists.
func readTestdata(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(data, name))
	require.NoError(t, err)
	return b
}

// tableOf reads a file that must be readable.
func tableOf(t testing.TB, file []byte) Table {
	t.Helper()
	table, err := ReadFile("list", file)
	require.NoError(t, err)
	return table
}

// listOf reads text below headings for everything but the other sizes.
func listOf(t testing.TB, c Choices, rows ...string) List {
	t.Helper()
	return Read(tableOf(t, []byte("qty;part;length;assembly;spares;test pieces;per blank;pattern;hand;grain\n"+strings.Join(rows, "\n"))), c)
}

// workbookOf writes an XLSX file with excelize.
func workbookOf(t testing.TB, fill func(f *excelize.File)) []byte {
	t.Helper()
	f := excelize.NewFile()
	fill(f)
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	require.NoError(t, f.Close())
	return b.Bytes()
}

// sayings gives troubles as people see them.
func sayings(l List) []string {
	var all []string
	for _, t := range l.Troubles {
		all = append(all, t.String())
	}
	return all
}

// places gives the place and the code of each trouble: "row 7, length: cell-date".
func places(l List) []string {
	var all []string
	for _, t := range l.Troubles {
		all = append(all, Trouble{t.Row, t.Column, t.Heading, t.Field, parts.Problemf(parts.Invalid, "", "%s", t.Problem.Code)}.String())
	}
	return all
}
