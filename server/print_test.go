package server_test

import (
	"context"
	"encoding/json"
	"encoding/xml"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// orderForm is a form that prints, as the pages send it.
func orderForm(more ...string) url.Values {
	form := url.Values{"id": {shoptest.NewID().String()}, "what": {"labels"}, "again": {"1"}}
	for i := 0; i+1 < len(more); i += 2 {
		form.Add(more[i], more[i+1])
	}
	return form
}

// printedNames are the names on the labels of the newest order.
func printedNames(t *testing.T, s *shop) (names []string) {
	t.Helper()
	all, err := s.bench.Orders(context.Background(), 1)
	require.NoError(t, err)
	require.NotEmpty(t, all)
	order, err := s.bench.Order(context.Background(), all[0].ID)
	require.NoError(t, err)
	var content struct {
		Labels []struct{ Name string }
	}
	require.NoError(t, json.Unmarshal(order.Content, &content))
	for _, l := range content.Labels {
		names = append(names, l.Name)
	}
	return names
}

func TestLabelsAreChosenOnPages(t *testing.T) {
	s, job := stocked(t)
	code := job.Job.Code
	mark := func(name string, kind parts.Kind) string { return named(t, s, code, name, kind) }
	_, page := get(t, s.url+"/jobs/"+code)
	line := regexp.MustCompile(`<option value="(\d+)">Shelf</option>`).FindStringSubmatch(page)
	require.NotNil(t, line, "the job page offers its lines")
	assert.Contains(t, page, "Locker front and what goes into it")
	assert.Contains(t, page, `<option value="crosscut">at the crosscut saw</option>`)
	assert.Contains(t, page, `value="roll-38x18"`, "every format can be chosen")

	status, page := post(t, s.url+"/labels", orderForm("job", code, "line", line[1]))
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, page, "Open the PDF")
	assert.Equal(t, []string{"Shelf"}, printedNames(t, s))

	frame := mark("Locker front 1", parts.Assembly)
	status, _ = post(t, s.url+"/labels", orderForm("what", "labels", "again", "1", "mark", frame, "with", mark("Stile 1", parts.Single)+" "+mark("Rail 1", parts.Single)+" "))
	require.Equal(t, 200, status)
	assert.ElementsMatch(t, []string{"Locker front 1", "Stile 1", "Rail 1"}, printedNames(t, s), "an assembly with its parts")

	typed := mark("Stile 2", parts.Single) + ",\n http://old.address:99/P/" + mark("Rail 1", parts.Single) + " "
	status, page = post(t, s.url+"/labels", orderForm("marks", typed, "sheet", "roll-57x32"))
	require.Equal(t, 200, status, text(page))
	assert.Equal(t, []string{"Stile 2", "Rail 1"}, printedNames(t, s))

	for want, form := range map[string]url.Values{
		"does not belong to the labels": orderForm("marks", mark("Rail", parts.Ticket)),
		"No mark was typed":             orderForm("marks", " , "),
		"No label is ticked":            orderForm("job", code, "due", "1", "ticked", "1"),
		"not a number from 1 up":        orderForm("job", code, "first", "x"),
		"There is nothing of that kind": orderForm("job", code, "station", "wrap"),
		"nothing at this address":       orderForm("job", code, "line", "x"),
	} {
		status, page = post(t, s.url+"/labels", form)
		assert.GreaterOrEqual(t, status, 400, want)
		assert.Contains(t, page, want)
	}
	_, page = post(t, s.url+"/labels", orderForm("marks", "1A5K ZZZZ", "first", "7", "sheet", "a4-3x8"))
	assert.Contains(t, page, ">1A5K ZZZZ</textarea>", "what was typed is not lost")
	assert.Contains(t, page, `value="7"`)
	assert.Contains(t, page, `value="a4-3x8" selected`)
}

