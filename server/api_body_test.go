package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

func TestTokens(t *testing.T) {
	p := openProgram(t, false)
	tests := []struct {
		name, header string
		code         string // "" means let in
	}{
		{"nothing", "", "token-missing"},
		{"no scheme", p.token, "token-missing"},
		{"another scheme", "Basic " + p.token, "token-missing"},
		{"scheme alone", "Bearer ", "token-missing"},
		{"a token nobody made", "Bearer " + strings.Repeat("x", 32), "token-unknown"},
		{"a token cut short", "Bearer " + p.token[:20], "token-unknown"},
		{"the token", "Bearer " + p.token, ""},
		// RFC 9110, section 11.1: the scheme is case-insensitive.
		{"the scheme in small letters", "bearer " + p.token, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			req := httptest.NewRequest("GET", "/api/v1/jobs", nil)
			req.Header.Set("Authorization", tt.header)
			w := httptest.NewRecorder()
			p.api.ServeHTTP(w, req)
			if tt.code == "" {
				require.Equal(t, 200, w.Code)
				return
			}
			require.Equal(t, 401, w.Code)
			r := reply{t, w.Code, w.Header(), w.Body.Bytes()}
			r.isProblem()
			r.is(401, tt.code)
			// RFC 6750, section 3: a refusal names the scheme.
			require.Equal(t, "Bearer", w.Header().Get("WWW-Authenticate"))
			require.Contains(t, r.field("next"), "benchtally token -db FILE")
		})
	}
}

func TestDemoNeedsNoToken(t *testing.T) {
	p := openProgram(t, true)
	p.token = ""
	p.list()
	p.get("/api/v1/jobs").is(200, "")
}

func TestTheSameIDIsOneDeedAndOneAnswer(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "crosscut")
	tests := []struct {
		name   string
		path   string
		body   map[string]any
		status int
	}{
		{"recorded", "scans", body("mark", mark("Stile 2"), "station", "crosscut"), 200},
		{"a ticket", "scans", body("mark", mark("ticket Rail"), "station", "crosscut", "count", 3), 200},
		{"done before", "scans", body("mark", mark("Stile 1"), "step", 1), 200},
		{"too late", "scans", body("mark", mark("Stile 1"), "station", "rip", "at", shoptest.Noon.Add(-time.Hour)), 202},
		{"refused", "scans", body("mark", mark("Locker front 1"), "station", "glue"), 422},
		{"a step of another station", "scans", body("mark", mark("Stile 1"), "station", "plane", "step", 1), 400},
		{"a mark that is mistyped", "scans", body("mark", "1040", "station", "plane"), 400},
		{"plug without a hole", "plugs", body("mark", mark("Stile 1")), 422},
		{"hold", "holds", body("mark", mark("Stile 3"), "reason", "knot"), 200},
		{"remake", "remakes", body("mark", mark("Stile 4"), "reason", "split"), 200},
		{"undo of nothing", "undos", body("command", shoptest.NewID()), 404},
		{"print", "print-orders", body("job", "TERN-POINT-LOCKERS", "what", "tickets"), 201},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			before := p.books()
			first := p.post("/api/v1/"+tt.path, tt.body)
			require.Equal(t, tt.status, first.status, "%s", first.body)
			done := p.books()
			again := p.post("/api/v1/"+tt.path, tt.body)
			require.Equal(t, first.status, again.status)
			require.Equal(t, string(first.body), string(again.body))
			require.Equal(t, done, p.books(), "the repeat was recorded")
			if first.status >= 202 {
				require.Equal(t, before, done, "what was not recorded left events")
			}
		})
	}
}

// books counts the events of the log.
func (p *program) books() int {
	p.Helper()
	books, err := p.bench.Check(p.Context())
	require.NoError(p, err)
	return books.Events
}

// Phones that retry all at once are one deed, and all hear the same.
func TestTheSameIDAtOnce(t *testing.T) {
	p := openProgram(t, true)
	mark := p.list()
	scan, err := json.Marshal(body("mark", mark("ticket Stile"), "station", "crosscut"))
	require.NoError(t, err)
	said := make([]string, 24)
	var wg sync.WaitGroup
	for i := range said {
		wg.Go(func() {
			resp, err := p.http.Client().Post(p.http.URL+"/api/v1/scans", "application/json", bytes.NewReader(scan))
			if !assert.NoError(t, err) {
				return
			}
			defer resp.Body.Close()
			data, err := io.ReadAll(resp.Body)
			assert.NoError(t, err)
			said[i] = fmt.Sprint(resp.StatusCode, " ", string(data))
		})
	}
	wg.Wait()
	require.Contains(t, said[0], `200 {"outcome":"recorded"`)
	for _, s := range said {
		require.Equal(t, said[0], s)
	}
	require.Equal(t, 2, strings.Count(string(p.get("/api/v1/parts/"+mark("Stile 1")+"/events").body), `"seq"`))
}

