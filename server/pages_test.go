package server_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// get fetches a page and gives its status and text.
func get(t *testing.T, address string) (int, string) {
	t.Helper()
	res, err := http.Get(address)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

// post sends a form and gives the status and text of where it leads.
func post(t *testing.T, address string, form url.Values) (int, string) {
	t.Helper()
	res, err := http.PostForm(address, form)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

// codeOf makes a code that lets somebody in.
func codeOf(t *testing.T, make func(context.Context) (string, error)) string {
	t.Helper()
	code, err := make(t.Context())
	require.NoError(t, err)
	return code
}

// stocked is a shop with a small job.
func stocked(t *testing.T) (*shop, bench.JobPieces) {
	s := serve(t)
	return s, shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
}

func TestEveryPageIsDrawn(t *testing.T) {
	s, job := stocked(t)
	order, err := s.bench.Print(context.Background(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels"})
	require.NoError(t, err)
	part, ticket, frame := named(t, s, job.Job.Code, "Rail 1", parts.Single), named(t, s, job.Job.Code, "Rail", parts.Ticket), named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	pages := map[string][]struct{ path, phrase string }{
		"floor":           {{"/", "At the crosscut saw"}, {"/?job=tern-point-lockers", "For a screen on the wall"}, {"/?job=NONE", "Nothing of this job"}},
		"problem":         {{"/nowhere", "nothing at this address"}, {"/P/1", "Not done"}, {"/P/ZZZZ", "Not done"}},
		"part":            {{"/P/" + part, "Rail 1"}, {"/P/" + ticket, "5 × Rail"}, {"/P/" + frame, "Kit check"}, {"/P/2/" + part, "Rail 1"}, {"/p/" + strings.ToLower(part), "Rail 1"}},
		"jobs":            {{"/jobs", "Tern Point lockers"}},
		"job":             {{"/jobs/" + job.Job.Code, "2 in each Locker front"}},
		"list":            {{"/list", "Look it over"}},
		"preview":         nil, // only by POST: see the list tests
		"labels":          {{"/labels", "Printed"}},
		"label":           {{"/P/" + part + "/label", "Print this label"}, {"/P/" + frame + "/label?format=roll-57x32", "format=roll-57x32"}},
		"formats":         {{"/labels/formats", "Add a format"}},
		"calibration":     {{"/labels/calibration", "Cross A across to B"}, {"/labels/calibration?sheet=roll-62x29", "Left edge of the label to cross A"}},
		"order":           {{fmt.Sprintf("/labels/%d", order.ID), "Open the PDF"}},
		"stations":        {{"/stations", "Print all placards"}},
		"station":         {{"/S/CROSSCUT", "here now"}},
		"steps":           {{"/steps", "Solid-wood frame part"}},
		"steps_edit":      {{"/steps/frame", "dry fit"}, {"/steps/new?for=assembly", "New steps"}},
		"finish":          {{"/finish", "Write down the first mix"}},
		"mixes":           {{"/finish/mixes", "Add a mix"}},
		"mix":             nil, // a shop starts without: see the tests of finish
		"batch":           nil,
		"wood":            {{"/wood", "Will it move?"}, {"/wood?width=10", "narrower"}},
		"drying":          {{"/drying", "Nothing is wet"}, {"/drying?by=place", "The air"}},
		"drying_products": {{"/drying/products", "PVA wood glue"}},
		"defects":         {{"/defects", "Drip or sag: <small>sand back, then the coats you name again; twice at most"}, {"/defects?kept=dent", "Dent: kept"}},
		"carts":           {{"/carts", "No carts yet"}},
		"badges":          {{"/badges", "Add a cart for it first"}},
		"signed":          {{"/P/" + frame + "/signed", "Record what has a time"}, {"/P/" + ticket + "/signed", "for all pieces of the ticket"}},
		"patterns":        {{"/patterns", "Add a pattern"}, {"/patterns?length=34+1/2&loose=1", "No patterns yet"}},
		"late":            {{"/late", "None."}},
		"settings":        {{"/settings", "Time zone"}},
		"address":         {{"/settings/address", "Another address"}},
		"trust":           {{"/trust", "HTTPS is off"}},
		"who":             {{"/who", "Tap your name"}},
		"phones":          {{"/phones", "No phone has joined"}},
		"people":          {{"/people", "Add the name"}},
		"tokens":          {{"/tokens", "Make a token"}},
		"changes":         {{"/changes", "Nothing was changed yet"}},
		"sign_in":         {{"/sign-in", "This shop has no owner yet"}},
		"setup":           {{"/setup/" + codeOf(t, s.bench.NewSetup), "Open the shop"}},
		"join":            {{"/join/" + codeOf(t, s.bench.NewJoin), "Phone by the drill"}},
		"owner":           nil, // a demo asks for no password: see the tests of signing in
		"found":           nil, // nor is anybody in it a stranger
		"wall":            {{"/wall", "as of"}, {"/wall?job=tern-point-lockers&dark", "on-wall dark"}, {"/wall?job=NONE", "Nothing of this job"}},
		"scan":            {{"/scan", "Take a photo"}, {"/scan?lang=de", "Foto machen"}, {"/scan?lang=xx", "Take a photo"}},
	}
	files, err := filepath.Glob("../templates/*.html")
	require.NoError(t, err)
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".html")
		if !strings.HasPrefix(name, "_") {
			require.Contains(t, pages, name, "a page without a case here")
		}
	}
	for name, cases := range pages {
		for _, c := range cases {
			_, body := get(t, s.url+c.path)
			assert.Contains(t, body, `class="page-`+name+`"`, c.path)
			assert.Contains(t, body, c.phrase, c.path)
			assert.NotContains(t, body, "<no value>", c.path)
			assert.NotContains(t, body, "Something broke", c.path)
		}
	}
}

func TestStatusesOfPages(t *testing.T) {
	s, job := stocked(t)
	mark := named(t, s, job.Job.Code, "Rail 1", parts.Single)
	tests := []struct {
		name, path string
		status     int
	}{
		{"a mark nobody has", "/P/ZZZU", 400},
		{"a mark that was mistyped", "/P/" + mark[:3] + "9", 400},
		{"no such page", "/nowhere", 404},
		{"no such job", "/jobs/NONE", 404},
		{"no such station", "/S/NOWHERE", 404},
		{"no such sheet", "/labels/99", 404},
		{"a sheet that is no number", "/labels/abc", 404},
		{"a copy that is no number", "/P/x/" + mark, 404},
		{"no such steps", "/steps/none", 404},
		{"the style sheet", "/static/bench.css", 200},
		{"a static file that is not there", "/static/none.css", 404},
		{"the placards", "/placards.pdf", 200},
		{"tags without a cart", "/carts.pdf", 404},
		{"the tag of what is no cart", "/carts.pdf?cart=" + mark, 404},
		{"a traveler", "/P/" + named(t, s, job.Job.Code, "Locker front 1", parts.Assembly) + "/traveler.pdf", 200},
		{"a traveler of one part", "/P/" + mark + "/traveler.pdf", 422},
		{"the travelers of a job", "/jobs/" + job.Job.Code + "/travelers.pdf", 200},
		{"the travelers of no job", "/jobs/NONE/travelers.pdf", 404},
		{"what is signed for no mark", "/P/ZZZU/signed", 400},
		{"badges of nobody", "/badges.pdf", 404},
		{"a badge of nobody", "/W/99", 404},
		{"a badge that is no number", "/W/x", 404},
		{"a rack without a name", "/racks.pdf", 400},
		{"a rack that is no cart", "/racks.pdf?name=Rack", 400},
		{"no such picture", "/photos/" + strings.Repeat("0", 64), 404},
		{"a picture's name that is none", "/photos/%00", 404},
	}
	for _, tt := range tests {
		status, _ := get(t, s.url+tt.path)
		assert.Equal(t, tt.status, status, tt.name)
	}
}

func TestFindForgives(t *testing.T) {
	s, job := stocked(t)
	mark := named(t, s, job.Job.Code, "Rail 1", parts.Single)
	typed := strings.NewReplacer("0", "o", "1", "l").Replace(strings.ToLower(mark))
	for _, text := range []string{mark, typed, " " + mark[:2] + "-" + mark[2:] + " ", "http://old.address:99/P/" + mark, "HTTP://OTHER/P/2/" + mark} {
		status, body := get(t, s.url+"/find?mark="+url.QueryEscape(text))
		assert.Equal(t, 200, status, text)
		assert.Contains(t, body, "Rail 1", text)
	}
	_, body := get(t, s.url+"/find?mark="+url.QueryEscape("http://192.168.1.20:8080/S/BORE"))
	assert.Contains(t, body, "At the drill")
}

func TestARefusalSaysWhatToDo(t *testing.T) {
	s, job := stocked(t)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	status, body := post(t, s.url+"/P/"+frame+"/scan", url.Values{"id": {shoptest.NewID().String()}, "station": {"glue"}})
	require.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "is not complete")
	assert.Contains(t, body, "They all lie on the bench")
	status, body = post(t, s.url+"/P/"+frame+"/scan", url.Values{"id": {"x"}, "station": {"glue"}})
	require.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "UUID")
}

