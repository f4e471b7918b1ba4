package main

import (
	"bufio"
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	_ "github.com/mattn/go-sqlite3" // to damage a file from outside
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// damage changes a shop's file behind its back, in pages whose sums are right.
func damage(t *testing.T, db, query string) {
	t.Helper()
	raw, err := sql.Open("sqlite3", "file:"+db+"?vfs=pagesum")
	require.NoError(t, err)
	defer raw.Close()
	_, err = raw.Exec(query)
	require.NoError(t, err)
}

// running is a server that was started by a command line.
type running struct {
	*testing.T
	told    string // what it printed at the start
	address string
	stop    context.CancelFunc
	code    chan int
	stderr  *bytes.Buffer
}

// starts runs a command line until it says that it is running. The server is
// stopped when the test ends.
func starts(t *testing.T, args ...string) *running {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	out, in := io.Pipe()
	r := &running{T: t, stop: stop, code: make(chan int, 1), stderr: &bytes.Buffer{}}
	go func() {
		code := run(ctx, args, in, r.stderr)
		in.Close()
		r.code <- code
	}()
	for lines := bufio.NewScanner(out); lines.Scan(); {
		r.told += lines.Text() + "\n"
		if lines.Text() == "Ctrl+C stops it." {
			break
		}
	}
	t.Cleanup(stop)
	found := regexp.MustCompile(`On this computer:\s+(http://\S+)`).FindStringSubmatch(r.told)
	if found == nil {
		stop()
		t.Fatalf("it did not start: code %d, %s", <-r.code, r.stderr)
	}
	r.address = found[1]
	go io.Copy(io.Discard, out)
	return r
}

// stops stops the server, which must end well.
func (r *running) stops() {
	r.Helper()
	r.stop()
	select {
	case code := <-r.code:
		require.Equal(r, exitFine, code, "%s", r.stderr)
	case <-time.After(20 * time.Second):
		r.Fatal("it does not stop")
	}
}

// opens sets the shop up by the link that the server printed, and gives a
// browser that is in.
func (r *running) opens() *http.Client {
	r.Helper()
	link := regexp.MustCompile(`http://\S+(/setup/[\w-]+)`).FindStringSubmatch(r.told)
	require.NotNil(r, link, "a shop without an owner says how it gets one: %s", r.told)
	jar, err := cookiejar.New(nil)
	require.NoError(r, err)
	browser := &http.Client{Jar: jar}
	resp, err := browser.PostForm(r.address+link[1], url.Values{"name": {"Ann"}, "password": {"three oak pegs"}, "phone": {"Office"}})
	require.NoError(r, err)
	resp.Body.Close()
	require.Equal(r, http.StatusOK, resp.StatusCode)
	return browser
}

// ask sends a request and gives the status and the body.
func (r *running) ask(method, path, token, body string) (int, string) {
	r.Helper()
	req, err := http.NewRequest(method, r.address+path, strings.NewReader(body))
	require.NoError(r, err)
	if token != "" {
		req.Header.Set("Authorization", "Bearer "+token)
	}
	resp, err := http.DefaultClient.Do(req)
	require.NoError(r, err)
	defer resp.Body.Close()
	data, err := io.ReadAll(resp.Body)
	require.NoError(r, err)
	return resp.StatusCode, string(data)
}

// A shop from its list to a scan by a program.
func TestServe(t *testing.T) {
	db := newShop(t)
	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-db", db)
	require.Contains(t, r.told, db)
	require.Contains(t, r.told, "Labels say "+addressOf("", 8080)+", which is not where this server is now")
	token := strings.TrimSpace(fine(t, "token", "-db", db, "-scope", "read,scan"))
	fine(t, "check", "-db", db)

	status, page := r.ask("GET", "/", "", "")
	require.Equal(t, 401, status)
	require.NotContains(t, page, "Tern Point lockers")
	r.opens()
	status, _ = r.ask("GET", "/api/v1/jobs", "", "")
	require.Equal(t, 401, status)
	status, jobs := r.ask("GET", "/api/v1/jobs", token, "")
	require.Equal(t, 200, status)
	require.JSONEq(t, `[{"code":"TERN-POINT-LOCKERS","name":"Tern Point lockers"}]`, jobs)
	_, tickets := r.ask("GET", "/api/v1/jobs/TERN-POINT-LOCKERS/tickets", token, "")
	var list []struct{ Mark string }
	require.NoError(t, json.Unmarshal([]byte(tickets), &list))
	status, answer := r.ask("POST", "/api/v1/scans", token, `{"id":"`+shoptest.NewID().String()+`","mark":"`+list[0].Mark+`","station":"crosscut"}`)
	require.Equal(t, 200, status, "%s", answer)
	require.Contains(t, answer, `"count":4`)
	r.stops()
	require.Equal(t, "All is well: 16 marks, 20 events, 0 differences.\n", fine(t, "check", "-db", db))
	require.Empty(t, r.stderr.String())

	again := starts(t, "serve", "-addr", "127.0.0.1:0", "-db", db)
	require.NotContains(t, again.told, "/setup/", "a shop is set up once")
	again.stops()
}

// A forgotten password is set anew where the file is.
func TestOwner(t *testing.T) {
	db := newShop(t)
	s := runs(t, "owner", "-db", db, "-name", "Ann", "-password-file", write(t, "password", "too short\n"))
	require.Equal(t, exitProblem, s.code)
	require.Contains(t, s.err, "fewer than 12 characters")
	require.Contains(t, fine(t, "owner", "-db", db, "-name", "Ann", "-password-file", write(t, "password", "three oak pegs\r\n")), "Ann is an owner")
	require.NoError(t, withShop(t, db, func(b *bench.Bench) error {
		_, err := b.SignIn(t.Context(), "three oak pegs", "Office")
		return err
	}))
	for _, args := range [][]string{{}, {"-name", "Ann"}} { // go test has no terminal to ask at
		require.Equal(t, exitUsage, runs(t, append([]string{"owner", "-db", db}, args...)...).code)
	}
}

// One server holds a file; what would write beside it says so.
func TestOnlyOneServer(t *testing.T) {
	db := newShop(t)
	r := starts(t, "-addr", "127.0.0.1:0", "-db", db)
	defer r.stops()
	for _, args := range [][]string{
		{"serve", "-addr", "127.0.0.1:0"}, {"import", "-job", "X", write(t, "list.csv", shoptest.FramesList)},
		{"labels", "-job", "TERN-POINT-LOCKERS", "-out", filepath.Join(t.TempDir(), "x.pdf")}, {"rebuild"},
	} {
		s := runs(t, append(args, "-db", db)...)
		require.Equal(t, exitProblem, s.code)
		require.Contains(t, s.err, "The server is running")
	}
}

// A page that watches the floor does not keep the server from stopping.
func TestAWatchedServerStops(t *testing.T) {
	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-db", newShop(t))
	resp, err := r.opens().Get(r.address + "/floor/stream")
	require.NoError(t, err)
	defer resp.Body.Close()
	_, err = resp.Body.Read(make([]byte, 10))
	require.NoError(t, err)
	start := time.Now()
	r.stops()
	require.Less(t, time.Since(start), 8*time.Second)
}

func TestAPortThatIsTaken(t *testing.T) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer l.Close()
	s := runs(t, "serve", "-addr", l.Addr().String(), "-db", filepath.Join(t.TempDir(), "shop.db"))
	require.Equal(t, exitProblem, s.code)
	require.Contains(t, s.err, "Another program is listening on "+l.Addr().String())

	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	r := starts(t, "demo", "-addr", l.Addr().String())
	require.Contains(t, r.told, "is taken, so this is ")
	require.NotContains(t, r.address, l.Addr().String())
	r.stops()
}

