package server_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// offline takes the network away, or brings it back.
func (p *phone) offline(off bool) {
	p.Helper()
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		if _, err := cdp.Call(ctx, tg, network.Enable, network.EnableParams{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, tg, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{DownloadThroughput: -1, UploadThroughput: -1, Offline: off}},
		})
		return err
	}))
}

// The network goes, twenty scans are made, the page is loaded again, and two
// of the scans turn out to be wrong. Each of the others is recorded once.
func TestTwentyScansWithoutANetwork(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.await(`navigator.serviceWorker.controller`) // it keeps the page by now
	p.press("#hands")
	p.offline(true)
	var marks []string
	for _, st := range job.States {
		if st.Kind == parts.Single && len(marks) < 20 {
			marks = append(marks, string(st.Part))
		}
	}
	scan := func(list []string) {
		for _, mark := range list {
			p.wedge(mark)
			p.await(`document.getElementById('last-text').textContent.includes('` + mark + `')`)
		}
	}
	scan(marks[:12])
	p.await(`document.getElementById('waiting').textContent === 'waiting 12'`)
	p.await(`!document.getElementById('signal').hidden && document.getElementById('signal').className === 'kept'`)
	p.screen("scan-kept")
	p.open("/scan") // without a network: the service worker has it
	p.await(`document.documentElement.dataset.ready === '1' && document.getElementById('waiting').textContent === 'waiting 12'`)
	p.await(`!document.getElementById('old').hidden`)
	assert.Contains(t, p.text("#old"), "Picture of")
	scan(marks[12:])
	p.await(`document.getElementById('waiting').textContent === 'waiting 20'`)
	n, _ := recordedOf(t, s, job.Job.Code)
	require.Zero(t, n)
	for _, mark := range []string{marks[3], marks[15]} { // stopped meanwhile, by somebody else
		_, err := s.bench.Hold(context.Background(), holding(mark))
		require.NoError(t, err)
	}
	p.offline(false)
	p.await(`document.getElementById('waiting').hidden`)
	p.await(`document.querySelectorAll('#settle-list li').length === 2`)
	assert.Equal(t, "2 to settle", p.text("#unsettled"))
	assert.Contains(t, p.text("#settle-list"), marks[3])
	assert.Contains(t, p.text("#settle-list"), marks[15])
	p.screen("scan-settle")
	doneOnce(t, s, job.Job.Code, marks, 3, 15)
	p.press("#settle-list li .quiet")
	p.await(`document.querySelectorAll('#settle-list li').length === 1`)
}

// What was scanned on plain HTTP is kept while the page is open, and outlives
// the page; a scan that never left the phone is taken back on the phone.
func TestTheQueueOutlivesThePage(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.press("#hands")
	p.offline(true)
	for n := 1; n <= 3; n++ {
		mark := named(t, s, job.Job.Code, fmt.Sprintf("Stile %d", n), parts.Single)
		p.wedge(mark)
		p.await(fmt.Sprintf(`document.getElementById('waiting').textContent === 'waiting %d'`, n))
		p.await(`document.getElementById('last-text').textContent.includes('` + mark + `, kept on this phone')`)
	}
	p.press("#undo") // the third was never sent
	p.await(`document.getElementById('waiting').textContent === 'waiting 2'`)
	require.Error(t, chromedp.Do(p.ctx, chromedp.Navigate(p.at+"/scan")), "no service worker without HTTPS")
	p.offline(false)
	p.startScan("/scan")
	p.await(`document.getElementById('waiting').hidden`)
	require.Eventually(t, func() bool { n, _ := recordedOf(t, s, job.Job.Code); return n == 2 }, 10*time.Second, 50*time.Millisecond)
	_, twice := recordedOf(t, s, job.Job.Code)
	require.Zero(t, twice)
}

// The server records a scan and its answer is lost on the way: the phone sends
// it again, and it is one scan.
func TestALostAnswerIsNoSecondScan(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	at, err := url.Parse(s.url)
	require.NoError(t, err)
	pass := httputil.NewSingleHostReverseProxy(at)
	var losing atomic.Bool
	losing.Store(true)
	weak := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/scan/do" && losing.Load() {
			pass.ServeHTTP(httptest.NewRecorder(), r) // it arrives
			panic(http.ErrAbortHandler)               // and the answer does not
		}
		pass.ServeHTTP(w, r)
	}))
	t.Cleanup(weak.Close)
	p := scanPhone(t, weak.URL, 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.press("#hands")
	p.wedge(named(t, s, job.Job.Code, "Stile 1", parts.Single))
	p.await(`document.getElementById('waiting').textContent === 'waiting 1'`)
	require.Eventually(t, func() bool { n, _ := recordedOf(t, s, job.Job.Code); return n == 1 }, 10*time.Second, 20*time.Millisecond)
	losing.Store(false)
	p.await(`document.getElementById('waiting').hidden`)
	n, twice := recordedOf(t, s, job.Job.Code)
	assert.Equal(t, 1, n)
	assert.Zero(t, twice)
	assert.Empty(t, p.text("#settle-list"))
	p.await(`document.getElementById('last-text').textContent.includes('Rough length')`)
}

// Two phones scan one part at once: it is done once, and the second is told.
func TestTwoPhonesOnOnePart(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	mark := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	one, two := scanPhone(t, plain(t, s), 390), scanPhone(t, plain(t, s), 390)
	for _, p := range []*phone{one, two} {
		p.open("/S/crosscut")
		p.startScan("/scan")
		p.wedge(mark)
		p.await(`document.querySelector('#act .main')`)
	}
	one.press("#act .main")
	one.await(`document.querySelector('#card .tally')`)
	two.press("#act .main") // it names the step that its page showed
	two.await(`document.getElementById('signal').className === 'seen' && document.querySelector('#card .say')`)
	assert.Contains(t, two.text("#card"), "rough length was done")
	two.screen("scan-already")
	n, twice := recordedOf(t, s, job.Job.Code)
	assert.Equal(t, 1, n)
	assert.Zero(t, twice)
}

// doneOnce checks that one step was recorded of each mark, and none of those
// at the given places of the list.
func doneOnce(t *testing.T, s *shop, job string, marks []string, not ...int) {
	done := map[string]int{}
	for _, st := range pieces(t, s, job).States {
		done[string(st.Part)] = len(st.Past)
	}
	for i, mark := range marks {
		want := 1
		if slices.Contains(not, i) {
			want = 0
		}
		assert.Equal(t, want, done[mark], "scan %d", i)
	}
}
