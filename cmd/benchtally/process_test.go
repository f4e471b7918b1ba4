package main

import (
	"bufio"
	"bytes"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// built keeps the programs that the tests have built, by what is odd about
// them.
var built struct {
	sync.Mutex
	dir   string
	files map[string]string
}

func TestMain(m *testing.M) {
	code := m.Run()
	os.RemoveAll(built.dir)
	os.Exit(code)
}

// program builds the real program once, with more flags for the go command if
// any.
func program(t testing.TB, flags ...string) string {
	t.Helper()
	built.Lock()
	defer built.Unlock()
	if built.dir == "" {
		var err error
		built.dir, err = os.MkdirTemp("", "benchtally-test-")
		require.NoError(t, err)
		built.files = map[string]string{}
	}
	key := strings.Join(flags, " ")
	if built.files[key] == "" {
		file := filepath.Join(built.dir, fmt.Sprintf("benchtally-%d", len(built.files)))
		args := append(append([]string{"build", "-o", file}, flags...), ".")
		out, err := exec.Command("go", args...).CombinedOutput()
		require.NoError(t, err, "%s", out)
		built.files[key] = file
	}
	return built.files[key]
}

// seeds gives the random source of each round, repeatable: it is printed, and
// BENCHTALLY_TEST_SEED sets it. BENCHTALLY_TEST_FULL asks for the long run.
func seeds(t *testing.T, few, full int) (rounds int, of func(round int) *rand.Rand) {
	t.Helper()
	rounds, seed := few, uint64(time.Now().UnixNano())
	if os.Getenv("BENCHTALLY_TEST_FULL") != "" {
		rounds = full
	}
	if given := os.Getenv("BENCHTALLY_TEST_SEED"); given != "" {
		var err error
		seed, err = strconv.ParseUint(given, 10, 64)
		require.NoError(t, err)
	}
	t.Logf("BENCHTALLY_TEST_SEED=%d, %d rounds", seed, rounds)
	return rounds, func(round int) *rand.Rand { return rand.New(rand.NewPCG(seed, uint64(round))) }
}

// scriptToken makes a token for a program that scans.
func scriptToken(t testing.TB, db string) string {
	t.Helper()
	return strings.TrimSpace(fine(t, "token", "-db", db, "-name", "Load", "-scope", "read,scan"))
}

// process is the real server in a process of its own.
type process struct {
	testing.TB
	told    string // what it printed at the start
	cmd     *exec.Cmd
	address string
	stderr  *bytes.Buffer
	ended   chan error
}

// launches starts a command line that ends in a server, and waits until that
// says where it is.
func launches(t testing.TB, argv ...string) *process {
	t.Helper()
	p := &process{TB: t, cmd: exec.Command(argv[0], argv[1:]...), stderr: &bytes.Buffer{}, ended: make(chan error, 1)}
	p.cmd.Stderr = p.stderr
	out, err := p.cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, p.cmd.Start())
	t.Cleanup(func() { p.cmd.Process.Kill() })
	said := bufio.NewScanner(out)
	for said.Scan() && said.Text() != "Ctrl+C stops it." {
		p.told += said.Text() + "\n"
		if found := regexp.MustCompile(`On this computer:\s+(http://\S+)`).FindStringSubmatch(said.Text()); found != nil {
			p.address = found[1]
		}
	}
	go func() {
		io.Copy(io.Discard, out)
		p.ended <- p.cmd.Wait()
	}()
	require.NotEmpty(t, p.address, "it did not start: %s", p.stderr)
	return p
}

// ends waits until the process is gone.
func (p *process) ends() error {
	p.Helper()
	select {
	case err := <-p.ended:
		return err
	case <-time.After(time.Minute):
		p.Fatal("it does not stop")
		return nil
	}
}

// sending is one scan of one piece, or a hold or a release, and what was heard of
// it.
type sending struct {
	id    parts.CommandID
	path  string
	body  string
	acked bool
}

// crew are clients that scan as fast as they are answered. Each has pieces of
// its own, and sends a deed again, with its id, until it is answered.
type crew struct{ members []*member }

type member struct {
	token   string // the server keeps one program from taking it for itself
	marks   []string
	done    int        // deeds begun
	deeds   []*sending // all of them, the last perhaps without an answer
	refused string     // an answer that should not be
}

// crewOf shares the pieces of the shop out among n clients.
func crewOf(t *testing.T, db string, n int) *crew {
	t.Helper()
	c := &crew{}
	for range n {
		c.members = append(c.members, &member{token: scriptToken(t, db)})
	}
	for i, mark := range marksIn(t, db) {
		m := c.members[i%n]
		m.marks = append(m.marks, mark)
	}
	return c
}

// marksIn are the marks of the single parts in a shop's file.
func marksIn(t *testing.T, db string) []string {
	t.Helper()
	raw, err := sql.Open("sqlite3", "file:"+db+"?mode=ro")
	require.NoError(t, err)
	defer raw.Close()
	rows, err := raw.Query("SELECT part FROM part_states WHERE kind = ? ORDER BY part", string(parts.Single))
	require.NoError(t, err)
	defer rows.Close()
	var marks []string
	for rows.Next() {
		var mark string
		require.NoError(t, rows.Scan(&mark))
		marks = append(marks, mark)
	}
	require.NoError(t, rows.Err())
	require.NotEmpty(t, marks)
	return marks
}

