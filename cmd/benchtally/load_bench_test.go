package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// loaded is the real server in a process of its own, with a job of loose parts
// of sixteen steps each.
type loaded struct {
	*process
	marks  []string
	next   atomic.Int64 // scans so far
	tokens []string     // one for each phone: the server bounds what one may ask
}

// loads starts a server on a new file with so many parts.
func loads(b *testing.B, pieces int) *loaded {
	b.Helper()
	db := filepath.Join(b.TempDir(), "shop.db")
	l := &loaded{}
	l.marks, l.tokens = fill(b, db, pieces)
	l.process = launches(b, program(b), "serve", "-db", db, "-addr", "127.0.0.1:0", "-https", "127.0.0.1:0", "-name=")
	return l
}

// fill makes a shop with a job of so many parts, and gives their marks and
// tokens for programs.
func fill(b *testing.B, db string, pieces int) (marks, tokens []string) {
	b.Helper()
	shop, err := bench.Open(b.Context(), db, bench.Options{})
	require.NoError(b, err)
	defer shop.Close()
	steps := parts.Routing{Name: "Sixteen passes", For: parts.Single}
	for i := range 16 {
		steps.Steps = append(steps.Steps, parts.Step{Name: fmt.Sprintf("pass %d", i+1), Station: "plane"})
	}
	steps, err = shop.SaveRouting(b.Context(), steps)
	require.NoError(b, err)
	list, picks := "qty,part,length,width,thickness,material\n", bench.Picks{Steps: map[int]string{}}
	for row := 2; pieces > 0; row, pieces = row+1, pieces-100 {
		list += fmt.Sprintf("%d,Slat %d,11 3/4,2 1/4,3/4,white oak\n", min(pieces, 100), row-1)
		picks.Steps[row] = steps.Key
	}
	table, err := cutlist.ReadText(list)
	require.NoError(b, err)
	p, err := shop.Preview(b.Context(), table, cutlist.Choices{}, picks)
	require.NoError(b, err)
	job, err := shop.MakeJob(b.Context(), shoptest.NewID(), "Bench backs", p)
	require.NoError(b, err)
	all, err := shop.Job(b.Context(), job.Code)
	require.NoError(b, err)
	for _, s := range all.States {
		if s.Kind == parts.Single {
			marks = append(marks, string(s.Part))
		}
	}
	for range mostPhones {
		token, err := shop.AddToken(b.Context(), "Load", access.Scan)
		require.NoError(b, err)
		tokens = append(tokens, token)
	}
	return marks, tokens
}

// scan is the body of the next scan.
func (l *loaded) scan() string {
	i := int(l.next.Add(1)) - 1
	return `{"id":"` + shoptest.NewID().String() + `","mark":"` + l.marks[i%len(l.marks)] + `","station":"plane","step":` + strconv.Itoa(1+i/len(l.marks)) + `,"by":"Ann"}`
}

// noMark is the body of a scan that the server reads and answers, with all
// that is before and after, and that never comes to the store.
func (l *loaded) noMark() string {
	return `{"id":"` + shoptest.NewID().String() + `","station":"plane","step":1,"by":"Ann"}`
}

// post sends a scan and gives the status.
func (p *phone) post(body string) (status int, err error) {
	p.out = strconv.AppendInt(append(p.out[:0], p.head...), int64(len(body)), 10)
	p.out = append(append(p.out, "\r\n\r\n"...), body...)
	if _, err := p.conn.Write(p.out); err != nil {
		return 0, err
	}
	length := -1
	for {
		line, err := p.in.ReadSlice('\n')
		if err != nil {
			return status, err
		}
		line = bytes.TrimSpace(line)
		switch name, value, _ := bytes.Cut(line, []byte(" ")); {
		case len(line) == 0 && length < 0:
			return status, errors.New("the answer has no length")
		case len(line) == 0:
			_, err = p.in.Discard(length)
			return status, err
		case string(name) == "HTTP/1.1":
			status, err = strconv.Atoi(string(value[:3]))
		case string(name) == "Content-Length:":
			length, err = strconv.Atoi(string(value))
		}
		if err != nil {
			return status, err
		}
	}
}

// mostPhones is how many phones there are at most.
const mostPhones = 200

// phone is a client with a token and an address of its own. It keeps one
// connection and sends one request after the other. It is written out here
// because it shares the processor with the server that is measured, and
// http.Client takes as much of that as the server does.
type phone struct {
	head string // of a request, to its length
	conn net.Conn
	in   *bufio.Reader
	out  []byte
}

// phones connects n phones to an address.
func (l *loaded) phones(b *testing.B, n int, address string) []*phone {
	b.Helper()
	var all []*phone
	host, secure := strings.CutPrefix(address, "https://")
	host = strings.TrimPrefix(host, "http://")
	for i, token := range l.tokens[:n] {
		from := &net.Dialer{LocalAddr: &net.TCPAddr{IP: net.IPv4(127, 0, 1, byte(1+i))}}
		conn, err := from.DialContext(b.Context(), "tcp", host)
		require.NoError(b, err)
		if secure {
			conn = tls.Client(conn, &tls.Config{InsecureSkipVerify: true}) // its authority is made up for this run
		}
		b.Cleanup(func() { conn.Close() })
		head := "POST /api/v1/scans HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " + token + "\r\nContent-Length: "
		all = append(all, &phone{head: head, conn: conn, in: bufio.NewReader(conn)})
	}
	return all
}

