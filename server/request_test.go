//go:debug urlmaxqueryparams=25000

package server

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"mime/multipart"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// notes is a log that a test reads.
type notes struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (n *notes) Write(line []byte) (int, error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.text.Write(line)
}

func (n *notes) lines(t *testing.T) []map[string]any {
	t.Helper()
	n.mu.Lock()
	defer n.mu.Unlock()
	var out []map[string]any
	for line := range strings.Lines(n.text.String()) {
		var v map[string]any
		require.NoError(t, json.Unmarshal([]byte(line), &v), line)
		out = append(out, v)
	}
	return out
}

// overheard is a server whose log is read, with times of its own.
func overheard(t *testing.T, limits limits) (*Server, *httptest.Server, *bench.Bench, *notes) {
	t.Helper()
	log := &notes{}
	b, err := bench.Open(t.Context(), shoptest.DSN(t), bench.Options{Clock: shoptest.NewClock().Now})
	require.NoError(t, err)
	s, err := New(Config{Bench: b, Demo: true, Log: slog.New(slog.NewJSONHandler(log, &slog.HandlerOptions{Level: slog.LevelDebug}))})
	require.NoError(t, err)
	s.limits = limits
	h := httptest.NewServer(s)
	t.Cleanup(func() { s.Close(); h.CloseClientConnections(); h.Close(); b.Close() })
	return s, h, b, log
}

func fetch(t *testing.T, req *http.Request) (*http.Response, string) {
	t.Helper()
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res, string(body)
}

func TestEveryRequestHasANumber(t *testing.T) {
	_, h, _, log := overheard(t, usualLimits)
	ask := func(sent string) string {
		req, err := http.NewRequest("GET", h.URL+"/find?mark=SECRETWORD", nil)
		require.NoError(t, err)
		if sent != "" {
			req.Header.Set("X-Request-Id", sent)
		}
		res, _ := fetch(t, req)
		return res.Header.Get("X-Request-Id")
	}
	own := regexp.MustCompile(`^[A-Z2-7]{10}$`)
	first, second := ask(""), ask("")
	assert.Regexp(t, own, first)
	assert.NotEqual(t, first, second)
	assert.Equal(t, "proxy-01.a7", ask("proxy-01.a7"), "a proxy on this computer has given it one")
	for _, bad := range []string{"short", strings.Repeat("a", 65), "with a space", `quo"ted`, "-option-", "a=b;c=dddd"} {
		assert.Regexp(t, own, ask(bad), "%q", bad)
	}
	far := httptest.NewRequest("GET", "/", nil)
	far.RemoteAddr = "192.0.2.7:4000"
	far.Header.Set("X-Request-Id", "proxy-01.a7")
	assert.Regexp(t, own, requestID(far), "only a proxy on this computer may")

	lines := log.lines(t)
	assert.Equal(t, first, lines[0]["request"])
	assert.Equal(t, "/find", lines[0]["at"])
	assert.NotContains(t, log.text.String(), "SECRETWORD", "what stands behind the question mark is nobody's business")
}

// A log says what a request was about, and nothing that is a name or a key.
func TestWhatALogMaySay(t *testing.T) {
	_, h, _, log := overheard(t, usualLimits)
	for _, path := range []string{"/P/10F0", "/photos/SECRETWORD", "/SECRETWORD?token=SECRETWORD", "/join/SECRETWORD", "/setup/SECRETWORD", "/screen/SECRETWORD"} {
		req, err := http.NewRequest("GET", h.URL+path, nil)
		require.NoError(t, err)
		req.Header.Set("Authorization", "Bearer SECRETWORD")
		req.Header.Set("Cookie", "who=SECRETWORD")
		fetch(t, req)
	}
	req, err := http.NewRequest("POST", h.URL+"/who", strings.NewReader("who=SECRETWORD"))
	require.NoError(t, err)
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	fetch(t, req)
	said := log.text.String()
	assert.Contains(t, said, `"at":"/P/10F0"`)
	assert.Contains(t, said, `"at":"/photos/:name"`)
	assert.NotContains(t, said, "SECRETWORD")
}