func TestAnIDIsUsedOnce(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	scan := body("mark", mark("Stile 1"), "station", "crosscut")
	p.post("/api/v1/scans", scan).is(200, "")
	scan["station"] = "rip"
	p.post("/api/v1/scans", scan).is(400, "id-reused")
	p.post("/api/v1/holds", body("id", scan["id"], "mark", mark("Stile 1"), "reason", "knot")).is(400, "id-reused")
	require.Equal(t, 1, strings.Count(string(p.get("/api/v1/parts/"+mark("Stile 1")+"/events").body), scan["id"].(parts.CommandID).String()))
}

func TestBodiesAreReadStrictly(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()("Stile 1")
	id := `"id":"` + shoptest.NewID().String() + `"`
	start := `{` + id + `,"mark":"` + mark + `",`
	tests := []struct {
		name, body string
		status     int
		code, says string
	}{
		{"nothing", "", 400, "body-empty", ""},
		{"blanks", " \n\t ", 400, "body-empty", ""},
		{"no JSON", "mark=" + mark, 400, "body-no-json", ""},
		{"cut off", start + `"station":"crosscut"`, 400, "body-no-json", ""},
		{"something after it", start + `"station":"crosscut"} {}`, 400, "body-no-json", "after"},
		{"a comma too many", start + `"station":"crosscut",}`, 400, "body-no-json", ""},
		{"a list", `[` + start + `"station":"crosscut"}]`, 400, "body-no-object", ""},
		{"null", `null`, 400, "body-no-object", ""},
		{"a number", `12`, 400, "body-no-object", ""},
		{"deep", strings.Repeat("[", 20000) + strings.Repeat("]", 20000), 400, "body-no-json", ""},
		{"deep in a field", start + `"station":` + strings.Repeat(`{"a":`, 5000) + "1" + strings.Repeat("}", 5000) + "}", 400, "field-wrong", `"station"`},
		{"not UTF-8", start + "\"station\":\"\xff\"}", 400, "body-encoding", ""},
		{"UTF-16", "\xfe\xff\x00{\x00}", 400, "body-encoding", ""},
		{"a field nobody knows", start + `"station":"crosscut","speed":3}`, 400, "field-unknown", `"speed"`},
		{"a field in capitals", start + `"Station":"crosscut"}`, 400, "field-unknown", `"Station"`},
		{"a field of another request", start + `"station":"crosscut","spare":"101S"}`, 400, "field-unknown", `"spare"`},
		{"a field twice", start + `"station":"crosscut","station":"rip"}`, 400, "field-twice", `"station"`},
		{"a number as a text", start + `"step":"1"}`, 400, "field-wrong", `"step"`},
		{"a text as a number", start + `"station":7}`, 400, "field-wrong", `"station"`},
		{"a part of a step", start + `"step":1.5}`, 400, "field-wrong", `"step"`},
		{"step nought", start + `"step":0}`, 400, "field-wrong", `"step"`},
		{"a step below nought", start + `"step":-3}`, 400, "field-wrong", `"step"`},
		{"a huge step", start + `"step":1e400}`, 400, "field-wrong", `"step"`},
		{"a step beyond any integer", start + `"step":99999999999999999999}`, 400, "field-wrong", `"step"`},
		{"a count of nought", start + `"station":"crosscut","count":0}`, 400, "field-wrong", `"count"`},
		{"null for a field", start + `"station":null}`, 400, "station-missing", "no station"},
		{"override as a text", start + `"station":"crosscut","override":"yes"}`, 400, "field-wrong", `"override"`},
		{"a time without a zone", start + `"station":"crosscut","at":"2026-03-02T12:00:00"}`, 400, "field-wrong", `"at"`},
		{"a time as a number", start + `"station":"crosscut","at":1772452800}`, 400, "field-wrong", `"at"`},
		{"the first moment there is", start + `"station":"crosscut","at":"0001-01-01T00:00:00Z"}`, 400, "field-wrong", `"at"`},
		{"long ago", start + `"station":"crosscut","at":"1999-01-01T00:00:00Z"}`, 400, "at-unlikely", ""},
		{"in the future", start + `"station":"crosscut","at":"2026-03-02T12:01:00Z"}`, 400, "at-in-future", ""},
		{"the end of time", start + `"station":"crosscut","at":"9999-12-31T23:59:59-23:59"}`, 400, "at-in-future", ""},
		{"a clock from nowhere", start + `"station":"crosscut","at":"2026-03-02T12:00:00Z","sent":"0000-01-01T00:00:00Z"}`, 400, "", ""},
		{"no id", `{"mark":"` + mark + `","station":"crosscut"}`, 400, "id-missing", "no id"},
		{"an empty id", `{"id":"","mark":"` + mark + `","station":"crosscut"}`, 400, "id-missing", ""},
		{"an id that is no UUID", `{"id":"7","mark":"` + mark + `","station":"crosscut"}`, 400, "id-unreadable", ""},
		{"an id as a number", `{"id":7,"mark":"` + mark + `","station":"crosscut"}`, 400, "field-wrong", `"id"`},
		{"no mark", `{` + id + `,"station":"crosscut"}`, 400, "field-missing", `"mark"`},
		{"a mark that cannot be", `{` + id + `,"mark":"10","station":"crosscut"}`, 400, "mark-unreadable", ""},
		{"a mark that is mistyped", `{` + id + `,"mark":"101T","station":"crosscut"}`, 400, "mark-mistyped", ""},
		{"a mark of nothing", `{` + id + `,"mark":"` + unusedMark + `","station":"crosscut"}`, 404, "mark-unknown", ""},
		{"no station and no step", `{` + id + `,"mark":"` + mark + `"}`, 400, "station-missing", ""},
		{"a station the shop does not have", start + `"station":"forge"}`, 404, "station-unknown", "forge"},
		{"a step it does not have", `{"id":"` + shoptest.NewID().String() + `","mark":"` + mark + `","step":77}`, 400, "step-unknown", ""},
		{"a long name", start + `"station":"crosscut","by":"` + strings.Repeat("n", 201) + `"}`, 400, "text-unfit", ""},
		{"a name with nothing in it", start + `"station":"crosscut","by":"\u0000"}`, 400, "text-unfit", ""},
		{"very large", start + `"station":"crosscut","by":"` + strings.Repeat("n", mostJSON) + `"}`, 413, "body-large", ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := p.send("POST", "/api/v1/scans", tt.body)
			require.Equal(t, tt.status, r.status, "%s", r.body)
			if tt.code != "" {
				require.Equal(t, tt.code, r.field("code"), "%s", r.body)
			}
			require.Contains(t, r.field("detail"), tt.says)
		})
	}
	require.Equal(t, 1, strings.Count(string(p.get("/api/v1/parts/"+mark+"/events").body), `"seq"`), "nothing was recorded")
}