func TestTicksChooseFromTheQueue(t *testing.T) {
	s, job := stocked(t)
	code := job.Job.Code
	for _, name := range []string{"Stile 1", "Stile 2"} {
		_, err := s.bench.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: named(t, s, code, name, parts.Single), Reason: "split"})
		require.NoError(t, err)
	}
	_, page := get(t, s.url+"/labels")
	assert.Contains(t, text(page), "At the crosscut saw")
	assert.Contains(t, text(page), "2 labels wait, in the order")
	assert.Equal(t, 2, strings.Count(page, `type="checkbox" name="mark"`))
	assert.Contains(t, text(page), "Tie to the blank. After boring: on the back face.", "what is remade has no ticket of its own")
	assert.Contains(t, text(page), "Remade since yesterday in "+job.Job.Name+": 2")
	again := named(t, s, code, "Stile 2", parts.Single)
	form := orderForm("job", code, "due", "1", "ticked", "1", "mark", again)
	status, page := post(t, s.url+"/labels", form)
	require.Equal(t, 200, status)
	status, twice := post(t, s.url+"/labels", form)
	require.Equal(t, 200, status, "a double tap gets the same sheet")
	id := regexp.MustCompile(`newID|value="[0-9a-f-]{36}"`)
	assert.Equal(t, id.ReplaceAllString(page, ""), id.ReplaceAllString(twice, ""))
	_, page = get(t, s.url+"/labels")
	assert.Contains(t, text(page), "1 label waits")
	orders, err := s.bench.Orders(context.Background(), 9)
	require.NoError(t, err)
	require.Len(t, orders, 1)

	// One tap puts a spoiled sheet back.
	status, page = post(t, s.url+"/labels/1/spoiled", url.Values{"id": {shoptest.NewID().String()}})
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "2 labels wait")
}

// A voided label says so when it is scanned, and where its follower is.
func TestVoidedLabelsSaySo(t *testing.T) {
	s, job := stocked(t)
	old := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	_, err := s.bench.Remake(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: old, Reason: "split"})
	require.NoError(t, err)
	fresh := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	require.NotEqual(t, old, fresh)
	_, page := get(t, s.url+"/P/"+old)
	assert.Contains(t, text(page), "Take this label off")
	assert.Contains(t, text(page), "Open "+fresh)
	assert.NotContains(t, page, "label.svg", "a void label is not shown as one to print")
	_, page = get(t, s.url+"/P/"+fresh)
	assert.Contains(t, page, "/P/"+fresh+"/label.svg")
	assert.Contains(t, page, `value="letter-tag-3x2"`, "any format can be chosen for one label, too")
}

func TestALabelIsLookedAtBeforeItIsPrinted(t *testing.T) {
	s, job := stocked(t)
	mark := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	res, err := http.Get(s.url + "/P/" + mark + "/label.svg?format=roll-57x32")
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, 200, res.StatusCode)
	assert.Equal(t, "image/svg+xml", res.Header.Get("Content-Type"))
	data, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.NoError(t, xml.Unmarshal(data, new(struct{})), "it is well-formed XML")
	for path, want := range map[string]int{
		"/P/" + mark + "/label.svg": 200, "/P/" + mark + "/label.svg?format=none": 400, "/P/ZZZZ/label.svg": 400,
		"/P/" + named(t, s, job.Job.Code, "Rail", parts.Ticket) + "/label.svg": 422,
	} {
		status, _ := get(t, s.url+path)
		assert.Equal(t, want, status, path)
	}
	_, body := get(t, s.url+"/P/"+mark+"/label?format=roll-57x32")
	assert.Contains(t, body, `src="/P/`+mark+`/label.svg?format=roll-57x32"`)
	assert.Contains(t, body, `value="roll-57x32" selected`)
	status, _ := get(t, s.url+"/P/"+mark+"/label?format=none")
	assert.Equal(t, 400, status)
	p, err := s.bench.Look(context.Background(), mark)
	require.NoError(t, err)
	assert.Zero(t, p.State.Copies, "looking prints nothing")
}