// burst lets the phones send n requests in all and gives how long each took.
func (l *loaded) burst(b *testing.B, phones []*phone, n, status int, body func() string) []time.Duration {
	took := make([]time.Duration, n)
	var turn atomic.Int64
	var all sync.WaitGroup
	for _, phone := range phones {
		all.Go(func() {
			for i := int(turn.Add(1)) - 1; i < n; i = int(turn.Add(1)) - 1 {
				start := time.Now()
				got, err := phone.post(body())
				took[i] = time.Since(start)
				if err != nil || got != status {
					b.Errorf("answered %d %v", got, err)
					return
				}
			}
		})
	}
	all.Wait()
	return took
}

// cpu is what the server has used of the processor so far: utime and stime of
// proc(5), in ticks of which Linux counts a hundred a second.
func (p *process) cpu() time.Duration {
	p.Helper()
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.cmd.Process.Pid))
	if err != nil {
		p.Skip("no /proc to read the use of the processor from")
	}
	_, after, _ := strings.Cut(string(data), ") ")
	fields := strings.Fields(after) // from the third on
	var ticks int
	for _, f := range fields[11:13] {
		n, err := strconv.Atoi(f)
		require.NoError(p, err)
		ticks += n
	}
	return time.Duration(ticks) * 10 * time.Millisecond
}

// BenchmarkLoad sends scans from 200 phones to the real server, each answer
// durable; the phones are on the same processor. First they send again as soon
// as they have their answer, and by turns scans that the same server refuses
// before it asks the store: "scan/bare" is the rate of the first by that of the
// second, and "cpu-us" is what the server's process used of the processor for
// each scan. Most of what they wait for then ("p99-ms", "bare-p99-ms") is their
// turn on the processor. Then they send at a pace, whoever was late counting
// that too: together at three tenths of the rate of the refused ones
// ("paced-p99-ms"), and ten times a second each, which is still more than hands
// can ("hands-p99-ms"). Ask for many, such as -benchtime 40000x.
func BenchmarkLoad(b *testing.B) {
	for _, scheme := range []string{"http", "https"} {
		b.Run(scheme, func(b *testing.B) {
			const round, paced, byHand = 4000, 100, 30
			defer debug.SetGCPercent(debug.SetGCPercent(800)) // the phones are no part of what is measured
			_ = exec.Command("sync").Run()                    // nor is what the disk still has to write from before
			l := loads(b, (b.N+(paced+byHand)*mostPhones)/16+1)
			address := l.address
			if scheme == "https" {
				found := regexp.MustCompile(`https://[^\s:]+(:\d+)`).FindStringSubmatch(l.told)
				require.NotNil(b, found, l.told)
				address = "https://127.0.0.1" + found[1]
			}
			all := l.phones(b, mostPhones, address)
			l.burst(b, all, len(all), http.StatusBadRequest, l.noMark) // they connect
			var took, bare []time.Duration
			var scanning, idle, cpu time.Duration
			b.ResetTimer()
			for left := b.N; left > 0; left -= round {
				n := min(left, round)
				start, was := time.Now(), l.cpu()
				took = append(took, l.burst(b, all, n, http.StatusOK, l.scan)...)
				scanning, cpu = scanning+time.Since(start), cpu+l.cpu()-was
				start = time.Now()
				bare = append(bare, l.burst(b, all, round, http.StatusBadRequest, l.noMark)...)
				idle += time.Since(start)
			}
			b.StopTimer()
			bareRate := float64(len(bare)) / idle.Seconds()
			report := func(name string, took []time.Duration) {
				slices.Sort(took)
				b.ReportMetric(took[len(took)*99/100].Seconds()*1e3, name)
			}
			report("p99-ms", took)
			report("bare-p99-ms", bare)
			report("paced-p99-ms", l.pace(b, all, paced, time.Duration(mostPhones/(0.3*bareRate)*float64(time.Second))))
			report("hands-p99-ms", l.pace(b, all, byHand, 100*time.Millisecond))
			b.ReportMetric(0, "ns/op")
			b.ReportMetric(float64(b.N)/scanning.Seconds(), "scans/s")
			b.ReportMetric(float64(b.N)/scanning.Seconds()/bareRate, "scan/bare")
			b.ReportMetric(took[len(took)/2].Seconds()*1e3, "p50-ms")
			b.ReportMetric(cpu.Seconds()*1e6/float64(b.N), "cpu-us")
		})
	}
}

// pace lets each phone scan so many times, one each so often and not in step
// with the others, and gives how long each took.
func (l *loaded) pace(b *testing.B, phones []*phone, times int, each time.Duration) []time.Duration {
	took := make([]time.Duration, len(phones)*times)
	start := time.Now()
	var all sync.WaitGroup
	for i, phone := range phones {
		all.Go(func() {
			for n := range times {
				due := start.Add(time.Duration(n)*each + each*time.Duration(i)/time.Duration(len(phones)))
				time.Sleep(time.Until(due))
				got, err := phone.post(l.scan())
				took[i*times+n] = time.Since(due) // a late start counts
				if err != nil || got != http.StatusOK {
					b.Errorf("answered %d %v", got, err)
					return
				}
			}
		})
	}
	all.Wait()
	return took
}

// paced sends a scan every so often until ctx is done, over a few phones, and
// gives how many were recorded.
func (l *loaded) paced(ctx context.Context, b *testing.B, each time.Duration) int {
	ticks := make(chan struct{}, 1000)
	var all sync.WaitGroup
	var sent atomic.Int64
	for _, phone := range l.phones(b, 16, l.address) {
		all.Go(func() {
			for range ticks {
				if got, err := phone.post(l.scan()); err != nil || got != http.StatusOK {
					b.Errorf("answered %d %v", got, err)
					return
				}
				sent.Add(1)
			}
		})
	}
	start := time.Now()
	for n := 0; ctx.Err() == nil; time.Sleep(time.Millisecond) {
		for ; n < int(time.Since(start)/each); n++ {
			ticks <- struct{}{}
		}
	}
	close(ticks)
	all.Wait()
	return int(sent.Load())
}
