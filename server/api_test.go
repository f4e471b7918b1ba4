package server

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// program talks to a shop over HTTP. Every answer it gets is compared with
// the API's description.
type program struct {
	*testing.T
	bench *bench.Bench
	clock *shoptest.Clock
	api   *Server
	http  *httptest.Server
	doc   *document
	token string
	heard map[string]bool // methods and paths that were answered with success
}

func openProgram(t *testing.T, demo bool) *program {
	t.Helper()
	clock := shoptest.NewClock()
	b := shoptest.Open(t, clock)
	p := &program{T: t, bench: b, clock: clock, doc: readDocument(t), heard: map[string]bool{}}
	p.api, p.http = serve(t, b, demo)
	var err error
	p.token, err = b.AddToken(context.Background(), "tests", access.Scopes...)
	require.NoError(t, err)
	return p
}

// serve puts a shop on the loopback network until the test ends.
func serve(t testing.TB, b *bench.Bench, demo bool) (*Server, *httptest.Server) {
	t.Helper()
	s, err := New(Config{Bench: b, Log: slog.New(slog.NewTextHandler(faults{t}, &slog.HandlerOptions{Level: slog.LevelError})), Demo: demo})
	require.NoError(t, err)
	h := httptest.NewServer(s)
	t.Cleanup(func() { s.Close(); h.Close() })
	return s, h
}

// faults fails a test whose server logs one.
type faults struct{ testing.TB }

func (f faults) Write(line []byte) (int, error) {
	f.Errorf("the server logged: %s", line)
	return len(line), nil
}

// reply is an answer.
type reply struct {
	*testing.T
	status int
	header http.Header
	body   []byte
}

func (p *program) get(path string) reply { p.Helper(); return p.send("GET", path, "") }

// post sends v as JSON.
func (p *program) post(path string, v any) reply {
	p.Helper()
	body, err := json.Marshal(v)
	require.NoError(p, err)
	r := p.send("POST", path, string(body))
	if r.status < 300 {
		keys := []string{"paths", p.doc.path(p, path), "post", "requestBody", "content", "application/json", "schema"}
		require.NoError(p, p.doc.schema(p, keys...).Validate(parseJSON(p, body)), "the request %s was taken and is not as described", body)
	}
	return r
}