func TestAFormSentTwiceIsOneScan(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail 1", parts.Single)
	form := url.Values{"id": {shoptest.NewID().String()}, "station": {"crosscut"}, "step": {"1"}}
	for range 3 {
		status, body := post(t, s.url+"/P/"+rail+"/scan", form)
		require.Equal(t, 200, status)
		require.Contains(t, body, "Rough length")
	}
	events, err := s.bench.Events(context.Background(), rail)
	require.NoError(t, err)
	require.Len(t, events, 2) // listed, done
}

func TestAnotherSiteCannotPost(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail 1", parts.Single)
	form := url.Values{"id": {shoptest.NewID().String()}, "station": {"crosscut"}}
	req, err := http.NewRequest(http.MethodPost, s.url+"/P/"+rail+"/scan", strings.NewReader(form.Encode()))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", "http://elsewhere.example")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	res.Body.Close()
	require.Equal(t, http.StatusForbidden, res.StatusCode)
}

func TestTheFloorIsLive(t *testing.T) {
	s, job := stocked(t)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, s.url+"/floor/stream", nil)
	require.NoError(t, err)
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	require.Equal(t, "text/event-stream", res.Header.Get("Content-Type"))
	lines := bufio.NewScanner(res.Body)
	lines.Buffer(nil, 1<<20)
	await := func(phrase string) {
		for lines.Scan() {
			if strings.Contains(lines.Text(), phrase) {
				return
			}
		}
		t.Fatalf("the stream ended before %q: %v", phrase, lines.Err())
	}
	await("<b>10</b> <span>ready</span>")
	_, err = s.bench.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, "Rail 1", parts.Single), Station: "crosscut"})
	require.NoError(t, err)
	await("<b>9</b> <span>ready</span>")
}

