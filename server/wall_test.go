package server_test

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/heapprofiler"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/performance"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// screenHooks let a test move the page's clock on, reach its stream, and try
// to connect without waiting.
const screenHooks = `
window.skip = 0;
{ const now = Date.now; Date.now = () => now() + window.skip; }
{ const later = window.setTimeout; window.setTimeout = (f, ms) => later(f, window.hurry ? 0 : ms); }
window.EventSource = class extends EventSource {
  constructor(...a) { super(...a); window.stream = this; this.addEventListener('board', e => { if (e.isTrusted) window.last = e.data; if (window.came) window.came(); }); }
};`

// openScreen opens the wall in a browser of a screen's size.
func openScreen(t testing.TB, s *shop, width, height int64, path string) *phone {
	p := openPhone(t, s.url, 1280)
	p.do(chromedp.EmulateViewport(width, height), chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, cdpage.AddScriptToEvaluateOnNewDocument, cdpage.AddScriptToEvaluateOnNewDocumentParams{Source: screenHooks})
		return err
	}))
	p.open(path)
	p.await(`window.last`)
	return p
}

// busy is a shop with two jobs under way.
func busy(t *testing.T) *shop {
	s := serve(t)
	ctx := context.Background()
	for _, name := range []string{"Tern Point lockers", "Bench backs"} {
		job := shoptest.ListJob(t, s.bench, name, shoptest.FramesList, map[string]int{"Locker front": 2})
		for _, piece := range []string{"Rail 1", "Rail 2", "Stile 1"} {
			_, err := s.bench.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, piece, parts.Single), Station: "crosscut"})
			require.NoError(t, err)
		}
		_, err := s.bench.Hold(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, "Stile 2", parts.Single), Reason: "a knot"})
		require.NoError(t, err)
	}
	return s
}

func TestTheWallPutsTheJobsTogether(t *testing.T) {
	s := busy(t)
	_, body := get(t, s.url+"/wall")
	assert.Equal(t, 1, strings.Count(body, "<h2>At the crosscut saw</h2>"), "one card for both jobs")
	assert.Contains(t, body, "<i>· Bench backs</i>")
	assert.Equal(t, 2, strings.Count(body, ">held</span>"))
	assert.Contains(t, body, "</i><b>2</b> to look at")
	_, body = get(t, s.url+"/wall?job=bench-backs")
	assert.NotContains(t, body, "<i>· Bench backs</i>", "one job needs no name")
	assert.Equal(t, 1, strings.Count(body, ">held</span>"))
}

// A screen is read from 4 m: type of a thirtieth of its height or more, all of
// it in view in turn, nothing to scroll.
func TestTheWallFitsTheScreen(t *testing.T) {
	s := busy(t)
	for _, size := range [][2]int64{{1280, 720}, {1920, 1080}, {800, 1280}} {
		p := openScreen(t, s, size[0], size[1], "/wall?dark")
		assert.True(t, see[bool](p, `(e => e.scrollWidth <= innerWidth && e.scrollHeight <= innerHeight)(document.documentElement)`), size)
		small := see[[]string](p, `[...document.querySelectorAll('body *')].filter(e => e.checkVisibility() && [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()) && parseFloat(getComputedStyle(e).fontSize) < innerHeight / 30).map(e => e.outerHTML)`)
		assert.Empty(t, small, "too small to be read: %v", size)
		// What is higher than a column goes on in the next: each piece counts.
		const pieces = `[...document.querySelectorAll('.card, .row')].flatMap(e => [...e.getClientRects()])`
		const whole = pieces + `.map((r, i) => [i, r]).filter(([, r]) => r.left >= -1 && r.right <= innerWidth + 1 && r.top >= 0 && r.bottom <= innerHeight).map(([i]) => i)`
		seen := map[int]bool{}
		parts := see[string](p, `document.getElementById('page').hidden ? '1 / 1' : document.getElementById('part').textContent`)
		var pages int
		fmt.Sscanf(parts, "1 / %d", &pages)
		for n := 1; n <= pages; n++ {
			if n > 1 {
				p.do(chromedp.Evaluate[chromedp.Void](`void(skip += 10000)`))
				p.await(fmt.Sprintf(`document.getElementById('part').textContent === '%d / %d'`, n, pages))
			}
			for _, i := range see[[]int](p, whole) {
				seen[i] = true
			}
			p.picture(fmt.Sprintf("wall-%d-%d", size[0], n))
		}
		assert.Len(t, seen, see[int](p, pieces+".length"), "%v: not all of it came into view on %d parts", size, pages)
		if pages > 1 {
			p.press("#hold")
			p.do(chromedp.Evaluate[chromedp.Void](`void(skip += 60000)`))
			time.Sleep(1100 * time.Millisecond) // the page looks at its clock once a second
			assert.Equal(t, fmt.Sprintf("%d / %d", pages, pages), p.text("#part"), "held")
		}
	}
}