func TestDemo(t *testing.T) {
	cache := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", cache)
	r := starts(t, "demo", "-addr", "127.0.0.1:0")
	require.Contains(t, r.told, "Whoever reaches its address can see and change it.")
	files, err := filepath.Glob(filepath.Join(cache, "benchtally", "demo-*.db"))
	require.NoError(t, err)
	require.Len(t, files, 1)
	status, jobs := r.ask("GET", "/api/v1/jobs", "", "")
	require.Equal(t, 200, status, "a demo wants no token")
	require.JSONEq(t, `[{"code":"TERN-POINT-LOCKERS","name":"Tern Point lockers"}]`, jobs)
	status, _ = r.ask("GET", "/", "", "")
	require.Equal(t, 200, status)
	r.stops()
	left, err := os.ReadDir(filepath.Join(cache, "benchtally"))
	require.NoError(t, err)
	require.Empty(t, left, "the demo's data is thrown away")
}

// The demo's story is told by ordinary requests, so every state of the floor
// is there and the books balance.
func TestTheDemosStory(t *testing.T) {
	ctx := t.Context()
	clock := &storyClock{}
	b, err := bench.Open(ctx, shoptest.DSN(t), bench.Options{Clock: clock.Now})
	require.NoError(t, err)
	defer b.Close()
	require.NoError(t, tellStory(ctx, b, clock, "http://192.168.1.20:8080"))
	require.WithinDuration(t, time.Now(), b.Now(), time.Minute, "the story ends now")

	books, err := b.Check(ctx)
	require.NoError(t, err)
	require.Empty(t, books.Differences)
	job, err := b.Job(ctx, "TERN-POINT-LOCKERS")
	require.NoError(t, err)
	require.Empty(t, missingFrom(t, b, job), "the story tells each thing once")
	made := map[parts.Kind]int{}
	for _, s := range job.States {
		l := job.LineOf(s)
		if s.In == "" && s.Kind == parts.Assembly && l.Name == "Locker front" {
			made[s.Kind]++
		}
	}
	require.Equal(t, 12, made[parts.Assembly])
	board, err := b.Floor(ctx)
	require.NoError(t, err)
	require.Len(t, board.Jobs, 1)
	clocks := map[parts.Clock]bool{}
	for _, w := range board.Jobs[0].Waits {
		clocks[w.Clock] = true
	}
	for _, clock := range parts.Clocks {
		require.True(t, clocks[clock], "something is %s", clock)
	}
	require.NotEmpty(t, board.Jobs[0].Short)
	require.NotEmpty(t, board.Jobs[0].Mending)
	require.NotEmpty(t, board.Jobs[0].Held)

	wet, err := b.Drying(ctx)
	require.NoError(t, err)
	delayed := 0
	for _, r := range wet.Rows {
		if r.Where == "Cart 1" && r.Ready.After(r.Since.Add(36*time.Hour)) {
			delayed += len(r.Marks)
			require.Equal(t, "too cold: 9h30m0s did not count", fmt.Sprintf(r.Why[0].In, r.Why[0].Few...))
		}
	}
	require.Equal(t, 2, delayed, "a cold night delays the rack, and the page says so")
}

// missingFrom gives the kinds of event that a story does not have.
func missingFrom(t *testing.T, b *bench.Bench, job bench.JobPieces) []parts.EventKind {
	seen := map[parts.EventKind]bool{}
	for _, s := range job.States {
		events, err := b.Events(t.Context(), string(s.Part))
		require.NoError(t, err)
		for _, e := range events {
			seen[e.Kind] = true
		}
	}
	var missing []parts.EventKind
	for _, k := range parts.EventKinds {
		if !seen[k] {
			missing = append(missing, k)
		}
	}
	return missing
}
