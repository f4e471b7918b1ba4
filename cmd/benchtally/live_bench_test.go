package main

import (
	"bufio"
	"context"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// livePage is a page that stays open: it keeps the last picture it got.
type livePage struct {
	mu   sync.Mutex
	last string
	got  int
}

// follow reads pictures until the connection ends.
func (p *livePage) follow(resp *http.Response) {
	defer resp.Body.Close()
	lines := bufio.NewScanner(resp.Body)
	lines.Buffer(nil, 16<<20)
	var picture strings.Builder
	for lines.Scan() {
		if line := lines.Text(); line != "" {
			picture.WriteString(line + "\n")
			continue
		}
		p.mu.Lock()
		p.last, p.got = picture.String(), p.got+1
		p.mu.Unlock()
		picture.Reset()
	}
}

// picture gives the last picture, and which it was.
func (p *livePage) picture() (string, int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.last, p.got
}

// lets lets somebody in.
func (l *loaded) lets(b *testing.B) *http.Client {
	b.Helper()
	link := regexp.MustCompile(`http://\S+(/setup/[\w-]+)`).FindStringSubmatch(l.told)
	require.NotNil(b, link, l.told)
	jar, err := cookiejar.New(nil)
	require.NoError(b, err)
	browser := &http.Client{Jar: jar}
	resp, err := browser.PostForm(l.address+link[1], url.Values{"name": {"Ann"}, "password": {"three oak pegs"}, "phone": {"Office"}})
	require.NoError(b, err)
	resp.Body.Close()
	return browser
}

// watch opens so many live floors.
func (l *loaded) watch(ctx context.Context, b *testing.B, browser *http.Client, n int) []*livePage {
	b.Helper()
	var all []*livePage
	for range n {
		req, err := http.NewRequestWithContext(ctx, "GET", l.address+"/floor/stream", nil)
		require.NoError(b, err)
		resp, err := browser.Do(req)
		require.NoError(b, err)
		require.Equal(b, http.StatusOK, resp.StatusCode)
		p := &livePage{}
		all = append(all, p)
		go p.follow(resp)
	}
	return all
}

// BenchmarkLivePages sends a thousand scans a second to the real server for
// some seconds, without anybody watching and with 200 live pages of the floor
// open. "live-%" is what the pages cost: by how much the server's process used
// more of one core. At the end every page must show the last state, and all
// the same. It takes 2 x 8 seconds each time: ask for -benchtime 1x.
func BenchmarkLivePages(b *testing.B) {
	const lasts, watching = 8 * time.Second, 200
	for range b.N {
		l := loads(b, 2000)
		share := func() float64 {
			ctx, stop := context.WithTimeout(b.Context(), lasts)
			defer stop()
			was, start := l.cpu(), time.Now()
			sent := l.paced(ctx, b, time.Millisecond)
			took := time.Since(start)
			b.ReportMetric(float64(sent)/took.Seconds(), "changes/s")
			return 100 * (l.cpu() - was).Seconds() / took.Seconds()
		}
		alone := share()
		ctx, stop := context.WithCancel(b.Context())
		browser := l.lets(b)
		pages := l.watch(ctx, b, browser, watching)
		watched := share()
		time.Sleep(time.Second) // the last picture is on its way
		fresh := l.watch(ctx, b, browser, 1)[0]
		require.Eventually(b, func() bool { _, got := fresh.picture(); return got > 0 }, 5*time.Second, 10*time.Millisecond)
		want, _ := fresh.picture()
		pictures := 0
		for _, p := range pages {
			last, got := p.picture()
			require.Equal(b, want, last, "a page does not show what is so")
			pictures += got
		}
		stop()
		b.ReportMetric(alone, "scans-%")
		b.ReportMetric(watched-alone, "live-%")
		b.ReportMetric(float64(pictures)/watching/lasts.Seconds(), "pictures/s")
	}
	b.ReportMetric(0, "ns/op")
}