func (p *program) send(method, path, body string) reply {
	p.Helper()
	req, err := http.NewRequest(method, p.http.URL+path, strings.NewReader(body))
	require.NoError(p, err)
	if p.token != "" {
		req.Header.Set("Authorization", "Bearer "+p.token)
	}
	resp, err := p.http.Client().Do(req)
	require.NoError(p, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	require.NoError(p, err)
	r := reply{p.T, resp.StatusCode, resp.Header, data}
	p.doc.checkAnswer(p, method, path, r.status, resp.Header.Get("Content-Type"), data)
	if r.status < 300 {
		p.heard[method+" "+p.doc.path(p, path)] = true
	} else {
		r.isProblem()
	}
	return r
}

// isProblem checks the members that RFC 9457, section 3.1, names: the status
// repeats the answer's, and with the type about:blank the title is the status
// in words (section 4.2.1).
func (r reply) isProblem() {
	r.Helper()
	require.Equal(r, "application/problem+json", r.header.Get("Content-Type"))
	var p problem
	require.NoError(r, json.Unmarshal(r.body, &p))
	require.Equal(r, r.status, p.Status)
	require.Equal(r, "about:blank", p.Type)
	require.Equal(r, http.StatusText(r.status), p.Title)
	require.NotEmpty(r, p.Detail)
	require.NotEmpty(r, p.Code)
	require.NotEmpty(r, p.Next, "%s says nothing of what to do next", p.Code)
}

// into reads the answer.
func (r reply) into(v any) {
	r.Helper()
	require.NoError(r, json.Unmarshal(r.body, v), "%s", r.body)
}

// is checks the status and, for what was not recorded, the code.
func (r reply) is(status int, code string) reply {
	r.Helper()
	var p struct{ Code string }
	json.Unmarshal(r.body, &p)
	require.Equal(r, status, r.status, "%s", r.body)
	if code != "" {
		require.Equal(r, code, p.Code, "%s", r.body)
	}
	return r
}

func (r reply) field(name string) any {
	r.Helper()
	m := map[string]any{}
	r.into(&m)
	return m[name]
}

// body makes the body of a request from names and values in turn.
func body(pairs ...any) map[string]any {
	return dict(append([]any{"id", shoptest.NewID()}, pairs...)...)
}

// list makes the job of shoptest and gives the mark of a piece by its name.
func (p *program) list() func(name string) string {
	p.Helper()
	r := p.send("POST", "/api/v1/lists?name=Tern+Point+lockers&assemblies=Locker+front=2&id="+shoptest.NewID().String(), shoptest.FramesList)
	r.is(201, "")
	return p.marks(r.field("code").(string))
}

// marks gives the marks of a job's pieces, and of its tickets as "ticket Stile".
func (p *program) marks(code string) func(name string) string {
	p.Helper()
	var pieces []partJSON
	p.get("/api/v1/jobs/" + code + "/parts").into(&pieces)
	var tickets []ticketJSON
	p.get("/api/v1/jobs/" + code + "/tickets").into(&tickets)
	marks := map[string]string{}
	for _, piece := range pieces {
		marks[piece.Name] = string(piece.Mark)
	}
	for _, ticket := range tickets {
		marks["ticket "+ticket.Name] = string(ticket.Mark)
	}
	return func(name string) string {
		p.Helper()
		require.Contains(p, marks, name)
		return marks[name]
	}
}

// scan scans a mark at a station and wants it recorded.
func (p *program) scan(mark, station string, also ...any) reply {
	p.Helper()
	return p.post("/api/v1/scans", body(append([]any{"mark", mark, "station", station}, also...)...)).is(200, "")
}

// clampsOff glues up a frame of another job and takes its clamps off early.
func (p *program) clampsOff() {
	job := shoptest.ListJob(p.T, p.bench, "Tern Point gates", shoptest.FramesList, map[string]int{"Locker front": 2})
	for _, line := range job.Lines[:2] {
		p.scan(string(line.Ticket), "bore")
	}
	for _, s := range job.States {
		if s.Kind != parts.Assembly || s.Number != 1 {
			continue
		}
		p.scan(string(s.Part), "glue", "step", 2)
		p.post("/api/v1/clamps-off", body("mark", string(s.Part), "override", true, "reason", "joint checked")).is(200, "")
	}
}

// Every address is asked once with success, from the list to the sheet.
func TestEveryAddressAnswers(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	require.Equal(t, "TERN-POINT-LOCKERS", p.jobCode())
	for _, line := range []string{"Stile", "Rail"} {
		r := p.scan(mark("ticket "+line), "crosscut", "by", "Ann")
		require.Equal(t, "recorded", r.field("outcome"))
		p.scan(mark("ticket "+line), "rip", "step", 2)
		p.clock.Pass(24 * time.Hour)
		p.scan(mark("ticket "+line), "plane")
		p.scan(mark("ticket "+line), "bore")
	}
	p.post("/api/v1/plugs", body("mark", mark("Stile 1"), "station", "bore", "note", "2 mm off")).is(200, "")
	p.post("/api/v1/remakes", body("mark", mark("Rail 1"), "reason", "split", "spare", mark("Rail 5 (spare)"))).is(200, "")
	p.post("/api/v1/remakes", body("mark", mark("Rail 2"), "reason", "split")).is(200, "")
	hold := body("mark", mark("Shelf"), "reason", "torn grain")
	p.post("/api/v1/holds", hold).is(200, "")
	p.post("/api/v1/undos", body("command", hold["id"], "by", "Ann")).is(200, "")
	p.post("/api/v1/holds", body("mark", mark("Shelf"), "reason", "torn grain")).is(200, "")
	p.post("/api/v1/releases", body("mark", mark("Shelf"))).is(200, "")
	p.post("/api/v1/scans", body("mark", mark("Stile 2"), "step", 8)).is(200, "done-already")
	p.post("/api/v1/scans", body("mark", mark("Stile 1"), "step", 1001+1, "at", shoptest.Noon.Add(time.Hour))).is(202, "late")
	p.scan(mark("Locker front 2"), "glue", "override", true, "reason", "they all lie on the bench")
	p.post("/api/v1/take-aparts", body("mark", mark("Locker front 2"), "by", "Ann")).is(200, "")
	p.post("/api/v1/take-aparts", body("mark", mark("Locker front 2"))).is(200, "not-together")
	p.restOfTheDeeds(mark)
	p.finishDeeds()
	p.post("/api/v1/readings", map[string]any{"celsius": 19.5, "humidity": 52}).is(201, "")
	for _, path := range []string{"/openapi.json", "/jobs", "/floor", "/stations", "/setups?station=rip", "/air?celsius=20&humidity=50", "/drying", "/formats", "/defects", "/carts", "/late", "/parts/" + mark("Locker front 1"), "/parts/" + mark("Stile 1"),
		"/parts/" + mark("ticket Rail"), "/parts/" + mark("Rail 1") + "/events", "/parts/" + mark("ticket Rail") + "/events"} {
		p.get("/api/v1"+path).is(200, "")
	}
	order := p.post("/api/v1/print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "sheet", "letter-3x10", "first", 4)).is(201, "")
	pdf := p.get(order.field("pdf").(string)).is(200, "")
	p.post("/api/v1/print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "line", 3, "again", true)).is(201, "")
	p.post("/api/v1/print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels", "station", "wrap")).is(422, "print-nothing")
	require.True(t, bytes.HasPrefix(pdf.body, []byte("%PDF-")))
	p.post(strings.Replace(order.field("pdf").(string), "sheet.pdf", "spoils", 1), body("by", "Ann", "marks", []string{mark("Stile 2")})).is(200, "")
	p.post(strings.Replace(order.field("pdf").(string), "sheet.pdf", "spoils", 1), body("marks", []string{mark("ticket Rail")})).is(422, "mark-off-sheet")
	p.post(strings.Replace(order.field("pdf").(string), "sheet.pdf", "spoils", 1), body("by", "Ann")).is(200, "")
	p.post(strings.Replace(order.field("pdf").(string), "sheet.pdf", "spoils", 1), body("by", "Ann")).is(200, "spoiled-already")
	p.clampsOff()
	for path, methods := range p.doc.at(t, "paths").(map[string]any) {
		for method := range methods.(map[string]any) {
			require.True(t, p.heard[strings.ToUpper(method)+" "+path], "%s %s was never answered with success", method, path)
		}
	}
}

// restOfTheDeeds asks for what goes wrong, for what is handed over and for
// carts.
func (p *program) restOfTheDeeds(mark func(string) string) {
	p.Helper()
	p.post("/api/v1/checks", body("mark", mark("ticket Rail"), "step", 8)).is(200, "")
	p.post("/api/v1/doubts", body("mark", mark("ticket Stile"), "part", mark("Stile 1"))).is(200, "")
	p.post("/api/v1/clearances", body("mark", mark("ticket Stile"))).is(200, "")
	p.post("/api/v1/losses", body("mark", mark("ticket Rail"), "step", 1, "count", 1, "instead", "short", "reason", "split")).is(200, "")
	p.post("/api/v1/step-changes", body("job", p.jobCode(), "line", 3, "steps", "loose-part")).is(200, "steps-same")
	p.post("/api/v1/skips", body("mark", mark("Shelf"), "step", 18, "reason", "bought finished")).is(200, "")
	p.post("/api/v1/deliveries", body("job", p.jobCode())).is(200, "")
	p.post("/api/v1/returns", body("mark", mark("Shelf"), "defect", "dent", "reason", "knocked")).is(200, "")
	p.post("/api/v1/mends", body("mark", mark("Stile 3"), "defect", "tear-out")).is(200, "")
	p.post("/api/v1/scraps", body("mark", mark("Stile 4"), "reason", "split")).is(200, "")
	p.post("/api/v1/relabels", body("mark", mark("Stile 3"))).is(200, "")
	cart := p.post("/api/v1/carts", body()).is(201, "").field("mark")
	p.post("/api/v1/loads", body("mark", mark("Stile 3"), "cart", cart)).is(200, "")
	p.get(p.send("POST", "/api/v1/photos", string(picture(p.T, asJPEG))).is(201, "").header.Get("Location")).is(200, "")
	var late []lateJSON
	p.get("/api/v1/late").into(&late)
	require.Len(p, late, 1)
	p.post("/api/v1/late/"+late[0].Command.String(), body("do", "drop")).is(200, "")
}

func (p *program) jobCode() string {
	p.Helper()
	var jobs []jobJSON
	p.get("/api/v1/jobs").into(&jobs)
	require.Len(p, jobs, 1)
	return jobs[0].Code
}

func TestPartsOfAJob(t *testing.T) {
	p := openProgram(t, false)
	p.list()
	path := "/api/v1/jobs/tern-point-lockers/parts"
	var all, some []partJSON
	p.get(path).into(&all)
	require.Len(t, all, 4+5+1+2, "parts with the spare and two assemblies, no tickets")
	require.Equal(t, partJSON{Mark: all[0].Mark, Name: "Stile 1", Kind: parts.Single, Line: "Stile", State: "ready"}, all[0])
	require.Equal(t, parts.Assembly, all[11].Kind)
	p.get(path + "?limit=3").into(&some)
	require.Equal(t, all[:3], some)
	p.get(path + "?limit=100&offset=10").into(&some)
	require.Equal(t, all[10:], some)
	p.get(path + "?offset=99").into(&some)
	require.Empty(t, some)
	for _, q := range []string{"limit=0", "limit=-1", "limit=ten", "limit=", "offset=-1", "limit=99999999999999999999"} {
		p.get(path+"?"+q).is(400, "number-unreadable")
	}
}

func TestTickets(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	var tickets []ticketJSON
	p.get("/api/v1/jobs/TERN-POINT-LOCKERS/tickets").into(&tickets)
	require.Equal(t, ticketJSON{Mark: tickets[1].Mark, Name: "Rail", Number: 2, Count: 4, Spares: 1}, tickets[1])
	p.scan(mark("ticket Rail"), "crosscut", "count", 2)
	var piece pieceJSON
	p.get("/api/v1/parts/" + mark("ticket Rail")).into(&piece)
	require.Equal(t, []countJSON{
		{Step: "rough length", Station: "crosscut", State: "ready", Count: 3},
		{Step: "rough width", Station: "rip", State: "ready", Count: 2},
	}, piece.Counts)
	require.Equal(t, "rough length", piece.Next.Name)
}

func TestPart(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "rip", "by", "Ann")
	var piece pieceJSON
	p.get("/api/v1/parts/" + strings.ToLower(mark("Stile 1")[:2]+"-"+mark("Stile 1")[2:])).into(&piece)
	ready := shoptest.Noon.Add(24 * time.Hour)
	require.Equal(t, pieceJSON{
		Mark: parts.ID(mark("Stile 1")), Name: "Stile 1", Kind: parts.Single, Job: "TERN-POINT-LOCKERS", Line: "Stile",
		Size: `34 1/2" × 2 1/4" × 3/4"`, Material: "white oak", State: "resting",
		Next:    &nextJSON{Step: 4, Station: "joint", Name: "joint a face and an edge", ReadyAt: ready},
		Notches: []string{"unrecorded", "done", "waiting", "open", "open", "open", "open", "open"},
	}, piece)
	p.clock.Pass(25 * time.Hour)
	r := p.get("/api/v1/parts/" + mark("Stile 1"))
	require.NotContains(t, string(r.body), "ready_at", "what is past is nothing to wait for")
	require.Contains(t, string(p.get("/api/v1/parts/"+mark("Locker front 1")).body), `"kit":[{"line":"Stile","need":2,"ready":0}`)
}

func TestWhatIsFinishedHasNothingNext(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "bore")
	r := p.get("/api/v1/parts/" + mark("Stile 1"))
	require.Contains(t, string(r.body), `"next":null`)
	require.Equal(t, "finished", r.field("state"))
}

