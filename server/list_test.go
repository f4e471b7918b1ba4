package server_test

import (
	"archive/zip"
	"bytes"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
)

// upload sends a file to the preview and gives the status and the page.
func upload(t *testing.T, s *shop, name string, data io.Reader) (int, string) {
	t.Helper()
	read, write := io.Pipe()
	form := multipart.NewWriter(write)
	go func() {
		form.WriteField("job", "Tern Point lockers")
		part, err := form.CreateFormFile("file", name)
		if err == nil {
			_, err = io.Copy(part, data)
		}
		form.Close()
		write.CloseWithError(err)
	}()
	res, err := http.Post(s.url+"/list/preview", form.FormDataContentType(), read)
	if err != nil {
		return 0, err.Error()
	}
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

// text is what a page says, without its tags.
func text(page string) string {
	return strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(page, " ")), " ")
}

func TestBadListsAreRefusedWithTheirPlace(t *testing.T) {
	s := serve(t)
	const head = "qty,part,length,width\n"
	tests := []struct {
		name, list string
		says       []string
	}{
		{"a length that is a word", head + "2,Stile,long,2\n", []string{"Row 2, length:"}},
		{"a negative size", head + "2,Stile,-4,2\n", []string{"Row 2, length:"}},
		{"text in a number", head + "two,Stile,34,2\n", []string{"Row 2, quantity:"}},
		{"two columns of one kind", "qty,part,length,Länge\n2,Stile,34,34\n", []string{"Row 1"}},
		{"a formula", head + "2,Stile,=17*2,2\n", []string{"Row 2, length:", "formula"}},
		{"an emoji", head + "2,Stile 🪵,34,2\n", []string{"Row 2, part:"}},
		{"several at once", head + "2,Stile,x,2\n0,Rail,10,2\n", []string{"Row 2, length:", "Row 3, quantity:"}},
		{"no headings", "1,2,3\n4,5,6\n", []string{"heading"}},
		{"100,000 lines", head + strings.Repeat("1,Slat,10,2\n", 100_000), []string{"lines"}},
		{"an empty file", "", []string{"Not done"}},
		{"noise", string([]byte{0, 1, 2, 3, 255, 254, 0, 7}), []string{"Not done"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			status, page := upload(t, s, "list.csv", strings.NewReader(tt.list))
			assert.GreaterOrEqual(t, status, 400)
			assert.Less(t, status, 500)
			for _, say := range tt.says {
				assert.Contains(t, text(page), say)
			}
			assert.NotContains(t, page, "Make the job")
		})
	}
	jobs, err := s.bench.Jobs(t.Context())
	require.NoError(t, err)
	require.Empty(t, jobs, "a troubled list makes nothing")
}

func TestAnUploadOf200MBIsRefused(t *testing.T) {
	s := serve(t)
	status, page := upload(t, s, "list.csv", io.LimitReader(endless{}, 200<<20))
	if status != 0 { // the server may close before everything is sent
		assert.Equal(t, http.StatusRequestEntityTooLarge, status)
		assert.Contains(t, page, "more than 8 MB")
	}
	code, _ := get(t, s.url+"/")
	assert.Equal(t, 200, code)
}

func TestAColumnNobodyReadsIsNamed(t *testing.T) {
	s := serve(t)
	status, page := upload(t, s, "list.csv", strings.NewReader("qty,part,length,face,zebra\n2,Stile,34,2,x\n"))
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "Not used: face, zebra .")
}

func TestWhatWasTypedIsStillThereAfterARefusal(t *testing.T) {
	s := serve(t)
	status, page := upload(t, s, "list.csv", strings.NewReader(""))
	require.Equal(t, 400, status)
	assert.Contains(t, page, `value="Tern Point lockers"`)
	assert.Contains(t, page, "Look it over")
}

// endless reads as spaces without end.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

func TestAZipBombIsRefused(t *testing.T) {
	var file bytes.Buffer
	z := zip.NewWriter(&file)
	for name, body := range map[string]string{
		"[Content_Types].xml": `<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`,
		"xl/workbook.xml":     `<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>`,
	} {
		w, err := z.Create(name)
		require.NoError(t, err)
		io.WriteString(w, body)
	}
	w, err := z.Create("xl/worksheets/sheet1.xml")
	require.NoError(t, err)
	_, err = io.Copy(w, io.LimitReader(endless{}, 500<<20))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	require.Less(t, file.Len(), 2<<20)
	s := serve(t)
	status, page := upload(t, s, "list.xlsx", &file)
	assert.Contains(t, []int{400, 413}, status)
	assert.Contains(t, page, "Not done")
}

func TestPastedRowsBecomeAJobOnce(t *testing.T) {
	s := serve(t)
	status, page := post(t, s.url+"/list/preview", url.Values{"job": {"Tern Point benches"}, "text": {"Anzahl\tBezeichnung\tLänge\tBreite\tDicke\tRahmen\n6\tSprosse\t914mm\t57\t19\tRücken\n4\tHolm\t1.219,5\t57\t19\tRücken\n"}, "unit": {"mm"}})
	require.Equal(t, 200, status)
	require.Contains(t, text(page), "Each takes 3 Sprosse, 2 Holm")
	table := regexp.MustCompile(`name="table" value="([^"]*)"`).FindStringSubmatch(page)
	require.Len(t, table, 2)
	form := url.Values{"id": {shoptest.NewID().String()}, "job": {"Tern Point benches"}, "unit": {"mm"},
		"table": {strings.NewReplacer("&#34;", `"`, "&amp;", "&", "&#43;", "+").Replace(table[1])}}
	for range 2 {
		status, page = post(t, s.url+"/list", form)
		require.Equal(t, 200, status)
		require.Contains(t, text(page), "10 parts, 2 assemblies")
		require.Contains(t, text(page), "Job TERN-POINT-BENCHES ")
	}
	jobs, err := s.bench.Jobs(t.Context())
	require.NoError(t, err)
	require.Len(t, jobs, 1)
}
