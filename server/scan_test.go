package server_test

import (
	"bytes"
	"encoding/json"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// holding is a request that stops a piece.
func holding(mark string) bench.Request {
	return bench.Request{ID: shoptest.NewID(), Mark: mark, Reason: "Crack"}
}

// finishParts takes every part that goes into an assembly to the end of its
// steps.
func finishParts(t testing.TB, s *shop, job bench.JobPieces) {
	for _, st := range job.States {
		if st.Kind != parts.Single || job.LineOf(st).Into == 0 {
			continue
		}
		steps := job.Routings[st.Steps].Steps
		last := len(steps) - 1
		for steps[last].Wait() {
			last--
		}
		r := bench.Request{ID: shoptest.NewID(), Mark: string(st.Part), Step: parts.StepNumber(last, false)}
		_, err := s.bench.Scan(t.Context(), r)
		require.NoError(t, err)
	}
}

// phoneDo sends what the scanning page sends, and gives its answer.
func phoneDo(t *testing.T, s *shop, body map[string]any) (int, map[string]any) {
	t.Helper()
	if _, ok := body["id"]; !ok {
		body["id"] = shoptest.NewID().String()
	}
	data, err := json.Marshal(body)
	require.NoError(t, err)
	res, err := http.Post(s.url+"/scan/do", "application/json", bytes.NewReader(data))
	require.NoError(t, err)
	defer res.Body.Close()
	var out map[string]any
	require.NoError(t, json.NewDecoder(res.Body).Decode(&out))
	require.Equal(t, "no-store", res.Header.Get("Cache-Control"))
	return res.StatusCode, out
}

func TestAPhoneRecordsOncePerID(t *testing.T) {
	s, job := stocked(t)
	ticket, rail := named(t, s, job.Job.Code, "Rail", parts.Ticket), named(t, s, job.Job.Code, "Rail 2", parts.Single)
	id := shoptest.NewID().String()
	for range 3 { // a weak network sends it again
		status, a := phoneDo(t, s, map[string]any{"id": id, "do": "scan", "mark": ticket, "station": "crosscut", "step": 1, "count": 3})
		require.Equal(t, 200, status)
		assert.Equal(t, "recorded", a["outcome"])
		assert.Equal(t, map[string]any{"done": 3., "of": 5., "here": 2., "away": []any{}}, a["tally"])
	}
	status, a := phoneDo(t, s, map[string]any{"do": "scan", "mark": ticket, "station": "crosscut", "single": true})
	assert.Equal(t, 422, status, "nobody said how many")
	assert.Equal(t, "count-wanted", a["code"])
	status, a = phoneDo(t, s, map[string]any{"do": "scan", "mark": rail, "station": "rip", "single": true})
	assert.Equal(t, 200, status)
	assert.Equal(t, map[string]any{"done": 1., "of": 5., "here": 2., "away": []any{map[string]any{"count": 2., "where": "at the crosscut saw"}}}, a["tally"])
	status, a = phoneDo(t, s, map[string]any{"do": "undo", "command": a["command"]})
	assert.Equal(t, 200, status)
	assert.Equal(t, "Undone", a["did"])
}

func TestAPhoneIsToldWhy(t *testing.T) {
	s, job := stocked(t)
	frame, rail := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly), named(t, s, job.Job.Code, "Rail 2", parts.Single)
	tests := []struct {
		name   string
		body   map[string]any
		status int
		code   string
	}{
		{"parts are missing", map[string]any{"do": "fit", "mark": frame}, 422, "parts-missing"},
		{"no glue-up among its steps", map[string]any{"do": "clamps", "mark": rail}, 422, "no-such-step"},
		{"a wrong id", map[string]any{"do": "scan", "mark": rail, "station": "rip", "id": "x"}, 400, "id-unreadable"},
		{"no mark", map[string]any{"do": "scan", "station": "rip"}, 400, "field-missing"},
		{"a mistyped mark", map[string]any{"do": "scan", "mark": wrongMark(parts.ID(rail)), "station": "rip"}, 400, "mark-mistyped"},
		{"a station that is not there", map[string]any{"do": "scan", "mark": rail, "station": "lathe"}, 404, "station-unknown"},
		{"a deed nobody knows", map[string]any{"do": "dance", "mark": rail}, 400, "deed-unknown"},
		{"a field nobody knows", map[string]any{"do": "scan", "mark": rail, "colour": "red"}, 400, "field-unknown"},
		{"an undo of nothing", map[string]any{"do": "undo", "command": shoptest.NewID().String()}, 404, "nothing-to-undo"},
	}
	for _, tt := range tests {
		status, a := phoneDo(t, s, tt.body)
		assert.Equal(t, tt.status, status, tt.name)
		assert.Equal(t, tt.code, a["code"], tt.name)
		assert.NotEmpty(t, a["say"], tt.name)
		assert.Equal(t, "refused", a["outcome"], tt.name)
	}
}

func TestAPhoneOverrules(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail 2", parts.Single)
	status, _ := phoneDo(t, s, map[string]any{"do": "scan", "mark": rail, "station": "rip", "step": 2})
	require.Equal(t, 200, status)
	status, a := phoneDo(t, s, map[string]any{"do": "scan", "mark": rail, "station": "joint", "single": true})
	require.Equal(t, 422, status)
	require.NotEmpty(t, a["overrule"])
	status, a = phoneDo(t, s, map[string]any{"do": "scan", "mark": rail, "station": "joint", "single": true, "override": true, "reason": a["overrule"]})
	assert.Equal(t, 200, status)
	assert.Equal(t, "recorded", a["outcome"])
}

