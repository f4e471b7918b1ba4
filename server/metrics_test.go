package server

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"syscall"
	"testing"

	"github.com/prometheus/client_golang/prometheus/testutil/promlint"
	"github.com/prometheus/common/expfmt"
	"github.com/prometheus/common/model"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
)

// scraped gives what /metrics says of each name and its labels.
func scraped(t *testing.T, body []byte) map[string]float64 {
	t.Helper()
	parser := expfmt.NewTextParser(model.UTF8Validation)
	families, err := parser.TextToMetricFamilies(bytes.NewReader(body))
	require.NoError(t, err)
	out := map[string]float64{}
	for name, f := range families {
		for _, m := range f.Metric {
			key := name
			for _, l := range m.Label {
				key += " " + l.GetValue()
			}
			out[key] = m.GetCounter().GetValue() + m.GetGauge().GetValue() + float64(m.GetHistogram().GetSampleCount())
		}
	}
	return out
}

// plain asks for what the API's description does not have.
func plain(t *testing.T, p *program, method, path string) []byte {
	t.Helper()
	req, err := http.NewRequest(method, p.http.URL+path, nil)
	require.NoError(t, err)
	_, body := fetch(t, req)
	return []byte(body)
}

// Source of the rules that promlint checks: the naming practices of the
// Prometheus project; of the format: its own parser.
func TestMetrics(t *testing.T) {
	p := openProgram(t, true)
	mark := p.list()
	p.scan(mark("ticket Rail"), "crosscut", "count", 3)
	p.post("/api/v1/scans", body("mark", mark("Locker front 1"), "station", "glue")).is(422, "")
	p.send("POST", "/api/v1/scans", `{"mark":"x"}`).is(400, "")
	for _, path := range []string{"/P/" + mark("Shelf"), "/P/" + mark("Stile 1"), "/nothing/here"} {
		plain(t, p, "GET", path)
	}
	got := plain(t, p, "GET", "/metrics")
	said := scraped(t, got)
	assert.Equal(t, 2.0, said["benchtally_requests_total /P/:mark GET 200"])
	assert.Equal(t, 2.0, said["benchtally_request_seconds /P/:mark"])
	assert.Equal(t, 1.0, said["benchtally_requests_total none GET 404"])
	assert.Equal(t, 1.0, said["benchtally_commands_total refused"])
	assert.Equal(t, 2.0, said["benchtally_commands_total recorded"], "a list and a scan")
	assert.GreaterOrEqual(t, said["benchtally_commit_size"], 3.0, "a list and two scans, one after the other")
	assert.Equal(t, said["benchtally_commit_size"], said["benchtally_commit_seconds"], "each commit is measured once")
	assert.Equal(t, 1.0, said["benchtally_healthy"])
	assert.Contains(t, said, "go_goroutines")
	assert.Contains(t, said, "process_open_fds")
	for _, private := range []string{mark("Shelf"), mark("Stile 1"), "TERN-POINT", "Tern Point"} {
		assert.NotContains(t, string(got), private)
	}
	complaints, err := promlint.New(bytes.NewReader(got)).Lint()
	require.NoError(t, err)
	for _, c := range complaints {
		assert.False(t, strings.HasPrefix(c.Metric, "benchtally_"), "%s: %s", c.Metric, c.Text)
	}
}

// Anybody may invent methods and addresses; what is kept of them is bounded.
func TestMetricsDoNotGrowByWhatIsAsked(t *testing.T) {
	p := openProgram(t, true)
	count := func() int { return len(scraped(t, plain(t, p, "GET", "/metrics"))) }
	plain(t, p, "BREW", "/P/1")
	plain(t, p, "GET", "/x")
	count()
	before := count()
	for _, x := range []string{"A", "B", "C"} {
		plain(t, p, "BREW"+x, "/P/"+x)
		plain(t, p, "GET", "/nothing/"+x)
	}
	assert.Equal(t, before, count())
}

// Whoever looks needs a token.
func TestWhoMaySeeTheMetrics(t *testing.T) {
	p := openProgram(t, false)
	ask := func(from, token string) int {
		r := httptest.NewRequest(http.MethodGet, "/metrics", nil)
		r.RemoteAddr = from
		if token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
		w := httptest.NewRecorder()
		p.api.ServeHTTP(w, r)
		return w.Code
	}
	assert.Equal(t, 401, ask("127.0.0.1:4000", ""), "this computer is no exception")
	assert.Equal(t, 401, ask("192.0.2.7:4000", ""))
	assert.Equal(t, 401, ask("192.0.2.7:4000", "nonsense"))
	assert.Equal(t, 200, ask("192.0.2.7:4000", p.token))
}

func TestHealth(t *testing.T) {
	_, h, b, _ := overheard(t, usualLimits)
	ask := func() (int, string) {
		req, err := http.NewRequest("GET", h.URL+"/healthz", nil)
		require.NoError(t, err)
		res, body := fetch(t, req)
		assert.Equal(t, "text/plain; charset=utf-8", res.Header.Get("Content-Type"))
		return res.StatusCode, body
	}
	status, said := ask()
	assert.Equal(t, 200, status)
	assert.Equal(t, "ok\n", said)
	require.Error(t, b.Explain(fmt.Errorf("write: %w", syscall.ENOSPC)))
	status, said = ask()
	assert.Equal(t, 503, status)
	assert.Equal(t, "The disk is full: nothing can be saved.\n", said)
	_, err := b.AddCart(t.Context(), shoptest.NewID(), "", "")
	require.NoError(t, err, "something is saved again")
	status, _ = ask()
	assert.Equal(t, 200, status)
	require.NoError(t, b.Close())
	status, said = ask()
	assert.Equal(t, 503, status)
	assert.Equal(t, "Something broke here.\n", said)
}