func TestVerbsSayWhatIsWrong(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "rip")
	tests := []struct {
		name   string
		path   string
		body   map[string]any
		status int
		code   string
	}{
		{"resting", "scans", body("mark", mark("Stile 1"), "station", "joint"), 422, "waiting"},
		{"an assembly with parts missing", "scans", body("mark", mark("Locker front 1"), "station", "glue"), 422, "parts-missing"},
		{"a hold without a reason", "holds", body("mark", mark("Stile 2")), 400, "reason-missing"},
		{"a remake without a reason", "remakes", body("mark", mark("Stile 2")), 400, "reason-missing"},
		{"a spare that is none", "remakes", body("mark", mark("Stile 2"), "reason", "split", "spare", mark("Rail 5 (spare)")), 422, "spare-gone"},
		{"a release of what is not held", "releases", body("mark", mark("Stile 2")), 200, "not-held"},
		{"a hold at a station the shop does not have", "holds", body("mark", mark("Stile 2"), "reason", "knot", "station", "forge"), 404, "station-unknown"},
		{"a ticket that is plugged", "plugs", body("mark", mark("ticket Stile")), 422, "not-a-part"},
		{"an undo that names nothing", "undos", body(), 400, "field-missing"},
		{"an undo of no UUID", "undos", body("command", "x"), 400, "id-unreadable"},
		{"labels of no job", "print-orders", body("what", "labels"), 400, "field-missing"},
		{"labels of an unknown job", "print-orders", body("job", "X", "what", "labels"), 404, "job-unknown"},
		{"labels on a strange sheet", "print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "sheet", "x"), 400, "sheet-unknown"},
		{"labels from beyond the sheet", "print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "first", 31), 400, "first-out"},
		{"what cannot be printed", "print-orders", body("job", "TERN-POINT-LOCKERS", "what", "money"), 400, "print-what"},
		{"labels that do not wait", "print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "due", true), 422, "print-nothing"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := &program{t, p.bench, p.clock, p.api, p.http, p.doc, p.token, p.heard}
			p.post("/api/v1/"+tt.path, tt.body).is(tt.status, tt.code)
		})
	}
	for path, code := range map[string]string{"/jobs/NOBODY/parts": "job-unknown", "/jobs/NOBODY/tickets": "job-unknown",
		"/parts/" + unusedMark: "mark-unknown", "/parts/" + unusedMark + "/events": "mark-unknown",
		"/print-orders/99/sheet.pdf": "order-unknown", "/print-orders/x/sheet.pdf": "no-such-page"} {
		p.get("/api/v1"+path).is(404, code)
	}
	p.get("/api/v1/parts/Z").is(400, "mark-unreadable")
}

