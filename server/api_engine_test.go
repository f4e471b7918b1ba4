package server

import (
	"encoding/json"
	"maps"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// asking is one request of a table: what makes it sensible, and what spoils it.
type asking struct {
	name   string
	ready  func(p *program, mark func(string) string) (path string, body map[string]any)
	status int            // of success
	says   map[string]any // fields of the answer
	spoil  map[string]any // fields that make it senseless
	code   string         // of what is then said
	about  string         // "mark" or "job", which is then of nothing; "" when the address says it
	nobody string         // the address of nothing, when the address says it
	gone   string         // code of what is said of nothing
}

// done skips every step of a piece.
func (p *program) done(mark string) {
	p.Helper()
	var piece pieceJSON
	p.get("/api/v1/parts/" + mark).into(&piece)
	p.post("/api/v1/skips", body("mark", mark, "step", len(piece.Notches)+1, "reason", "bought finished")).is(200, "")
}

// deliverShelf finishes the shelf and hands it over.
func (p *program) deliverShelf(mark func(string) string) {
	p.Helper()
	p.done(mark("Shelf"))
	p.post("/api/v1/deliveries", body("job", "TERN-POINT-LOCKERS")).is(200, "")
}

// plugged bores every stile and plugs the first.
func (p *program) plugged(mark func(string) string) {
	p.Helper()
	p.scan(mark("ticket Stile"), "bore")
	p.post("/api/v1/plugs", body("mark", mark("Stile 1"), "spot", "left end, hole 2")).is(200, "")
}

// doubt plugs a stile and names the others made with the same setup.
func (p *program) doubt(mark func(string) string) {
	p.Helper()
	p.plugged(mark)
	p.post("/api/v1/doubts", body("mark", mark("ticket Stile"), "part", mark("Stile 1"))).is(200, "")
}

// late parks a scan and gives its address.
func (p *program) late(mark func(string) string) string {
	p.Helper()
	p.scan(mark("Stile 1"), "crosscut")
	scan := body("mark", mark("Stile 1"), "station", "rip", "at", shoptest.Noon.Add(-time.Hour))
	p.post("/api/v1/scans", scan).is(202, "late")
	return "late/" + scan["id"].(parts.CommandID).String()
}

var askings = []asking{
	{"a check of a first piece", func(p *program, mark func(string) string) (string, map[string]any) {
		return "checks", body("mark", mark("ticket Rail"), "station", "bore", "by", "Ann")
	}, 200, map[string]any{"outcome": "recorded"}, map[string]any{"step": 0}, "field-wrong", "mark", "", "mark-unknown"},
	{"steps left out", func(p *program, mark func(string) string) (string, map[string]any) {
		return "skips", body("mark", mark("Shelf"), "step", 8, "reason", "bought planed")
	}, 200, map[string]any{"did": "skipped"}, map[string]any{"step": "8"}, "field-wrong", "mark", "", "mark-unknown"},
	{"a cart loaded", func(p *program, mark func(string) string) (string, map[string]any) {
		cart := p.post("/api/v1/carts", body()).is(201, "").field("mark")
		return "loads", body("mark", mark("ticket Stile"), "cart", cart, "count", 2)
	}, 200, map[string]any{"did": "carted", "count": 2.0}, map[string]any{"count": -1}, "field-wrong", "mark", "", "mark-unknown"},
	{"a hole plugged", func(p *program, mark func(string) string) (string, map[string]any) {
		p.scan(mark("Stile 1"), "bore")
		return "plugs", body("mark", mark("Stile 1"), "spot", "left end, hole 2", "note", "2 mm off", "override", true)
	}, 200, map[string]any{"did": "plugged", "state": "setting"}, map[string]any{"override": "yes"}, "field-wrong", "mark", "", "mark-unknown"},
	{"a defect mended", func(p *program, mark func(string) string) (string, map[string]any) {
		return "mends", body("mark", mark("Shelf"), "defect", "dent", "spot", "front edge", "note", "dropped")
	}, 200, map[string]any{"did": "dent"}, map[string]any{"side": []string{"upside"}}, "field-wrong", "mark", "", "mark-unknown"},
	{"a delivered piece that came back", func(p *program, mark func(string) string) (string, map[string]any) {
		p.deliverShelf(mark)
		return "returns", body("mark", mark("Shelf"), "defect", "dent", "reason", "knocked on the stairs")
	}, 200, map[string]any{"did": "dent", "state": "ready"}, map[string]any{"defect": "rust"}, "defect-unknown", "mark", "", "mark-unknown"},
	{"scrap", func(p *program, mark func(string) string) (string, map[string]any) {
		return "scraps", body("mark", mark("Shelf"), "reason", "split")
	}, 200, map[string]any{"did": "scrapped", "state": "scrapped"}, map[string]any{"reason": ""}, "reason-missing", "mark", "", "mark-unknown"},
	{"pieces lost", func(p *program, mark func(string) string) (string, map[string]any) {
		return "losses", body("mark", mark("ticket Rail"), "step", 1, "count", 2, "instead", "remake", "reason", "wane")
	}, 200, map[string]any{"did": "scrapped", "count": 2.0}, map[string]any{"instead": "money"}, "instead", "mark", "", "mark-unknown"},
	{"a setup doubted", func(p *program, mark func(string) string) (string, map[string]any) {
		p.plugged(mark)
		return "doubts", body("mark", mark("ticket Stile"), "part", mark("Stile 1"))
	}, 200, map[string]any{"did": "doubted", "count": 3.0}, map[string]any{"part": "Z"}, "mark-unreadable", "mark", "", "mark-unknown"},
	{"looked at, and good", func(p *program, mark func(string) string) (string, map[string]any) {
		p.doubt(mark)
		return "clearances", body("mark", mark("Stile 2"))
	}, 200, map[string]any{"did": "cleared"}, map[string]any{"station": 7}, "field-wrong", "mark", "", "mark-unknown"},
	{"a label to be printed", func(p *program, mark func(string) string) (string, map[string]any) {
		return "relabels", body("mark", mark("Shelf"), "by", "Ann")
	}, 200, map[string]any{"did": "label-waits", "labels": 1.0}, map[string]any{"station": 7}, "field-wrong", "mark", "", "mark-unknown"},
	{"a delivery", func(p *program, mark func(string) string) (string, map[string]any) {
		p.done(mark("Shelf"))
		return "deliveries", body("job", "tern-point-lockers", "by", "Ann")
	}, 200, map[string]any{"did": "delivered", "count": 1.0, "job": "TERN-POINT-LOCKERS", "name": "Tern Point lockers"}, map[string]any{"job": 7}, "field-wrong", "job", "", "job-unknown"},
	{"other steps", func(p *program, mark func(string) string) (string, map[string]any) {
		return "step-changes", body("job", "TERN-POINT-LOCKERS", "line", 3, "steps", "bought")
	}, 200, map[string]any{"did": "rerouted", "count": 1.0}, map[string]any{"on_at": 0}, "field-wrong", "job", "", "job-unknown"},
	{"a late scan recorded", func(p *program, mark func(string) string) (string, map[string]any) {
		return p.late(mark), body("do", "record")
	}, 200, map[string]any{"did": "rough width"}, map[string]any{"do": "burn"}, "field-wrong", "", "late/0194f3c2-7a31-7c55-9f0e-3b1d5a2c4e60", "late-unknown"},
	{"a late scan dropped", func(p *program, mark func(string) string) (string, map[string]any) {
		return p.late(mark), body("do", "drop")
	}, 200, map[string]any{"outcome": "settled"}, map[string]any{"do": ""}, "field-wrong", "", "late/0194f3c2-7a31-7c55-9f0e-3b1d5a2c4e60", "late-unknown"},
	{"a sheet spoiled", func(p *program, mark func(string) string) (string, map[string]any) {
		order := p.post("/api/v1/print-orders", body("job", "TERN-POINT-LOCKERS", "what", "labels")).is(201, "")
		return strings.TrimPrefix(strings.TrimSuffix(order.field("pdf").(string), "sheet.pdf"), "/api/v1/") + "spoils", body("by", "Ann")
	}, 200, map[string]any{"outcome": "recorded", "order": 1.0}, map[string]any{"by": 7}, "field-wrong", "", "print-orders/99/spoils", "order-unknown"},
	{"a new cart", func(p *program, mark func(string) string) (string, map[string]any) {
		return "carts", body("by", "Ann")
	}, 201, map[string]any{"name": "Cart 1"}, map[string]any{"by": 7}, "field-wrong", "", "", ""},
}

// Everything that can be asked for is refused without a known token, with
// senseless fields and about what is not there, and nothing is recorded then;
// asked sensibly it is recorded, once, however often it comes.
func TestWhatCanBeAskedFor(t *testing.T) {
	for _, tt := range askings {
		t.Run(tt.name, func(t *testing.T) {
			p := openProgram(t, false)
			path, good := tt.ready(p, p.list())
			before := p.books()
			with := func(fields map[string]any) map[string]any {
				out := maps.Clone(good)
				out["id"] = shoptest.NewID()
				maps.Copy(out, fields)
				return out
			}
			token := p.token
			p.token = "of another shop"
			p.post("/api/v1/"+path, with(nil)).is(401, "token-unknown")
			p.token = token
			p.post("/api/v1/"+path, with(map[string]any{"id": nil})).is(400, "id-missing")
			p.post("/api/v1/"+path, with(map[string]any{"speed": 3})).is(400, "field-unknown")
			p.post("/api/v1/"+path, with(tt.spoil)).is(400, tt.code)
			switch {
			case tt.about != "":
				p.post("/api/v1/"+path, with(map[string]any{tt.about: nil})).is(400, "field-missing")
				p.post("/api/v1/"+path, with(map[string]any{tt.about: unusedMark})).is(404, tt.gone)
			case tt.nobody != "":
				p.post("/api/v1/"+tt.nobody, with(nil)).is(404, tt.gone)
			}
			require.Equal(t, before, p.books(), "what was refused left events")

			first := p.post("/api/v1/"+path, good).is(tt.status, "")
			for name, want := range tt.says {
				assert.Equal(t, want, first.field(name), "%s of %s", name, first.body)
			}
			done := p.books()
			again := p.post("/api/v1/"+path, good)
			require.Equal(t, first.status, again.status, "%s", again.body)
			require.Equal(t, string(first.body), string(again.body))
			require.Equal(t, done, p.books(), "the repeat was recorded")
		})
	}
}

func TestWhatElseIsRefused(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	job := "TERN-POINT-LOCKERS"
	tests := []struct {
		name   string
		path   string
		body   map[string]any
		status int
		code   string
	}{
		{"a check of nothing in particular", "checks", body("mark", mark("ticket Rail")), 400, "field-missing"},
		{"a check where none is asked for", "checks", body("mark", mark("ticket Rail"), "step", 1), 422, "no-check"},
		{"a check of one piece", "checks", body("mark", mark("Rail 1"), "step", 8), 400, "not-a-ticket"},
		{"steps left out without a reason", "skips", body("mark", mark("Shelf"), "step", 8), 400, "reason-missing"},
		{"steps left out to nowhere", "skips", body("mark", mark("Shelf"), "reason", "bought"), 400, "field-missing"},
		{"steps left out beyond the last", "skips", body("mark", mark("Shelf"), "reason", "bought", "step", 99), 400, "step-unknown"},
		{"a load on what is no cart", "loads", body("mark", mark("Shelf"), "cart", mark("Stile 1")), 400, "not-a-cart"},
		{"a load on a cart of nothing", "loads", body("mark", mark("Shelf"), "cart", unusedMark), 404, "mark-unknown"},
		{"taking off what lies on none", "loads", body("mark", mark("Shelf")), 200, "on-cart"},
		{"a mend of nothing in particular", "mends", body("mark", mark("Shelf")), 400, "field-missing"},
		{"a defect nobody knows", "mends", body("mark", mark("Shelf"), "defect", "rust"), 400, "defect-unknown"},
		{"what nothing repairs", "mends", body("mark", mark("Shelf"), "defect", "cut-short"), 422, "remake-better"},
		{"a coat it has not had", "mends", body("mark", mark("Shelf"), "defect", "blotch", "coats", []int{9}), 400, "coat-unknown"},
		{"coat nought", "mends", body("mark", mark("Shelf"), "defect", "blotch", "coats", []int{0}), 400, "field-wrong"},
		{"a picture nobody sent", "mends", body("mark", mark("Shelf"), "defect", "dent", "photo", "x"), 404, "photo-unknown"},
		{"a return of what is here", "returns", body("mark", mark("Shelf"), "defect", "dent", "reason", "knocked"), 422, "not-delivered"},
		{"pieces lost at no step", "losses", body("mark", mark("ticket Rail"), "count", 1, "instead", "short", "reason", "wane"), 400, "field-missing"},
		{"no pieces lost", "losses", body("mark", mark("ticket Rail"), "step", 1, "instead", "short", "reason", "wane"), 400, "field-missing"},
		{"pieces lost and nothing said", "losses", body("mark", mark("ticket Rail"), "step", 1, "count", 1, "reason", "wane"), 400, "field-missing"},
		{"more lost than there are", "losses", body("mark", mark("ticket Rail"), "step", 1, "count", 6, "instead", "short", "reason", "wane"), 422, "count"},
		{"more lost than there are spares", "losses", body("mark", mark("ticket Rail"), "step", 1, "count", 2, "instead", "spare", "reason", "wane"), 422, "spare-gone"},
		{"a doubt that names no piece", "doubts", body("mark", mark("ticket Rail")), 400, "field-missing"},
		{"a doubt for a piece without a defect", "doubts", body("mark", mark("ticket Rail"), "part", mark("Rail 1")), 422, "no-defect"},
		{"a label of what has none", "relabels", body("mark", mark("ticket Stile")), 422, "label-none"},
		{"a clearance of what is in no doubt", "clearances", body("mark", mark("Rail 1")), 200, "not-in-doubt"},
		{"a delivery of nothing finished", "deliveries", body("job", job), 422, "nothing-finished"},
		{"other steps for no line", "step-changes", body("job", job, "steps", "bought"), 400, "field-missing"},
		{"other steps for a line it does not have", "step-changes", body("job", job, "steps", "bought", "line", 9), 404, "line-unknown"},
		{"no steps", "step-changes", body("job", job, "line", 3), 400, "field-missing"},
		{"steps the shop does not have", "step-changes", body("job", job, "line", 3, "steps", "magic"), 400, "steps-unknown"},
		{"the steps it has", "step-changes", body("job", job, "line", 3, "steps", "loose-part"), 200, "steps-same"},
		{"a late scan that was never late", "late/x", body("do", "drop"), 400, "id-unreadable"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			p := &program{t, p.bench, p.clock, p.api, p.http, p.doc, p.token, p.heard}
			p.post("/api/v1/"+tt.path, tt.body).is(tt.status, tt.code)
		})
	}
	p.get("/api/v1/setups").is(400, "field-missing")
	p.get("/api/v1/setups?station=forge").is(404, "station-unknown")
	p.get("/api/v1/photos/x").is(404, "photo-unknown")
}