func TestAnOlderLabelSaysSo(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail 1", parts.Single)
	for range 2 {
		_, err := s.bench.Print(context.Background(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels", Marks: []string{rail}, Again: true})
		require.NoError(t, err)
	}
	_, body := get(t, s.url+"/P/"+rail)
	assert.Contains(t, body, "label 2 was printed later")
	_, body = get(t, s.url+"/P/2/"+rail)
	assert.NotContains(t, body, "was printed later")
}

func TestSettingsAreChecked(t *testing.T) {
	s, _ := stocked(t)
	form := url.Values{"shop": {"Shop"}, "address": {"http://10.0.0.5:8080/"}, "zone": {"Europe/Berlin"}, "unit": {"mm"}, "denominator": {"32"}, "paper": {"a4"}, "sheet": {"a4-3x8"}}
	status, body := post(t, s.url+"/settings", form)
	require.Equal(t, 200, status)
	assert.Contains(t, body, "Kept")
	for field, wrong := range map[string]string{"zone": "Nowhere/City", "address": "shop", "unit": "cubits", "denominator": "7", "paper": "silk", "sheet": "none", "shop": ""} {
		bad := url.Values{}
		for k, v := range form {
			bad[k] = v
		}
		bad.Set(field, wrong)
		status, _ := post(t, s.url+"/settings", bad)
		assert.Equal(t, 400, status, field)
	}
	set, err := s.bench.Settings(context.Background())
	require.NoError(t, err)
	assert.Equal(t, "http://10.0.0.5:8080", set.Address)
}

func TestAPDFIsAPureFunctionOfItsOrder(t *testing.T) {
	s, job := stocked(t)
	_, body := post(t, s.url+"/labels", url.Values{"id": {shoptest.NewID().String()}, "job": {job.Job.Code}, "what": {"labels"}})
	assert.Contains(t, body, "/labels/1/sheet.pdf")
	_, first := get(t, s.url+"/labels/1/sheet.pdf")
	_, again := get(t, s.url+"/labels/1/sheet.pdf")
	require.Equal(t, first, again)
	require.True(t, strings.HasPrefix(first, "%PDF-"))
	_, body = post(t, s.url+"/labels", url.Values{"id": {shoptest.NewID().String()}, "job": {job.Job.Code}, "what": {"labels"}})
	assert.Contains(t, body, "/labels/1/sheet.pdf", "the same labels again are the same sheet")
	_, body = post(t, s.url+"/labels/1/spoiled", url.Values{"id": {shoptest.NewID().String()}})
	assert.Contains(t, body, "12 labels wait")
}