// The floor for programs counts like the floor for people.
func TestFloorForPrograms(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("ticket Stile"), "rip")
	p.post("/api/v1/holds", body("mark", mark("Rail 1"), "reason", "torn grain")).is(200, "")
	p.post("/api/v1/remakes", body("mark", mark("Shelf"), "reason", "split")).is(200, "")
	var board boardJSON
	p.get("/api/v1/floor").into(&board)
	require.Len(t, board.Jobs, 1)
	job := board.Jobs[0]
	require.Equal(t, []int{4 + 5 + 1 + 2, 0, 1}, []int{job.Pieces, job.Finished, job.LabelsDue})
	require.Equal(t, []mentionJSON{{Mark: parts.ID(mark("Rail 1")), Name: "Rail 1", Note: "torn grain"}}, job.Held)
	require.Equal(t, "Shelf", job.Remade[0].Name)
	require.NotEmpty(t, job.Remade[0].Other)
	require.Equal(t, []waitJSON{{Line: "Stile", Clock: parts.Resting, Count: 4, Until: shoptest.Noon.Add(24 * time.Hour), Mark: parts.ID(mark("ticket Stile"))}}, job.Waits)
	require.Equal(t, parts.Station("crosscut"), job.Stations[0].Station)
	require.Equal(t, []int{5, 0}, []int{job.Stations[0].Ready, job.Stations[0].Waiting}, "four rails and the shelf made anew")
}