// A late scan is settled once, and the id of one request is not good for
// another.
func TestSettlingLateScans(t *testing.T) {
	p := openProgram(t, false)
	mark := p.list()
	path := "/api/v1/" + p.late(mark)
	hold := body("mark", mark("Stile 2"), "reason", "knot")
	p.post("/api/v1/holds", hold).is(200, "")
	p.post(path, body("id", hold["id"], "do", "record")).is(400, "id-reused")
	p.post("/api/v1/holds", body("mark", mark("Stile 1"), "reason", "knot")).is(200, "")
	p.post(path, body("do", "record")).is(422, "held")
	p.post("/api/v1/releases", body("mark", mark("Stile 1"))).is(200, "")
	require.Contains(t, string(p.get("/api/v1/late").body), `"late"`, "it is still on the list")

	record := body("do", "record")
	require.Equal(t, "recorded", p.post(path, record).is(200, "").field("outcome"))
	require.Equal(t, "[]\n", string(p.get("/api/v1/late").body))
	p.post(path, body("do", "record")).is(404, "late-gone")
	p.post(path, body("id", hold["id"], "do", "record")).is(404, "late-gone")
	p.post(path, record).is(200, "")
	// A scan that was judged by itself is on no list.
	scan := body("mark", mark("Stile 3"), "station", "crosscut")
	p.post("/api/v1/scans", scan).is(200, "")
	p.post("/api/v1/late/"+scan["id"].(parts.CommandID).String(), body("do", "drop")).is(404, "late-unknown")
}

// No address takes a body with something after it, or none.
func TestEveryAddressReadsStrictly(t *testing.T) {
	p := openProgram(t, false)
	p.list()
	for path, methods := range p.doc.at(t, "paths").(map[string]any) {
		post, _ := methods.(map[string]any)["post"].(map[string]any)
		if post == nil || !strings.Contains(string(mustJSON(t, post["requestBody"])), "application/json") {
			continue
		}
		path = strings.NewReplacer("{order}", "1", "{command}", shoptest.NewID().String()).Replace(path)
		p.send("POST", path, `{} {}`).is(http.StatusBadRequest, "body-no-json")
		p.send("POST", path, ``).is(http.StatusBadRequest, "body-empty")
	}
}

func mustJSON(t *testing.T, v any) []byte {
	t.Helper()
	data, err := json.Marshal(v)
	require.NoError(t, err)
	return data
}
