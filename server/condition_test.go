package server

import (
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/mattn/go-sqlite3" // its errors are what is shown
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// What keeps the shop from being saved is said on every page, to programs, and
// to the phone that scans, which keeps its scan then.
func TestAStoppedShopSaysSo(t *testing.T) {
	shoptest.NeedSQLite(t, "the faults are those of a file")
	b := shoptest.Open(t, shoptest.NewClock())
	job := shoptest.ListJob(t, b, "Tern Point lockers", shoptest.FramesList, nil)
	api, err := New(Config{Bench: b, Log: slog.New(slog.DiscardHandler), Demo: true})
	require.NoError(t, err)
	web := httptest.NewServer(api)
	t.Cleanup(func() { api.Close(); web.Close() })
	get := func(path string) string {
		resp, err := http.Get(web.URL + path)
		require.NoError(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		require.Equal(t, 200, resp.StatusCode, "%s", path)
		return string(body)
	}
	const damaged = "The shop&#39;s file is damaged."
	for _, path := range []string{"/", "/wall", "/stations"} {
		assert.NotContains(t, get(path), damaged, path)
	}
	assert.Contains(t, get("/api/v1/floor"), `"conditions":[]`)

	err = b.Explain(fmt.Errorf("read the log: %w", sqlite3.Error{Code: sqlite3.ErrCorrupt}))
	require.Equal(t, "file-damaged", parts.CodeOf(err))
	for _, path := range []string{"/", "/wall", "/stations", "/jobs"} {
		assert.Equal(t, 1, strings.Count(get(path), damaged), path)
	}
	assert.Contains(t, get("/?lang=de"), "Die Datei der Werkstatt ist beschädigt.")
	assert.Contains(t, get("/api/v1/floor"), `"conditions":[{"code":"file-damaged","detail":"The shop's file is damaged."`)

	send := func(path, body string) (int, string) {
		resp, err := http.Post(web.URL+path, "application/json", strings.NewReader(body))
		require.NoError(t, err)
		defer resp.Body.Close()
		said, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		return resp.StatusCode, string(said)
	}
	deed := fmt.Sprintf(`{"id":%q,"do":"hold","mark":%q,"reason":"a knot"}`, shoptest.NewID(), job.Lines[0].Ticket)
	status, said := send("/scan/do", deed)
	assert.Equal(t, http.StatusServiceUnavailable, status, "the phone sends it again: %s", said)
	assert.Contains(t, said, `"say":"The shop's file is damaged."`)
	status, said = send("/api/v1/holds", strings.Replace(deed, `"do":"hold",`, "", 1))
	assert.Equal(t, http.StatusServiceUnavailable, status)
	assert.Contains(t, said, `"code":"file-damaged"`)
}
