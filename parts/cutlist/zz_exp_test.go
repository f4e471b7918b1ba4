package cutlist

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
)

func bomb(t *testing.T, name, head, rep, tail string, n int) []byte {
	good := fillRows(t, []any{"qty", "part", "length"}, []any{1, "rail", 34})
	in, _ := zip.NewReader(bytes.NewReader(good), int64(len(good)))
	var b bytes.Buffer
	out := zip.NewWriter(&b)
	for _, e := range in.File {
		if e.Name != name {
			out.Copy(e)
		}
	}
	w, _ := out.Create(name)
	io.WriteString(w, head)
	chunk := strings.Repeat(rep, 1000)
	for i := 0; i < n/1000; i++ {
		io.WriteString(w, chunk)
	}
	io.WriteString(w, tail)
	out.Close()
	return b.Bytes()
}

func TestZZ(t *testing.T) {
	ns := ` xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"`
	for _, c := range []struct {
		name, head, rep, tail string
		n                     int
	}{
		{"xl/styles.xml", "<styleSheet" + ns + "><cellXfs>", "<xf/>", "</cellXfs></styleSheet>", 6_000_000},
		{"xl/sharedStrings.xml", "<sst" + ns + ">", "<si/>", "</sst>", 6_000_000},
		{"xl/worksheets/sheet1.xml", "<worksheet" + ns + `><sheetData><row r="1">`, "<c/>", "</row></sheetData></worksheet>", 16_000},
		{"xl/worksheets/sheet1.xml", "<worksheet" + ns + `><sheetData>`, "<row/>", "</sheetData></worksheet>", 20_000},
		{"xl/worksheets/sheet1.xml", "<worksheet" + ns + `><sheetData>`, `<row><c r="XFD1" s="1"/></row>`, "</sheetData></worksheet>", 1000},
	} {
		file := bomb(t, c.name, c.head, c.rep, c.tail, c.n)
		var m0, m1 runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&m0)
		start := time.Now()
		f, err := excelize.OpenReader(bytes.NewReader(file), excelize.Options{RawCellValue: true, UnzipSizeLimit: 64 << 20, UnzipXMLSizeLimit: 64 << 20})
		fmt.Println(c.name, len(file), "open", time.Since(start), err)
		if err != nil {
			continue
		}
		_, err = f.GetCellType("Sheet1", "A1")
		fmt.Println("type", time.Since(start), err)
		if strings.Contains(c.name, "shared") {
			rows, err := f.GetRows("Sheet1")
			fmt.Println("rows", rows, time.Since(start), err)
		}
		runtime.ReadMemStats(&m1)
		fmt.Println("total alloc MB", (m1.TotalAlloc-m0.TotalAlloc)>>20, "heap", m1.HeapAlloc>>20, "sys", m1.Sys>>20)
	}
}