// A scan that was kept on a phone is judged by the phone's own time; its wrong
// clock is noticed.
func TestAKeptScanHasItsOwnTime(t *testing.T) {
	s, job := stocked(t)
	rail, other := named(t, s, job.Job.Code, "Rail 2", parts.Single), named(t, s, job.Job.Code, "Rail 3", parts.Single)
	s.clock.Pass(2 * time.Hour)
	made, sent := s.clock.Now().Add(-90*time.Minute), s.clock.Now()
	status, a := phoneDo(t, s, map[string]any{"do": "scan", "mark": rail, "station": "crosscut", "single": true,
		"at": made.Add(time.Hour).Format(time.RFC3339), "sent": sent.Add(time.Hour).Format(time.RFC3339)}) // an hour ahead
	require.Equal(t, 200, status)
	assert.Equal(t, "1 h", a["clock_off"])
	events, err := s.bench.Events(t.Context(), rail)
	require.NoError(t, err)
	assert.Equal(t, made, events[len(events)-1].At)
	_, err = s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: other, Station: "crosscut"})
	require.NoError(t, err)
	status, a = phoneDo(t, s, map[string]any{"do": "scan", "mark": other, "station": "rip", "single": true, "at": made.Format(time.RFC3339), "sent": sent.Format(time.RFC3339)})
	assert.Equal(t, http.StatusAccepted, status)
	assert.Equal(t, "parked", a["outcome"])
}

func TestAPhoneLooks(t *testing.T) {
	s, job := stocked(t)
	look := func(query string) (int, map[string]any) {
		status, body := get(t, s.url+"/scan/look?"+query)
		var out map[string]any
		require.NoError(t, json.Unmarshal([]byte(body), &out), body)
		return status, out
	}
	status, a := look("station=crosscut&mark=" + named(t, s, job.Job.Code, "Rail", parts.Ticket))
	require.Equal(t, 200, status)
	assert.Equal(t, "ticket", a["kind"])
	assert.Equal(t, 5., a["count"])
	offer := a["offers"].([]any)[0].(map[string]any)
	assert.Equal(t, "Rough length", offer["name"])
	assert.Equal(t, 5., offer["due"])
	assert.Equal(t, true, offer["here"])
	_, a = look("mark=" + named(t, s, job.Job.Code, "Locker front 1", parts.Assembly))
	assert.Len(t, a["kit"], 2)
	status, a = look("mark=ZZZZ")
	assert.Equal(t, 400, status)
	assert.Equal(t, "refused", a["outcome"])
}

func TestAPhoneIsSetToAPlace(t *testing.T) {
	s, _ := stocked(t)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := &http.Client{Jar: jar}
	ask := func(body string) (int, string) {
		res, err := client.Post(s.url+"/scan/place", "application/json", strings.NewReader(body))
		require.NoError(t, err)
		defer res.Body.Close()
		text, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		return res.StatusCode, string(text)
	}
	status, body := ask(`{"station":"crosscut"}`)
	require.Equal(t, 200, status)
	assert.Contains(t, body, "At the crosscut saw")
	assert.Contains(t, body, `"ready":`)
	at, err := url.Parse(s.url)
	require.NoError(t, err)
	require.Len(t, jar.Cookies(at), 1)
	assert.Equal(t, "crosscut", jar.Cookies(at)[0].Value)
	status, _ = ask(`{"station":"lathe"}`)
	assert.Equal(t, 404, status)
	status, body = ask(`{"station":""}`)
	require.Equal(t, 200, status)
	assert.Contains(t, body, `"station":null`)
	assert.Empty(t, jar.Cookies(at))
}

// Only the scanning page may run compiled code, and its files are kept for
// good under an address that changes with them.
func TestTheFilesOfTheScanningPage(t *testing.T) {
	s, _ := stocked(t)
	res, err := http.Get(s.url + "/scan")
	require.NoError(t, err)
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	res.Body.Close()
	assert.Contains(t, res.Header.Get("Content-Security-Policy"), "'wasm-unsafe-eval'")
	assert.NotContains(t, res.Header.Get("Content-Security-Policy"), "unsafe-inline")
	res, err = http.Get(s.url + "/")
	require.NoError(t, err)
	res.Body.Close()
	assert.NotContains(t, res.Header.Get("Content-Security-Policy"), "unsafe")

	base := regexp.MustCompile(`/scan/files/[0-9a-f]{12}/`).FindString(string(body))
	require.NotEmpty(t, base)
	head := func(path string) *http.Response {
		res, err := http.Get(s.url + path)
		require.NoError(t, err)
		res.Body.Close()
		return res
	}
	assert.Contains(t, head(base+"scan.js").Header.Get("Cache-Control"), "immutable")
	assert.Equal(t, "no-store", head("/scan/files/000000000000/scan.js").Header.Get("Cache-Control"))
	assert.Equal(t, "application/wasm", head(base+"zxing/zxing_reader.wasm").Header.Get("Content-Type"))
	assert.Equal(t, 404, head(base+"none.js").StatusCode)
	assert.Equal(t, 404, head(base+"../scan.css").StatusCode)
	assert.Equal(t, "application/manifest+json", head("/manifest.webmanifest").Header.Get("Content-Type"))
	worker := head("/sw.js")
	assert.Equal(t, "no-cache", worker.Header.Get("Cache-Control"))
	_, script := get(t, s.url+"/sw.js")
	list := regexp.MustCompile(`const keep = (\[.*\]);`).FindStringSubmatch(script)
	require.Len(t, list, 2)
	var keep []string
	require.NoError(t, json.Unmarshal([]byte(list[1]), &keep))
	assert.Greater(t, len(keep), 15)
	for _, path := range keep {
		assert.Equal(t, 200, head(path).StatusCode, path)
	}
}
