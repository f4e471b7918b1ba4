package server

import (
	"bytes"
	"io"
	"mime"
	"mime/multipart"
	"net"
	"net/http"
	"net/textproto"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every answer has them: pages, files, JSON, refusals, what is not there.
func TestEveryAnswerIsGuarded(t *testing.T) {
	s, h, _, _ := overheard(t, usualLimits)
	value := regexp.MustCompile(`[:*][a-z]+`)
	paths := []string{"/nothing/here", "/P/%00", "/static/nothing.js"}
	for _, r := range s.router().Routes() {
		if r.Method == http.MethodGet && !strings.HasSuffix(r.Path, "/stream") {
			paths = append(paths, value.ReplaceAllString(r.Path, "x"))
		}
	}
	require.Greater(t, len(paths), 60)
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	for _, path := range paths {
		req, err := http.NewRequest("GET", h.URL+path, nil)
		require.NoError(t, err)
		req.Header.Set("Origin", "https://elsewhere.example")
		res, err := client.Do(req)
		require.NoError(t, err)
		res.Body.Close()
		wanted := guards
		if forPrograms(path) {
			wanted = apiGuards
		}
		for name, want := range wanted {
			got := res.Header.Get(name)
			if name == "Content-Security-Policy" && path == "/scan" {
				want = scanPolicy
			}
			assert.Equal(t, want, got, "%s of %s", name, path)
		}
		assert.Empty(t, res.Header.Get("Server")+res.Header.Get("X-Powered-By"), "no answer says what it runs on")
		assert.Empty(t, res.Header.Get("Access-Control-Allow-Origin"), "no page of another site reads it")
		if strings.Contains(res.Header.Get("Content-Type"), "json") && strings.HasPrefix(path, "/api/v1/") && path != "/api/v1/openapi.json" {
			assert.Equal(t, `attachment; filename="answer.json"`, res.Header.Get("Content-Disposition"), path)
		}
		if res.StatusCode == http.StatusOK && res.Header.Get("Content-Type") != "" {
			assert.Regexp(t, `charset=utf-8|^(image|font|application/(pdf|wasm|x-x509-ca-cert|octet-stream|manifest|json|problem))`, res.Header.Get("Content-Type"), path)
		}
	}
}

func TestThePolicyLetsNothingIn(t *testing.T) {
	for _, p := range []string{policy, scanPolicy} {
		assert.True(t, strings.HasPrefix(p, "default-src 'none'; "))
		for _, wrong := range []string{"unsafe-inline", "'unsafe-eval'", "http:", "https:", "*"} {
			assert.NotContains(t, p, wrong)
		}
		for _, part := range []string{"object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'"} {
			assert.Contains(t, p, part)
		}
	}
	assert.NotContains(t, policy, "wasm")
}

// The policy stops whatever stands in a page as a script or a style, so no
// template may rely on one; and none comes from another place.
func TestNoScriptAndNoStyleStandsInAPage(t *testing.T) {
	files, err := filepath.Glob("../templates/*.html")
	require.NoError(t, err)
	require.Greater(t, len(files), 20)
	wrong := regexp.MustCompile(`(?i)<script(?:[^>]*\bsrc=)?[^>]*>|<style|\sstyle\s*=|\son[a-z]+\s*=|javascript:|(?:src|href|action)="(?:https?:)?//`)
	withSource := regexp.MustCompile(`(?i)^<script[^>]*\bsrc="(\{\{|/static/)`)
	for _, name := range files {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, found := range wrong.FindAllString(string(text), -1) {
			assert.Regexp(t, withSource, found, name)
		}
	}
}

// No script of ours makes code of text, or elements of what a person wrote:
// the two live pages put in what the server has drawn.
func TestNoScriptMakesCodeOfText(t *testing.T) {
	drawn := map[string]int{"../static/bench.js": 1, "../static/wall.js": 1}
	for _, pattern := range []string{"../static/*.js", "../static/scan/*.js"} {
		files, err := filepath.Glob(pattern)
		require.NoError(t, err)
		require.NotEmpty(t, files)
		for _, name := range files {
			text, err := os.ReadFile(name)
			require.NoError(t, err)
			assert.NotRegexp(t, `\beval\(|new Function|insertAdjacentHTML|outerHTML *=|document\.write|setTimeout\(['"]`, string(text), name)
			assert.Len(t, regexp.MustCompile(`innerHTML *=`).FindAllString(string(text), -1), drawn[name], name)
		}
	}
}

func TestOtherMethodsAreRefused(t *testing.T) {
	_, h, _, _ := overheard(t, usualLimits)
	for _, method := range []string{"PUT", "DELETE", "PATCH", "OPTIONS", "TRACE", "BREW"} {
		for _, path := range []string{"/", "/jobs", "/P/10F0/scan", "/api/v1/scans", "/static/bench.css"} {
			req, err := http.NewRequest(method, h.URL+path, strings.NewReader("x=1"))
			require.NoError(t, err)
			res, body := fetch(t, req)
			assert.Equal(t, http.StatusMethodNotAllowed, res.StatusCode, "%s %s", method, path)
			assert.NotContains(t, body, "x=1", "what was sent is not sent back")
		}
	}
}

// An address that looks like a path of the disk leads to nothing on it.
func TestAnAddressIsNoPath(t *testing.T) {
	_, h, _, _ := overheard(t, usualLimits)
	for _, path := range []string{"/static/../server/server.go", "/static/..%2f..%2fgo.mod", "/static/%2e%2e/%2e%2e/go.mod", "/static/scan/../../go.mod",
		"/scan/files/x/../../../go.mod", "/scan/files/x/..%2f..%2f..%2fgo.mod", "/photos/..%2f..%2fgo.mod", "/static//etc/hostname", "/static/..\\go.mod"} {
		conn, err := net.Dial("tcp", h.Listener.Addr().String()) // a client would tidy the path
		require.NoError(t, err)
		_, err = conn.Write([]byte("GET " + path + " HTTP/1.1\r\nHost: x\r\nConnection: close\r\n\r\n"))
		require.NoError(t, err)
		answer, err := io.ReadAll(conn)
		require.NoError(t, err)
		conn.Close()
		assert.NotRegexp(t, `^HTTP/1.1 2`, string(answer), path)
		assert.NotContains(t, string(answer), "module benchtally", path)
	}
}

// What a file is called decides nothing: none is written, and the name is only
// ever words in a sentence.
func TestTheNameOfAFileIsNothing(t *testing.T) {
	temporary := t.TempDir()
	t.Setenv("TMPDIR", temporary)
	_, h, b, _ := overheard(t, usualLimits)
	before, err := os.ReadDir(".")
	require.NoError(t, err)
	for _, name := range []string{"../../../x.csv", "/etc/x.csv", `..\..\x.csv`, "x.csv\x00.exe", "<script>hit=1</script>.csv", "-rf", "con"} {
		var form bytes.Buffer
		m := multipart.NewWriter(&form)
		require.NoError(t, m.WriteField("job", "Tern Point benches"))
		part, err := m.CreatePart(textproto.MIMEHeader{"Content-Disposition": {mime.FormatMediaType("form-data", map[string]string{"name": "file", "filename": name})}})
		require.NoError(t, err)
		_, err = part.Write(append([]byte("%PDF-1.7\n"), make([]byte, 7<<20)...))
		require.NoError(t, err)
		require.NoError(t, m.Close())
		res, err := http.Post(h.URL+"/list/preview", m.FormDataContentType(), &form)
		require.NoError(t, err)
		page, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		res.Body.Close()
		assert.Equal(t, http.StatusBadRequest, res.StatusCode, name)
		assert.NotContains(t, string(page), "<script>hit", name)
	}
	after, err := os.ReadDir(".")
	require.NoError(t, err)
	assert.Len(t, after, len(before))
	left, err := os.ReadDir(temporary)
	require.NoError(t, err)
	for _, f := range left {
		assert.NotContains(t, f.Name(), "multipart", "a large form stays in memory")
	}
	jobs, err := b.Jobs(t.Context())
	require.NoError(t, err)
	assert.Empty(t, jobs)
}
