package server_test

import (
	"bufio"
	"context"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/server"
)

// oneOfTwo is a server of its own on a database that another one has too.
func oneOfTwo(t *testing.T, dsn string, clock *shoptest.Clock) *shop {
	b, err := bench.Open(t.Context(), dsn, bench.Options{Clock: clock.Now})
	require.NoError(t, err)
	h, err := server.New(server.Config{Bench: b, Log: slog.New(slog.NewTextHandler(t.Output(), nil))})
	require.NoError(t, err)
	web := httptest.NewServer(h)
	t.Cleanup(func() {
		h.Close()
		web.CloseClientConnections()
		web.Close()
		require.NoError(t, b.Close())
	})
	return &shop{bench: b, clock: clock, url: web.URL}
}

// What happens on one server is seen on the pages of the other: a scan, a
// phone that joined, and one that was taken out.
func TestTwoServersKeepTheirPagesLive(t *testing.T) {
	if !shoptest.OnPostgres() {
		t.Skip("PostgreSQL only: a file has one server")
	}
	dsn, clock := shoptest.DSN(t), shoptest.NewClock()
	here, there := oneOfTwo(t, dsn, clock), oneOfTwo(t, dsn, clock)
	job := shoptest.ListJob(t, here.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	owner := here.owner(t)

	away := &device{t, there.url, owner.Client} // the jar holds cookies for a host, whatever the port
	require.Contains(t, away.in("/"), "Tern Point lockers", "a session is good on every server")
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	r, err := http.NewRequestWithContext(ctx, "GET", there.url+"/floor/stream", nil)
	require.NoError(t, err)
	res, err := owner.Do(r)
	require.NoError(t, err)
	defer res.Body.Close()
	pictures := bufio.NewScanner(res.Body)
	pictures.Buffer(nil, 1<<20)
	next := func() string {
		var lines []string
		for pictures.Scan() && pictures.Text() != "" {
			lines = append(lines, pictures.Text())
		}
		require.NoError(t, pictures.Err())
		return strings.Join(lines, "\n")
	}
	first := next()
	_, err = here.bench.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, here, job.Job.Code, "Rail", parts.Ticket), Station: "crosscut"})
	require.NoError(t, err)
	assert.NotEqual(t, first, next(), "the scan on the other server is on the page")

	book, err := here.bench.AccessBook(ctx)
	require.NoError(t, err)
	require.NoError(t, here.bench.EndDevice(ctx, book.Devices[0].ID))
	assert.Eventually(t, func() bool {
		status, _ := away.get("/")
		return status == http.StatusUnauthorized
	}, 3*time.Second, 50*time.Millisecond, "sooner than what is kept grows old by itself")
}