// Whoever sees that something broke can say which request it was.
func TestAFaultNamesItsNumber(t *testing.T) {
	_, h, b, log := overheard(t, usualLimits)
	require.NoError(t, b.Close())
	req, err := http.NewRequest("GET", h.URL+"/jobs", nil)
	require.NoError(t, err)
	res, page := fetch(t, req)
	require.Equal(t, 500, res.StatusCode)
	number := res.Header.Get("X-Request-Id")
	assert.Contains(t, page, "<b>"+number+"</b>")
	assert.NotRegexp(t, `(?i)sql|database|goroutine|\.go:`, page, "the inside stays inside")
	req, err = http.NewRequest("GET", h.URL+"/api/v1/jobs", nil)
	require.NoError(t, err)
	res, answer := fetch(t, req)
	var p problem
	require.NoError(t, json.Unmarshal([]byte(answer), &p))
	assert.Equal(t, res.Header.Get("X-Request-Id"), p.Facts["request"])
	var logged []any
	for _, line := range log.lines(t) {
		if line["msg"] == "request failed" {
			logged = append(logged, line["request"])
		}
	}
	assert.Equal(t, []any{number, res.Header.Get("X-Request-Id")}, logged)
}

// A handler that waits for something is told to stop, and says so.
func TestNoAnswerTakesForEver(t *testing.T) {
	s, _, _, log := overheard(t, limits{usual: 30 * time.Millisecond, long: time.Minute, moment: time.Second, after: time.Second})
	r := gin.New()
	r.Use(s.followed, s.recovered, s.bounded)
	waits := s.try(func(c *gin.Context) error {
		<-c.Request.Context().Done()
		return fmt.Errorf("wait: %w", c.Request.Context().Err())
	})
	r.GET("/api/waits", waits)
	r.GET("/api/sheet.pdf", s.try(func(c *gin.Context) error {
		end, ok := c.Request.Context().Deadline()
		require.True(t, ok)
		require.Greater(t, time.Until(end), 30*time.Second)
		return nil
	}))
	r.GET("/api/stream", func(c *gin.Context) {
		_, ok := c.Request.Context().Deadline()
		require.False(t, ok, "a live page stays")
	})
	h := httptest.NewServer(r)
	defer h.Close()
	for path, want := range map[string]int{"/api/waits": 503, "/api/sheet.pdf": 200, "/api/stream": 200} {
		req, err := http.NewRequest("GET", h.URL+path, nil)
		require.NoError(t, err)
		res, body := fetch(t, req)
		require.Equal(t, want, res.StatusCode, path)
		if want == 503 {
			assert.Contains(t, body, `"code":"too-long"`)
			assert.Contains(t, body, "Sending it again is safe.")
		}
	}
	assert.Contains(t, log.text.String(), "request took too long")
}

// Whoever sends a form a byte at a time does not keep the server.
func TestABodyThatNeverArrives(t *testing.T) {
	_, h, _, _ := overheard(t, limits{usual: 200 * time.Millisecond, long: 200 * time.Millisecond, moment: time.Second, after: time.Second})
	for _, kind := range []string{"application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/json"} {
		path := map[bool]string{true: "/api/v1/scans", false: "/stations"}[kind == "application/json"]
		conn, err := net.Dial("tcp", h.Listener.Addr().String())
		require.NoError(t, err)
		defer conn.Close()
		fmt.Fprintf(conn, "POST %s HTTP/1.1\r\nHost: x\r\nContent-Type: %s\r\nContent-Length: 100000\r\n\r\na", path, kind)
		conn.SetReadDeadline(time.Now().Add(20 * time.Second))
		answer, err := io.ReadAll(bufio.NewReader(conn))
		require.NoError(t, err, "the server closes the connection")
		status, _, _ := strings.Cut(string(answer), "\r\n")
		assert.Regexp(t, ` (400|408|503) `, status, kind)
	}
}