func TestTheWallSaysWhenItsPictureIsOld(t *testing.T) {
	s := busy(t)
	p := openScreen(t, s, 1280, 720, "/wall")
	require.True(t, see[bool](p, `document.getElementById('old').hidden`))
	p.offline(true)
	p.do(chromedp.Evaluate[chromedp.Void](`void(stream.dispatchEvent(new Event('error')), skip += 6000)`))
	p.await(`!document.getElementById('old').hidden`)
	assert.Contains(t, p.text("#old"), "Not connected. This is the picture of "+s.clock.Now().UTC().Format("15:04")+".")
	p.do(chromedp.Evaluate[chromedp.Void](`void(skip += 5 * 60000)`))
	p.await(`document.getElementById('old').innerText.includes(', 5 min old.')`)
	assert.True(t, see[bool](p, `(e => e.scrollHeight <= innerHeight)(document.documentElement)`))
	p.picture("wall-old")
	p.offline(false)
	p.await(`document.getElementById('old').hidden`)
	// A connection that dies without a word is noticed by its silence.
	p.do(chromedp.Evaluate[chromedp.Void](`void(window.dead = stream, skip += 80000)`))
	p.await(`window.dead.readyState === 2 && window.stream !== window.dead && document.getElementById('old').hidden`)
}

func TestTheWallLoadsItselfAgain(t *testing.T) {
	s := busy(t)
	p := openScreen(t, s, 1280, 720, "/wall")
	// send lets time pass and a picture come, at once: the page looks at its
	// clock by itself.
	send := func(later time.Duration, changed string) {
		p.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`void(window.mark = 1, skip += %d, stream.dispatchEvent(new MessageEvent('board', {data: last%s})))`, later.Milliseconds(), changed)))
	}
	loads := func(why string) {
		t.Helper()
		t.Log("loads: " + why)
		require.Eventually(t, func() bool { // between two pages nobody answers
			there, err := chromedp.Run(p.ctx, chromedp.Evaluate[bool](`window.mark === undefined && !!window.last`))
			return err == nil && there
		}, 30*time.Second, 20*time.Millisecond)
	}
	stays := func(why string) {
		t.Helper()
		time.Sleep(300 * time.Millisecond) // a load takes a tenth of it
		require.True(t, see[bool](p, `window.mark === 1`), why)
	}
	const other = `.replace(/data-version="[0-9a-f]+"/, 'data-version="0"')`
	send(0, other)
	stays("never twice in a minute")
	send(61*time.Second, "")
	stays("the same version")
	send(0, other)
	loads("another version")
	send(25*time.Hour, `.replace('id="cards">', 'id="cards">new ')`)
	stays("a day, but something has just changed")
	send(11*time.Minute, `.replace('id="cards">', 'id="cards">new ')`)
	loads("a day and ten quiet minutes")
	send(31*time.Hour, `.replace('id="cards">', 'id="cards">newer ')`)
	loads("a day that was never quiet")
}

// grown is what a page holds after the garbage was collected.
type grown struct{ heap, nodes, listeners float64 }

// holds measures the page when it is at rest: the picture before the last is
// let go only after the last was painted, so the least of a few looks counts.
func (p *phone) holds() grown {
	p.Helper()
	least := p.looks()
	for range 4 {
		promised[bool](p, `new Promise(r => requestAnimationFrame(() => requestAnimationFrame(() => r(true))))`)
		g := p.looks()
		least = grown{min(g.heap, least.heap), min(g.nodes, least.nodes), min(g.listeners, least.listeners)}
	}
	return least
}