func TestFormatsAreWrittenOnAPage(t *testing.T) {
	s, job := stocked(t)
	form := url.Values{"name": {"Big <b>tags"}, "kind": {"sheet"}, "label_wide": {"4"}, "label_high": {"3 1/4"}, "columns": {"2"}, "rows": {"3"}}
	status, page := post(t, s.url+"/labels/formats", form)
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, page, "Big &lt;b&gt;tags")
	assert.Contains(t, text(page), "6 labels on a page, each 4&#34; × 3 1/4&#34;, 300 dots to the inch")
	for _, path := range []string{"/labels", "/settings", "/jobs/" + job.Job.Code, "/labels/calibration"} {
		_, page := get(t, s.url+path)
		assert.Contains(t, page, `value="own-big-b-tags"`, path)
	}
	status, _ = post(t, s.url+"/labels", orderForm("job", job.Job.Code, "sheet", "own-big-b-tags", "first", "6"))
	assert.Equal(t, 200, status)

	form.Set("label_wide", "5")
	form.Set("name", "Wider")
	status, page = post(t, s.url+"/labels/formats", form)
	require.Equal(t, 400, status)
	assert.Contains(t, text(page), "leave the page")
	assert.Contains(t, page, `value="Wider"`, "what was typed is not lost")
	form.Set("key", "own-big-b-tags")
	form.Set("label_wide", "x")
	status, page = post(t, s.url+"/labels/formats", form)
	require.Equal(t, 400, status)
	assert.Contains(t, page, "<details open><summary>Change it")
	form.Set("label_wide", "3 1/2")
	status, page = post(t, s.url+"/labels/formats", form)
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "Wider kept")
}

func TestThePrinterCheckOnAPage(t *testing.T) {
	s := serve(t)
	off := url.Values{"sheet": {"a4-3x8"}, "left": {"20.5 mm"}, "top": {"19 mm"}, "across": {"160 mm"}, "down": {"220 mm"}}
	status, page := post(t, s.url+"/labels/calibration", off)
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, text(page), "moved 0.5 mm left and 1 mm down")
	assert.Contains(t, page, "calibration.pdf?sheet=a4-3x8")
	roll := url.Values{"sheet": {"roll-62x29"}, "left": {"5 mm"}, "top": {"4.5 mm"}, "across": {"54 mm"}, "down": {"21 mm"}}
	status, page = post(t, s.url+"/labels/calibration", roll)
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, text(page), "moved 1 mm left and 0.5 mm up", "a label of a roll has a setting of its own")
	_, page = get(t, s.url+"/labels/formats")
	assert.Contains(t, page, "printer put right")
	off.Set("across", "200 mm")
	status, page = post(t, s.url+"/labels/calibration", off)
	assert.Equal(t, 400, status)
	assert.Contains(t, page, `value="20.5 mm"`, "what was typed is not lost")
	status, page = post(t, s.url+"/labels/calibration", url.Values{"sheet": {"a4-3x8"}, "right": {"1"}})
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "Nothing is set")
	for path, want := range map[string]int{"/labels/calibration.pdf": 200, "/labels/calibration.pdf?sheet=roll-38x18": 200, "/labels/calibration.pdf?sheet=wall": 400} {
		status, body := get(t, s.url+path)
		assert.Equal(t, want, status, path)
		assert.Equal(t, want == 200, strings.HasPrefix(body, "%PDF-"), path)
	}
}

func TestPrintPagesOnScreens(t *testing.T) {
	s, job := stocked(t)
	ctx := context.Background()
	for _, name := range []string{"Stile 1", "Rail 2"} {
		_, err := s.bench.Remake(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, name, parts.Single), Reason: "split"})
		require.NoError(t, err)
	}
	stile := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	for width, name := range map[int64]string{390: "phone", 1280: "desk"} {
		p := openPhone(t, s.url, width)
		for page, path := range map[string]string{"labels": "/labels", "formats": "/labels/formats", "calibration": "/labels/calibration", "job-print": "/jobs/" + job.Job.Code} {
			p.open(path)
			see[bool](p, `document.querySelectorAll('main details').forEach(d => d.open = true) || true`)
			p.fits()
			p.picture("print-" + page + "-" + name)
		}
		p.open("/P/" + stile)
		p.press(".label-again .preview summary")
		seen, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`document.querySelector('img.label').decode().then(() => true)`, chromedp.EvalAwaitPromise))
		require.NoError(t, err)
		assert.True(t, seen, "the label is shown")
		p.fits()
		p.picture("print-preview-" + name)
	}
}