// unusedMark is right and names nothing in the small jobs of these tests.
const unusedMark = "113K"

func TestWaitingTellsProgramsUntilWhen(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "rip")
	p.clock.Pass(22*time.Hour - 10*time.Minute)
	r := p.post("/api/v1/scans", body("mark", mark("Stile 1"), "station", "joint")).is(422, "waiting")
	require.Equal(t, "Stile 1 is resting: 2 h 10 min to go, ready 12:00.", r.field("detail"))
	facts := r.field("facts").(map[string]any)
	require.Equal(t, "2026-03-03T12:00:00Z", facts["ready_at"])
	require.EqualValues(t, 130*60, facts["wait_seconds"])
	p.scan(mark("Stile 1"), "joint", "override", true, "reason", "it has moved enough")
	require.Contains(t, string(p.get("/api/v1/parts/"+mark("Stile 1")+"/events").body), `"override":"it has moved enough"`)
}

func TestUndoGivesBackWhatWas(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	before := string(p.get("/api/v1/parts/" + mark("ticket Rail")).body)
	scan := body("mark", mark("ticket Rail"), "station", "crosscut")
	require.EqualValues(t, 5, p.post("/api/v1/scans", scan).field("count"), "the spare rides along")
	undo := p.post("/api/v1/undos", body("command", scan["id"])).is(200, "")
	require.EqualValues(t, 5, undo.field("count"))
	require.Equal(t, before, string(p.get("/api/v1/parts/"+mark("ticket Rail")).body))
	p.post("/api/v1/undos", body("command", scan["id"])).is(200, "undone-already")
}

const listPath = "/api/v1/lists?name=Tern+Point+lockers"

func TestListsThatAreTaken(t *testing.T) {
	p := openProgram(t, false)
	r := p.send("POST", listPath+"&unit=mm&map=Artikel=part&assemblies=Locker+front=2&id="+shoptest.NewID().String(),
		"Qty;Artikel;Length;Assembly\n4;Stile;876,3;Locker front\n4;Rail;288,9;Locker front\n").is(201, "")
	require.JSONEq(t, `{"code":"TERN-POINT-LOCKERS","name":"Tern Point lockers","lines":2,"parts":8,"spares":0,"assemblies":2}`, string(r.body))
	require.Equal(t, "/api/v1/jobs/TERN-POINT-LOCKERS/parts", r.header.Get("Location"))
	require.Equal(t, `34 1/2"`, p.get("/api/v1/parts/"+p.marks("TERN-POINT-LOCKERS")("Stile 1")).field("size"), "876.3 mm is 34.5 in exactly")

	f := excelize.NewFile()
	for i, row := range [][]any{{"Qty", "Part", "Length"}, {2, "Shelf", 30}} {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		require.NoError(t, err)
		require.NoError(t, f.SetSheetRow("Sheet1", cell, &row))
	}
	var book bytes.Buffer
	require.NoError(t, f.Write(&book))
	r = p.send("POST", listPath+"&id="+shoptest.NewID().String(), book.String()).is(201, "")
	require.Equal(t, "TERN-POINT-LOCKERS-2", r.field("code"))
}