func (p *phone) looks() grown {
	p.Helper()
	var g grown
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		if _, err := cdp.Call(ctx, tg, performance.Enable, performance.EnableParams{}); err != nil {
			return err
		}
		for range 3 {
			if _, err := cdp.Call(ctx, tg, heapprofiler.CollectGarbage, cdp.Empty{}); err != nil {
				return err
			}
		}
		r, err := cdp.Call(ctx, tg, performance.GetMetrics, cdp.Empty{})
		for _, m := range r.Metrics {
			switch m.Name {
			case "JSHeapUsedSize":
				g.heap = m.Value
			case "Nodes":
				g.nodes = m.Value
			case "JSEventListeners":
				g.listeners = m.Value
			}
		}
		return err
	}))
	return g
}

func (g grown) within(t *testing.T, before grown, what string) {
	t.Logf("%s: heap %.0f -> %.0f bytes, nodes %.0f -> %.0f, listeners %.0f -> %.0f", what, before.heap, g.heap, before.nodes, g.nodes, before.listeners, g.listeners)
	assert.LessOrEqual(t, g.heap, 1.1*before.heap, "%s: heap", what)
	assert.LessOrEqual(t, g.nodes, 1.1*before.nodes, "%s: nodes", what)
	assert.LessOrEqual(t, g.listeners, 1.1*before.listeners, "%s: listeners", what)
}

// With BENCHTALLY_TEST_WEEKS=1 it is driven as often as in weeks on the wall.
func TestTheWallDoesNotGrow(t *testing.T) {
	counts, connects := []int{250, 500}, 25
	s := busy(t)
	p := openScreen(t, s, 1280, 720, "/wall")
	if os.Getenv("BENCHTALLY_TEST_WEEKS") != "" {
		counts, connects = []int{10000, 100000}, 1000
		p.ctx = context.WithoutCancel(p.ctx) // longer than other tests
	}
	drive := func(n int) {
		for done := 0; done < n; done += 250 { // a new picture each time, and a breath between
			p.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`void((() => { for (let i = 0; i < 250; i++) stream.dispatchEvent(new MessageEvent('board', {data: last.replace('id="cards">', 'id="cards">' + (%d + i))})); })())`, 1000000+done)))
		}
	}
	drive(250)
	before := p.holds()
	for _, n := range counts {
		drive(n)
		p.holds().within(t, before, fmt.Sprintf("%d updates", n))
	}
	p.do(chromedp.Evaluate[chromedp.Void](`void(window.hurry = true)`))
	connect := func(n int) {
		for done := 0; done < n; done += 25 {
			require.Equal(t, 25, promised[int](p, `(async () => { let n = 0; while (n < 25) { await new Promise(r => { window.came = r; stream.dispatchEvent(new Event('error')); }); n++; } window.came = null; return n; })()`))
		}
	}
	connect(25)
	before, running := p.holds(), runtime.NumGoroutine()
	connect(connects)
	p.holds().within(t, before, fmt.Sprintf("%d connections", connects))
	require.Eventually(t, func() bool { return runtime.NumGoroutine() < running+30 }, 10*time.Second, 50*time.Millisecond, "the server keeps streams nobody reads")
}

// A number of two digits stays on one line; what frees first stands first, with
// how many; no part of the picture repeats one before it.
func TestTheWallSaysWhatFreesFirst(t *testing.T) {
	s := serve(t)
	ctx := context.Background()
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	for n, piece := range []string{"Rail 1", "Rail 2", "Stile 1"} {
		for _, station := range []parts.Station{"crosscut", "rip"} {
			_, err := s.bench.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, piece, parts.Single), Station: station})
			require.NoError(t, err)
		}
		s.clock.Pass(time.Duration(n+1) * time.Hour)
	}
	_, body := get(t, s.url+"/wall")
	assert.Regexp(t, `Rail: 1 from [^<]+, the last [^<]+<`, body)
	for _, size := range [][2]int64{{1280, 720}, {800, 480}} {
		p := openScreen(t, s, size[0], size[1], "/wall")
		assert.True(t, see[bool](p, `[...document.querySelectorAll('.n')].every(e => e.getClientRects().length === 1 && e.offsetHeight < 2 * parseFloat(getComputedStyle(e).fontSize))`))
		assert.True(t, see[bool](p, `(v => { const f = parseFloat(getComputedStyle(v).columnGap), n = (v.scrollWidth + f) / (v.clientWidth + f); return Math.abs(n - Math.round(n)) < .02; })(document.getElementById('cards'))`), "whole parts: the last repeats nothing")
	}
}
