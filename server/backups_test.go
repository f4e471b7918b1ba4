package server

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// The owner reads on one page whether the shop is backed up.
func TestTheOwnerSeesTheBackups(t *testing.T) {
	shoptest.NeedSQLite(t, "a database is backed up with its own tools")
	b := shoptest.Open(t, shoptest.NewClock())
	api, err := New(Config{Bench: b, Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	web := httptest.NewServer(api)
	t.Cleanup(func() { api.Close(); web.Close() })
	code, err := b.NewSetup(t.Context())
	require.NoError(t, err)
	secret, err := b.SetUp(t.Context(), code, "Ann", "a long sentence about oak", "Ann's phone")
	require.NoError(t, err)
	get := func(path string) string {
		req, err := http.NewRequest("GET", web.URL+path, nil)
		require.NoError(t, err)
		req.AddCookie(&http.Cookie{Name: sessionCookie, Value: secret})
		resp, err := http.DefaultClient.Do(req)
		require.NoError(t, err)
		defer resp.Body.Close()
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		require.Equal(t, 200, resp.StatusCode, "%s", path)
		return string(body)
	}
	folder := filepath.Join(t.TempDir(), "stick")
	backUp := func() {
		running, stop := context.WithCancel(t.Context())
		b.KeepBackups(running, bench.PlanBackups("shop.db", folder, 24*time.Hour, 3), func(string, error) { stop() })
	}

	assert.Contains(t, get("/settings"), "No backups are planned.")
	assert.Contains(t, get("/settings?lang=de"), "<pre>-backup ORDNER</pre>")
	backUp()
	page := get("/settings")
	assert.Contains(t, page, "There is no good backup in <b class=\"path\">"+folder)
	assert.Equal(t, 1, strings.Count(page, "The last backup failed. The folder "+folder+" is not there."), "in red, above the settings")
	assert.Contains(t, get("/"), "The last backup failed.", "the floor says it too")
	require.NoError(t, os.Mkdir(folder, 0o755))
	backUp()
	page = get("/settings")
	assert.Contains(t, page, "Last good backup: <b>")
	assert.Regexp(t, ` [1-9][0-9]{2} kB, in <b class="path">`+regexp.QuoteMeta(folder), page)
	assert.NotContains(t, page, "failed")
	assert.NotContains(t, get("/"), "backup")
}