// work sends deeds until the server is gone or stop is closed.
func (c *crew) work(address string, stop <-chan struct{}) {
	var all sync.WaitGroup
	for i, m := range c.members {
		all.Go(func() {
			client := clientAt(net.IPv4(127, 0, 1, byte(i+1)))
			defer client.CloseIdleConnections()
			for m.refused == "" && m.send(client, address) {
				select {
				case <-stop:
					return
				default:
				}
			}
		})
	}
	all.Wait()
}

// clientAt asks from an address of its own, as each phone does: the server is
// patient with each address by itself.
func clientAt(ip net.IP) *http.Client {
	from := &net.Dialer{LocalAddr: &net.TCPAddr{IP: ip}}
	return &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{DialContext: from.DialContext}}
}

// next gives the deed to send: the one that was not answered, or a new one. A
// piece is cut to length and ripped, and then held and released by turns.
func (m *member) next() *sending {
	if n := len(m.deeds); n > 0 && !m.deeds[n-1].acked {
		return m.deeds[n-1]
	}
	d := &sending{id: shoptest.NewID()}
	mark, turn := m.marks[m.done%len(m.marks)], m.done/len(m.marks)
	switch {
	case turn == 0:
		d.path, d.body = "/api/v1/scans", fmt.Sprintf(`{"id":%q,"mark":%q,"station":"crosscut"}`, d.id, mark)
	case turn == 1:
		d.path, d.body = "/api/v1/scans", fmt.Sprintf(`{"id":%q,"mark":%q,"station":"rip"}`, d.id, mark)
	case turn%2 == 0:
		d.path, d.body = "/api/v1/holds", fmt.Sprintf(`{"id":%q,"mark":%q,"reason":"a knot"}`, d.id, mark)
	default:
		d.path, d.body = "/api/v1/releases", fmt.Sprintf(`{"id":%q,"mark":%q}`, d.id, mark)
	}
	m.done++
	m.deeds = append(m.deeds, d)
	return d
}

// send sends one deed and reports whether there is still a server.
func (m *member) send(client *http.Client, address string) bool {
	d := m.next()
	req, err := http.NewRequest("POST", address+d.path, strings.NewReader(d.body))
	if err != nil {
		return false
	}
	req.Header.Set("Authorization", "Bearer "+m.token)
	req.Header.Set("Content-Type", "application/json")
	resp, err := client.Do(req)
	if err != nil {
		return false
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		return false // cut off: it was not acknowledged
	}
	var said struct{ Outcome, Code string }
	json.Unmarshal(body, &said)
	switch {
	case resp.StatusCode == http.StatusOK && said.Outcome == "recorded":
		d.acked = true
	case resp.StatusCode == http.StatusServiceUnavailable, resp.StatusCode == http.StatusTooManyRequests:
		time.Sleep(20 * time.Millisecond)
	default:
		m.refused = fmt.Sprintf("%s %s: %d %s", d.path, d.body, resp.StatusCode, body)
	}
	return true
}

// all gives the deeds by their ids.
func (c *crew) all() map[parts.CommandID]*sending {
	out := map[parts.CommandID]*sending{}
	for _, m := range c.members {
		for _, d := range m.deeds {
			out[d.id] = d
		}
	}
	return out
}

// nothingRefused fails when a client heard what it should not.
func (c *crew) nothingRefused(t *testing.T) {
	t.Helper()
	for _, m := range c.members {
		require.Empty(t, m.refused)
	}
}

// recordedIn counts the events of each command in a shop's file that a person
// sent one for.
func recordedIn(t *testing.T, db string) map[parts.CommandID]int {
	t.Helper()
	raw, err := sql.Open("sqlite3", "file:"+db+"?mode=ro")
	require.NoError(t, err)
	defer raw.Close()
	var sound string
	require.NoError(t, raw.QueryRow("PRAGMA integrity_check").Scan(&sound))
	require.Equal(t, "ok", sound)
	rows, err := raw.Query("SELECT command, count(*) FROM events WHERE kind IN (?, ?, ?) GROUP BY command", string(parts.Did), string(parts.Held), string(parts.Released))
	require.NoError(t, err)
	defer rows.Close()
	out := map[parts.CommandID]int{}
	for rows.Next() {
		var raw []byte
		var n int
		require.NoError(t, rows.Scan(&raw, &n))
		out[parts.CommandID(raw)] = n
	}
	require.NoError(t, rows.Err())
	return out
}

// largeShop is a shop with n loose parts.
func largeShop(t *testing.T, n int) string {
	t.Helper()
	db := filepath.Join(t.TempDir(), "shop.db")
	fine(t, "import", "-db", db, "-job", "Tern Point benches", write(t, "list.csv", fmt.Sprintf("qty,part,length,width,thickness,material\n%d,Shelf,30,10,3/4,white oak\n", n)))
	return db
}