func TestLateScansWaitForAPerson(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	p.scan(mark("Stile 1"), "crosscut")
	scan := body("mark", mark("Stile 1"), "station", "rip", "at", shoptest.Noon.Add(-time.Hour), "by", "Ben")
	p.post("/api/v1/scans", scan).is(202, "late")
	var late []lateJSON
	p.get("/api/v1/late").into(&late)
	require.Len(t, late, 1)
	require.Equal(t, scan["id"], late[0].Command)
	require.Equal(t, []string{"scan", mark("Stile 1"), "late"}, []string{late[0].Kind, string(late[0].Mark), late[0].Code})
	require.Contains(t, string(late[0].Asked), `"by":"Ben"`)
}

func TestWhatIsNoAddressIsAProblemToo(t *testing.T) {
	p := openProgram(t, false)
	asked, err := http.NewRequest("GET", p.http.URL+"/api/v1/nothing", nil)
	require.NoError(t, err)
	asked.Header.Set("Authorization", "Bearer "+p.token)
	resp, err := p.http.Client().Do(asked)
	require.NoError(t, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	r := reply{t, resp.StatusCode, resp.Header, data}
	r.isProblem()
	r.is(404, "no-such-page")
}

func TestEvents(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	scan := body("mark", mark("ticket Stile"), "station", "crosscut", "by", "Ann", "at", shoptest.Noon, "sent", shoptest.Noon)
	p.clock.Pass(time.Second)
	p.post("/api/v1/scans", scan).is(200, "")
	var events []eventJSON
	p.get("/api/v1/parts/" + mark("Stile 1") + "/events").into(&events)
	require.Len(t, events, 2)
	require.Equal(t, eventJSON{Seq: 2, Command: scan["id"].(parts.CommandID), Kind: parts.Did, Mark: parts.ID(mark("Stile 1")), Station: "crosscut",
		At: shoptest.Noon, Recorded: shoptest.Noon.Add(time.Second), Step: 1, By: "Ann", Ticket: parts.ID(mark("ticket Stile"))}, events[1])
}