// A live page stays open for longer than any answer may take.
func TestALivePageStays(t *testing.T) {
	_, h, b, _ := overheard(t, limits{usual: 50 * time.Millisecond, long: 50 * time.Millisecond, moment: 10 * time.Second, after: time.Second})
	res, err := http.Get(h.URL + "/floor/stream")
	require.NoError(t, err)
	defer res.Body.Close()
	message := regexp.MustCompile(`^event: board`)
	lines := bufio.NewScanner(res.Body)
	lines.Buffer(nil, 1<<20)
	next := func() {
		for lines.Scan() {
			if message.MatchString(lines.Text()) {
				return
			}
		}
		t.Fatal("the stream ended: ", lines.Err())
	}
	next()
	time.Sleep(200 * time.Millisecond) // longer than the answers above
	_, err = b.AddCart(context.Background(), shoptest.NewID(), "", "")
	require.NoError(t, err)
	next()
}

func postForm(t *testing.T, address string, form url.Values) (int, string) {
	t.Helper()
	res, err := http.PostForm(address, form)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, string(body)
}

func TestFormsThatAreRefusedWhole(t *testing.T) {
	_, h, b, _ := overheard(t, usualLimits)
	before, err := b.Stations(t.Context())
	require.NoError(t, err)
	many := url.Values{"name": {"x"}}
	for i := range 25_000 {
		many.Add("f", fmt.Sprint(i))
	}
	status, page := postForm(t, h.URL+"/stations", many)
	assert.Equal(t, 400, status)
	assert.Contains(t, page, "too many fields")

	var body bytes.Buffer
	m := multipart.NewWriter(&body)
	for i := range 2_000 {
		require.NoError(t, m.WriteField(fmt.Sprintf("f%d", i), "x"))
	}
	require.NoError(t, m.Close())
	res, err := http.Post(h.URL+"/stations", m.FormDataContentType(), &body)
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, 400, res.StatusCode)

	status, page = postForm(t, h.URL+"/stations", url.Values{"name": {strings.Repeat("x", mostUpload)}})
	assert.Equal(t, 413, status)
	assert.Contains(t, page, "8 MB")
	after, err := b.Stations(t.Context())
	require.NoError(t, err)
	assert.Equal(t, before, after)
}

// The largest list that may come in has more fields in its form than Go reads
// by itself.
func TestTheFormOfTheLargestListIsRead(t *testing.T) {
	_, h, _, _ := overheard(t, usualLimits)
	form := url.Values{"job": {"Tern Point lockers"}, "unit": {"in"}}
	var text strings.Builder
	text.WriteString("Part\tQty\tLength\n")
	for i := range 5_000 {
		fmt.Fprintf(&text, "Rail %d\t1\t10\n", i)
		for _, name := range []string{"steps", "spares", "tests", "per-blank"} {
			form.Set(fmt.Sprintf("%s:%d", name, i+2), map[bool]string{true: "", false: "0"}[name == "steps"])
		}
	}
	form.Set("text", text.String())
	status, page := postForm(t, h.URL+"/list/preview", form)
	require.Equal(t, 200, status)
	assert.Contains(t, page, "Rail 4999")
	assert.Contains(t, page, `name="per-blank:5001"`)
}

// Brackets within brackets: the reader of JSON goes ten thousand deep at most,
// and a body holds 256 kB.
func TestDeepJSONIsRefused(t *testing.T) {
	p := openProgram(t, true)
	for _, deep := range []int{100, 20_000, 120_000} {
		p.send("POST", "/api/v1/scans", `{"mark":`+strings.Repeat("[", deep)+strings.Repeat("]", deep)+"}").is(400, map[bool]string{true: "field-wrong", false: "body-no-json"}[deep == 100])
	}
	p.send("POST", "/api/v1/scans", `{"mark":"`+strings.Repeat("x", mostJSON)+`"}`).is(413, "body-large")
}
