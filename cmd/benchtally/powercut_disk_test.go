package main

import (
	"bufio"
	"encoding/hex"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// call is one system call of the server, in the order of the record.
type call struct {
	kind string // "write", "truncate", "sync", "make", "remove", "rename", "folder" for a sync of the folder, "answer"
	file string // its name in the shop's folder
	to   string // of a rename
	data []byte
	at   int64 // where it is written, or the new length
	end  int   // number of the call before which it was over
}

// commandInAnswer finds the id in the answer to a deed.
var commandInAnswer = regexp.MustCompile(`"command":"([0-9a-f-]{36})"`)

var (
	traced  = regexp.MustCompile(`^(\d+)\s+(\w+)\((.*)$`)
	resumed = regexp.MustCompile(`^(\d+)\s+<\.\.\. (\w+) resumed>(.*)$`)
	onFile  = regexp.MustCompile(`^\d+<((?:\\x[0-9a-f]{2}|[^>])*)>`)
	quoted  = regexp.MustCompile(`"((?:\\x[0-9a-f]{2})*)"`)
	result  = regexp.MustCompile(`(?:, (\d+))?\)\s+= (-?\w+)`) // after the last argument, which is where a call writes
)

// readTrace reads what strace wrote of the files in dir and of sockets. A call
// stands where it began; one that another thread broke into is over where it
// is resumed. A call that failed did nothing.
func readTrace(t *testing.T, file, dir string) []call {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	var calls []call
	open := map[string]int{} // by thread: the call that is not over
	begun := map[string]string{}
	in := bufio.NewReaderSize(f, 1<<20)
	for {
		line, err := in.ReadString('\n')
		if err != nil {
			break
		}
		line = strings.TrimSuffix(line, "\n")
		if m := resumed.FindStringSubmatch(line); m != nil {
			if i, ok := open[m[1]]; ok {
				over(&calls[i], begun[m[1]]+m[3], len(calls))
				delete(open, m[1])
			}
			continue
		}
		m := traced.FindStringSubmatch(line)
		if m == nil {
			continue
		}
		c, ours := callOf(m[2], m[3], dir)
		if !ours {
			continue
		}
		calls = append(calls, c)
		if text, unfinished := strings.CutSuffix(m[3], " <unfinished ...>"); unfinished {
			open[m[1]], begun[m[1]] = len(calls)-1, text
			calls[len(calls)-1].end = 1 << 60 // perhaps never
			continue
		}
		over(&calls[len(calls)-1], m[3], len(calls))
	}
	return calls
}

// over notes that a call is over, and what it did.
func over(c *call, text string, end int) {
	c.end = end
	m := result.FindStringSubmatch(text[max(0, len(text)-200):])
	if m == nil || strings.HasPrefix(m[2], "-") {
		c.kind = "failed"
		return
	}
	c.at, _ = strconv.ParseInt(m[1], 10, 64)
}

// callOf reads one call, if it is on a file in dir or on a socket.
func callOf(name, args, dir string) (call, bool) {
	var on string
	if m := onFile.FindStringSubmatch(args); m != nil {
		on = unescape(m[1])
	}
	texts := quoted.FindAllStringSubmatch(args, -1)
	text := func(i int) string {
		if i < len(texts) {
			return unescape(texts[i][1])
		}
		return ""
	}
	inDir := func(path string) (string, bool) { return filepath.Base(path), filepath.Dir(path) == dir }
	switch name {
	case "write":
		if strings.HasPrefix(on, "TCP") || strings.HasPrefix(on, "socket") {
			return call{kind: "answer", data: []byte(text(0))}, true
		}
		return call{}, false
	case "pwrite64":
		file, ours := inDir(on)
		return call{kind: "write", file: file, data: []byte(text(0))}, ours
	case "ftruncate":
		file, ours := inDir(on)
		return call{kind: "truncate", file: file}, ours
	case "fsync", "fdatasync":
		if on == dir {
			return call{kind: "folder"}, true
		}
		file, ours := inDir(on)
		return call{kind: "sync", file: file}, ours
	case "openat":
		file, ours := inDir(text(0))
		return call{kind: "make", file: file}, ours && strings.Contains(args, "O_CREAT")
	case "unlink", "unlinkat":
		file, ours := inDir(text(0))
		return call{kind: "remove", file: file}, ours
	case "rename", "renameat", "renameat2":
		file, ours := inDir(text(0))
		return call{kind: "rename", file: file, to: filepath.Base(text(1))}, ours
	}
	return call{}, false
}

// unescape reads strace's \x form.
func unescape(text string) string {
	if !strings.HasPrefix(text, `\x`) {
		return text
	}
	raw, err := hex.DecodeString(strings.ReplaceAll(text, `\x`, ""))
	if err != nil {
		return text
	}
	return string(raw)
}

// sector is the unit in which a disk keeps or loses what it was not told to
// keep: 512 bytes, as SQLite assumes at the least
// (https://www.sqlite.org/atomiccommit.html).
const sector = 512

// node is a file on the disk: what is sure, and the calls since.
type node struct {
	sure    []byte
	pending []call
}

// diskAt is what the files may be when the power fails before call number at.
// What a sync that was over covered is there; of the rest each sector of each
// write is there or not, and so is each change of a name.
func (r *recording) diskAt(at int, random *rand.Rand) map[string][]byte {
	nodes, names, pending := map[string]*node{}, map[string]*node{}, []call(nil)
	for name, data := range r.before {
		nodes[name] = &node{sure: slices.Clone(data)}
		names[name] = nodes[name]
	}
	for i, c := range r.calls[:at] {
		n := nodes[c.file]
		switch c.kind {
		case "make":
			if n == nil {
				nodes[c.file] = &node{}
				pending = append(pending, c)
			}
		case "write", "truncate":
			if n != nil {
				n.pending = append(n.pending, r.calls[i])
			}
		case "remove":
			delete(nodes, c.file)
			pending = append(pending, c)
		case "rename":
			nodes[c.to], pending = n, append(pending, c)
			delete(nodes, c.file)
		case "sync":
			if n != nil && c.end <= at {
				n.sync(i)
			}
		case "folder":
			if c.end <= at {
				names, pending = named(nodes), nil
			}
		}
	}
	return r.fall(names, nodes, pending, random)
}

func named(nodes map[string]*node) map[string]*node {
	out := map[string]*node{}
	for name, n := range nodes {
		out[name] = n
	}
	return out
}

// sync makes sure what was written before the sync began. A write that was
// still under way then is not covered.
func (n *node) sync(began int) {
	var rest []call
	for _, c := range n.pending {
		if c.end <= began {
			n.sure = c.on(n.sure, nil)
		} else {
			rest = append(rest, c)
		}
	}
	n.pending = rest
}

// on does a write or a truncation to data, all of it or, with keep, the
// sectors that keep says.
func (c call) on(data []byte, keep func() bool) []byte {
	if c.kind == "truncate" {
		if keep != nil && !keep() {
			return data
		}
		if int(c.at) <= len(data) {
			return data[:c.at]
		}
		return append(data, make([]byte, int(c.at)-len(data))...)
	}
	for from := 0; from < len(c.data); {
		at := int(c.at) + from
		to := min(len(c.data), from+sector-at%sector)
		if keep == nil || keep() {
			if need := at + to - from; need > len(data) {
				data = append(data, make([]byte, need-len(data))...)
			}
			copy(data[at:], c.data[from:to])
		}
		from = to
	}
	return data
}

// fall lets go of what was not sure: nothing, everything or half of it.
func (r *recording) fall(names, nodes map[string]*node, pending []call, random *rand.Rand) map[string][]byte {
	share := []float64{0, 0.5, 0.9, 1}[random.IntN(4)]
	keep := func() bool { return random.Float64() < share }
	names = named(names)
	for _, c := range pending {
		if !keep() {
			continue
		}
		switch c.kind {
		case "make":
			if n := nodes[c.file]; n != nil {
				names[c.file] = n
			}
		case "remove":
			delete(names, c.file)
		case "rename":
			if n := names[c.file]; n != nil {
				names[c.to] = n
				delete(names, c.file)
			}
		}
	}
	out := map[string][]byte{}
	for _, name := range slices.Sorted(maps.Keys(names)) { // in an order, so that a seed repeats
		data := slices.Clone(names[name].sure)
		for _, c := range names[name].pending {
			data = c.on(data, keep)
		}
		if !strings.HasSuffix(name, "-shm") { // it is memory, and made anew
			out[name] = data
		}
	}
	return out
}
