package server

import (
	"bufio"
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// whoMay is the table of who may open what, a line an address. It is written
// for people to read, apart from the code that decides.
var whoMay = filepath.Join("..", "testdata", "access", "who_may.txt")

// Every address of the router is tried over HTTP by nobody, a screen, a phone
// and an owner, and those of the API by a token of each scope. An address that
// the table lacks fails.
func TestWhoMayOpenWhat(t *testing.T) {
	shoptest.NeedSQLite(t, "who may is decided before any database is asked for more than a session")
	h := openHouse(t)
	var lines []string
	for _, r := range h.api.router().Routes() {
		line := fmt.Sprintf("%-4s %-45s", r.Method, r.Path)
		if forPrograms(r.Path) {
			for _, scope := range append([]access.Scope{""}, access.Scopes...) {
				line += fmt.Sprintf(" %-6s %-8s", wordOr(string(scope), "none"), h.program(r.Method, r.Path, scope))
			}
		} else {
			for _, role := range []string{"nobody", "screen", "phone", "owner"} {
				line += fmt.Sprintf(" %-6s %-8s", role, h.device(r.Method, r.Path, role))
			}
		}
		lines = append(lines, strings.TrimRight(line, " "))
	}
	slices.SortFunc(lines, func(a, b string) int { return cmp.Or(strings.Compare(a[5:50], b[5:50]), strings.Compare(a, b)) })
	got := strings.Join(lines, "\n") + "\n"
	if shoptest.Update() {
		require.NoError(t, os.MkdirAll(filepath.Dir(whoMay), 0o755))
		require.NoError(t, os.WriteFile(whoMay, []byte(got), 0o644))
	}
	want, err := os.ReadFile(whoMay)
	require.NoError(t, err)
	table := map[string]bool{}
	for rows := bufio.NewScanner(strings.NewReader(string(want))); rows.Scan(); {
		table[rows.Text()] = true
	}
	for _, line := range lines {
		assert.True(t, table[line], "the table does not have this row: %s", line)
		delete(table, line)
	}
	assert.Empty(t, table, "rows of no address")
}

func wordOr(word, or string) string {
	if word == "" {
		return or
	}
	return word
}

// house is a shop with an owner, where devices come and go.
type house struct {
	*testing.T
	bench  *bench.Bench
	api    *Server
	web    *httptest.Server
	tokens map[access.Scope]string
}

func openHouse(t *testing.T) *house {
	clock := shoptest.NewClock()
	h := &house{T: t, bench: shoptest.Open(t, clock), tokens: map[access.Scope]string{}}
	var err error
	// What handlers make of an empty request is not looked at here.
	h.api, err = New(Config{Bench: h.bench, Log: slog.New(slog.DiscardHandler), Pace: 1 << 20})
	require.NoError(t, err)
	h.web = httptest.NewServer(h.api)
	t.Cleanup(func() { h.api.Close(); h.web.Close() })
	require.NoError(t, h.bench.SetOwner(t.Context(), "Ann", "three oak pegs"))
	for _, scope := range access.Scopes {
		h.tokens[scope], err = h.bench.AddToken(t.Context(), string(scope), scope)
		require.NoError(t, err)
	}
	return h
}

// secret lets a new device in and gives what its cookie holds.
func (h *house) secret(role string) string {
	ctx := h.Context()
	switch role {
	case "screen":
		code, err := h.bench.NewWall(ctx, "Wall")
		require.NoError(h, err)
		secret, err := h.bench.OpenWall(ctx, code)
		require.NoError(h, err)
		return secret
	case "phone":
		code, err := h.bench.NewJoin(ctx)
		require.NoError(h, err)
		secret, err := h.bench.Join(ctx, code, "Phone")
		require.NoError(h, err)
		return secret
	case "owner":
		secret, err := h.bench.SignIn(ctx, "three oak pegs", "Phone")
		require.NoError(h, err)
		return secret
	}
	return ""
}

// device says what an address answers a device: in, sign-in, password, no, or
// label for the page that whoever finds a label sees.
func (h *house) device(method, path, role string) string {
	status, body := h.ask(method, path, func(r *http.Request) {
		if secret := h.secret(role); secret != "" {
			r.AddCookie(&http.Cookie{Name: sessionCookie, Value: secret})
		}
	})
	switch {
	case strings.Contains(body, "page-found"):
		return "label"
	case strings.Contains(body, "page-owner") && strings.Contains(body, "password\""):
		return "password"
	case status == http.StatusUnauthorized:
		return "sign-in"
	case status == http.StatusForbidden:
		return "no"
	}
	return "in"
}

// program says what an address answers a program.
func (h *house) program(method, path string, scope access.Scope) string {
	status, _ := h.ask(method, path, func(r *http.Request) {
		if token := h.tokens[scope]; token != "" {
			r.Header.Set("Authorization", "Bearer "+token)
		}
	})
	switch status {
	case http.StatusUnauthorized:
		return "sign-in"
	case http.StatusForbidden:
		return "no"
	}
	return "in"
}

// ask sends an empty request and reads the first of the answer: a live page
// would go on.
func (h *house) ask(method, path string, as func(*http.Request)) (int, string) {
	path = strings.NewReplacer(":mark", "101S", ":second", "101S", ":code", "NONE", ":device", "0", ":person", "0", "*file", "x").Replace(path)
	ctx, cancel := context.WithTimeout(h.Context(), 20*time.Second)
	defer cancel()
	r, err := http.NewRequestWithContext(ctx, method, h.web.URL+path, nil)
	require.NoError(h, err)
	as(r)
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(r)
	require.NoError(h, err)
	defer res.Body.Close()
	body := make([]byte, 16<<10)
	n := 0
	for n < len(body) && !strings.HasSuffix(path, "/stream") {
		more, err := res.Body.Read(body[n:])
		n += more
		if err != nil {
			break
		}
	}
	return res.StatusCode, string(body[:n])
}

func TestTheServerDoesNotStartWithAnAddressOfNobody(t *testing.T) {
	assert.ErrorContains(t, checkDoors([]string{"GET /attic"}), "GET /attic")
	assert.ErrorContains(t, checkDoors(nil), "which is no address")
}

func TestEveryChangeHasWords(t *testing.T) {
	for address, d := range doors {
		assert.Equal(t, d.noted, changeWords[address] != "", address)
	}
}

// The API's description names the scope that each address asks for.
func TestTheDescriptionNamesTheScopes(t *testing.T) {
	var doc struct {
		Paths map[string]map[string]struct{ Security []map[string][]access.Scope }
	}
	require.NoError(t, json.Unmarshal(description, &doc))
	for address, d := range doors {
		method, path, _ := strings.Cut(address, " ")
		if !strings.HasPrefix(path, "/api/") || d == open {
			continue
		}
		path = regexp.MustCompile(`:(\w+)`).ReplaceAllString(path, "{$1}")
		said := doc.Paths[path][strings.ToLower(method)].Security
		assert.Equal(t, []map[string][]access.Scope{{"token": {d.scope}}}, said, address)
	}
}