func TestAListIsImportedOnce(t *testing.T) {
	p := openProgram(t, false)
	req := func(id parts.CommandID) reply {
		req, err := http.NewRequest("POST", p.http.URL+listPath, strings.NewReader(shoptest.FramesList))
		require.NoError(t, err)
		req.Header.Set("Authorization", "Bearer "+p.token)
		req.Header.Set("Idempotency-Key", id.String())
		resp, err := p.http.Client().Do(req)
		require.NoError(t, err)
		defer resp.Body.Close()
		var out bytes.Buffer
		_, err = out.ReadFrom(resp.Body)
		require.NoError(t, err)
		return reply{t, resp.StatusCode, resp.Header, out.Bytes()}
	}
	id := shoptest.NewID()
	first, again := req(id), req(id)
	require.Equal(t, 201, first.status)
	require.Equal(t, first.status, again.status)
	require.Equal(t, string(first.body), string(again.body))
	p.jobCode()
	p.send("POST", listPath+"+again&id="+id.String(), shoptest.FramesList).is(400, "id-reused")
}

func TestListsThatAreRefused(t *testing.T) {
	p := openProgram(t, false)
	r := p.send("POST", listPath+"&id="+shoptest.NewID().String(), "Qty,Part,Length\n2,Stile,34 1/2\n1.5,Rail,elleven\n").is(422, "list-troubled")
	var told struct {
		Facts struct{ Troubles []troubleJSON }
	}
	r.into(&told)
	require.Len(t, told.Facts.Troubles, 2)
	require.Equal(t, []any{3, 1, "Qty", "quantity"}, []any{told.Facts.Troubles[0].Row, told.Facts.Troubles[0].Column, told.Facts.Troubles[0].Heading, told.Facts.Troubles[0].Field})
	require.Equal(t, []any{3, 3, "Length", "length"}, []any{told.Facts.Troubles[1].Row, told.Facts.Troubles[1].Column, told.Facts.Troubles[1].Heading, told.Facts.Troubles[1].Field})
	id := "&id=" + shoptest.NewID().String()
	for query, code := range map[string]string{
		"?name=X":                       "id-missing",
		"?name=X&id=7":                  "id-unreadable",
		"?name=X&unit=furlong" + id:     "unit",
		"?name=X&map=Qty" + id:          "column-unreadable",
		"?name=X&map=Qty=colour" + id:   "field-unknown",
		"?name=X&assemblies=Front" + id: "assemblies-unreadable",
		"?name=X&assemblies==2" + id:    "assemblies-unreadable",
		"?name=" + id:                   "job-name",
	} {
		p.send("POST", "/api/v1/lists"+query, shoptest.FramesList).is(400, code)
	}
	p.send("POST", listPath+id, "").is(400, "file-empty")
	p.send("POST", listPath+id, "%PDF-1.7").is(400, "file-pdf")
	p.send("POST", listPath+id, strings.Repeat("a,b\n", mostUpload/4+1)).is(413, "too-big")
	require.Equal(t, "[]\n", string(p.get("/api/v1/jobs").body), "nothing was imported")
}

// FuzzScan sends a scan whatever comes: it never breaks the server, and every
// answer is one that the description has.
func FuzzScan(f *testing.F) {
	for _, seed := range []string{`{}`, `{"id":"0194f3c2-7a31-7c55-9f0e-3b1d5a2c4e60","mark":"101S","station":"rip","step":2,"count":1,"at":"2026-03-02T12:00:00Z","sent":"2026-03-02T12:00:00Z","by":"Ann","override":true,"reason":"dry"}`,
		`[`, `{"id":null}`, `{"step":1e9}`, "{\"by\":\"\xff\"}", `{"mark":{"mark":[]}}`} {
		f.Add(seed)
	}
	clock := shoptest.NewClock()
	b := shoptest.Open(f, clock)
	shoptest.ListJob(f, b, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	s, _ := serve(f, b, true)
	f.Fuzz(func(t *testing.T, body string) {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest("POST", "/api/v1/scans", strings.NewReader(body)))
		require.Contains(t, []int{200, 202, 400, 404, 413, 422}, w.Code, "%s", w.Body)
		require.True(t, json.Valid(w.Body.Bytes()))
	})
}
