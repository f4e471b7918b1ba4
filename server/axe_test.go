package server_test

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
	"benchtally/server"
)

// demo starts the program with its invented job and gives its address.
func demo(t *testing.T) string {
	shoptest.NeedSQLite(t, "a page does not see which database it is drawn from")
	if _, err := exec.LookPath("chromium"); err != nil {
		shoptest.SkipOrFail(t, "no chromium on this machine: nothing looks for barriers in the pages")
	}
	program := filepath.Join(t.TempDir(), "benchtally")
	out, err := exec.Command("go", "build", "-o", program, "../cmd/benchtally").CombinedOutput()
	require.NoError(t, err, string(out))
	run := exec.Command(program, "demo", "-addr", "127.0.0.1:0")
	told, err := run.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, run.Start())
	t.Cleanup(func() {
		run.Process.Signal(os.Interrupt)
		run.Wait()
	})
	lines := bufio.NewScanner(told)
	for lines.Scan() {
		if at := regexp.MustCompile(`http://127\.0\.0\.1:\d+`).FindString(lines.Text()); at != "" {
			go io.Copy(io.Discard, told)
			return at
		}
	}
	t.Fatal("the demo did not say where it is")
	return ""
}

// walk gives an address for every page that a browser may open, from the
// router: a new one without a case here fails.
func walk(t *testing.T, at string) []string {
	all := marksOf(t, at)
	with := func(format string, values ...string) []string {
		var out []string
		for _, v := range values {
			out = append(out, fmt.Sprintf(format, v))
		}
		return out
	}
	cases := map[string][]string{
		"/find":                      with("/find?mark=%s", all[0]),
		"/P/:mark":                   append(with("/P/%s", all...), "/P/ZZZZ"),
		"/P/:mark/:second":           nil, // the same page
		"/P/:mark/signed":            with("/P/%s/signed", all[0]),
		"/P/:mark/label":             with("/P/%s/label", labelled(t, at, all)),
		"/p/:mark":                   nil,
		"/S/:station":                with("/S/%s", "crosscut", "glue", "topcoat"),
		"/jobs/:code":                {"/jobs/TERN-POINT-LOCKERS"},
		"/labels/:order":             {"/labels/1"},
		"/steps/:key":                with("/steps/%s", "frame", "new"),
		"/W/:person":                 {"/W/1"},
		"/setup/:code":               nil, // good once: see the tests of signing in
		"/join/:code":                nil,
		"/screen/:code":              nil,
		"/finish/mixes/:key":         with("/finish/mixes/%s", "locker-brown", "hard-clear"),
		"/finish/batches/:number":    with("/finish/batches/%s", "1", "4"),
		"/scan/files/:version/*file": nil,
		"/static/*file":              nil,
		"/photos/:name":              nil,
		"/phones/joins/:code":        nil, // a sentence for the page that asked
		"/wall":                      with("/wall?%s", "light", "dark"),
		"/scan":                      with("/scan?lang=%s", "de", "en"),
		"/patterns":                  with("/patterns%s", "", "?length=34+1/2"),
		"/labels/calibration":        {"/labels/calibration", "/labels/calibration?sheet=roll-62x29"},
	}
	var out []string
	for _, pattern := range addresses(t) {
		named, known := cases[pattern]
		switch {
		case known:
			out = append(out, named...)
		case strings.HasPrefix(pattern, "/api/"), path.Ext(pattern) != "", strings.HasSuffix(pattern, "/stream"):
		case strings.ContainsAny(pattern, ":*"):
			assert.Fail(t, "a page without a case here", pattern)
		case isPage(t, at+pattern):
			out = append(out, pattern)
		}
	}
	return out
}

// labelled gives the first of the marks that has a label.
func labelled(t *testing.T, at string, marks []string) string {
	for _, m := range marks {
		if status, _ := get(t, at+"/P/"+m+"/label"); status == http.StatusOK {
			return m
		}
	}
	t.Fatal("no mark of the demo has a label")
	return ""
}

// addresses are the patterns of the router.
func addresses(t *testing.T) []string {
	h, err := server.New(server.Config{Bench: shoptest.Open(t, shoptest.NewClock()), Log: slog.New(slog.DiscardHandler)})
	require.NoError(t, err)
	defer h.Close()
	return h.Addresses()
}

// isPage reports whether an address is for people.
func isPage(t *testing.T, address string) bool {
	res, err := http.Get(address)
	require.NoError(t, err)
	res.Body.Close()
	return strings.HasPrefix(res.Header.Get("Content-Type"), "text/html")
}

// marksOf gives marks of each kind in each state that the demo has: those of
// the floor's first two stations, of its waits and exceptions, and of a cart.
func marksOf(t *testing.T, at string) []string {
	mark := regexp.MustCompile(`href="/P/([0-9A-Z]+)"`)
	var out []string
	take := func(html string, most int) {
		for _, m := range mark.FindAllStringSubmatch(html, most) {
			if !slices.Contains(out, m[1]) {
				out = append(out, m[1])
			}
		}
	}
	_, floor := get(t, at+"/")
	take(floor, 2)
	for _, part := range strings.Split(floor, `class="tag `)[1:] {
		take(part, 1)
	}
	if _, after, found := strings.Cut(floor, `class="rows waits"`); found {
		take(after, 2)
	}
	_, carts := get(t, at+"/carts")
	take(carts, 1)
	require.Greater(t, len(out), 5)
	return out
}

// shade sets the browser to light or dark.
func (p *phone) shade(scheme string) {
	p.Helper()
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// promised asks the page something that takes a while.
func promised[T any](p *phone, js string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	require.NoError(p, err)
	return v
}

// Whatever is folded away is looked at too.
const unfold = `document.querySelectorAll('details').forEach(d => { d.open = true; })`

// barriers runs axe over the page: everything that WCAG 2.2 asks for at level
// AA, or in the other shade only what colour can break.
const barriers = `axe.run({runOnly: {type: %s}, resultTypes: ['violations']}).then(r => r.violations.flatMap(v => v.nodes.map(n => v.id + ': ' + n.target + ' ' + n.html.slice(0, 160) + ' ' + n.failureSummary.split('\n').slice(1, 2))))`

// low lists what is to be pressed on a page and is lower than the given
// pixels. A link in a sentence is none of it, and a box to tick is as large as
// its label.
const low = `[...document.querySelectorAll('%[1]s')].filter(e => e.checkVisibility() && e.type !== 'hidden').map(e => /checkbox|radio|file/.test(e.type) ? e.closest('label') || e : e).filter(e => e.getBoundingClientRect().height < %[2]d - .5 && e.getBoundingClientRect().width > 1).map(e => e.getBoundingClientRect().height + ' ' + e.outerHTML.slice(0, 140))`

const controls = `button, .button, input, select, textarea, summary, nav a, .list li > a:first-child, .station h2 a, .list .side, .here a, .home`

// noBarrier judges the page that is open, in light and in dark.
func (p *phone) noBarrier(name string) {
	p.Helper()
	script, err := os.ReadFile("../testdata/axe/axe.min.js")
	require.NoError(p, err)
	sum := sha256.Sum256(script)
	note, err := os.ReadFile("../testdata/axe/README.txt")
	require.NoError(p, err)
	require.Contains(p, string(note), hex.EncodeToString(sum[:]))
	p.do(chromedp.Evaluate[chromedp.Void](`void(`+unfold+`)`), chromedp.Evaluate[chromedp.Void](string(script)+";void 0"))
	p.shade("light")
	for _, b := range promised[[]string](p, fmt.Sprintf(barriers, `'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']`)) {
		p.Errorf("%s: %s", name, b)
	}
	p.shade("dark")
	for _, b := range promised[[]string](p, fmt.Sprintf(barriers, `'rule', values: ['color-contrast', 'link-in-text-block']`)) {
		p.Errorf("%s, dark: %s", name, b)
	}
	if strings.HasPrefix(name, "/scan") || strings.HasPrefix(name, "/wall") {
		return // their own tests measure them
	}
	for _, e := range see[[]string](p, fmt.Sprintf(low, controls, 44)) {
		p.Errorf("%s: lower than 44 px: %s", name, e)
	}
	if regexp.MustCompile(`^/($|P/[^/]+$|S/|stations|carts)`).MatchString(name) {
		for _, e := range see[[]string](p, fmt.Sprintf(low, "main button, main .button", 64)) {
			p.Errorf("%s: lower than 64 px: %s", name, e)
		}
	}
}

// Sources: axe-core for the rules of WCAG 2.2 AA, see testdata/axe; 44 px is
// WCAG's success criterion 2.5.5; 64 px for dusty hands is common practice, no
// source.
func TestNoPageHasABarrier(t *testing.T) {
	at := demo(t)
	p := openPhone(t, at, 390)
	p.ctx = context.WithoutCancel(p.ctx) // there are many pages
	look := p.noBarrier
	pages := walk(t, at)
	require.Greater(t, len(pages), 30)
	for _, page := range pages {
		p.open(page)
		require.Equal(t, page == "/P/ZZZZ", see[bool](p, `!!document.querySelector('.page-problem')`), "%s: the demo has no such thing", page)
		look(page)
		p.picture("barrier-dark" + strings.NewReplacer("/", "-", "?", "-", "=", "").Replace(page))
	}
	p.answers(at, look)
}

// answers looks at what a tap leads to: a step that is done, and one that is
// refused.
func (p *phone) answers(at string, look func(string)) {
	p.open("/S/crosscut")
	p.tap(".here-now a")
	p.tap("form.offer .main")
	p.await(`document.querySelector('.did')`)
	look("/P/done")
	p.open("/list")
	p.do(chromedp.Evaluate[chromedp.Void](`void(document.querySelector('[name=job]').value = 'Benches', document.querySelector('textarea').value = 'Part,Qty,Length\nRail,x,10', document.querySelector('textarea').form.requestSubmit())`))
	p.await(`location.pathname !== '/list'`)
	look("/list/preview")
}

// The narrowest screen that WCAG's success criterion 1.4.10 names.
func TestNoPageScrollsSideways(t *testing.T) {
	at := demo(t)
	p := openPhone(t, at, 320)
	p.ctx = context.WithoutCancel(p.ctx)
	for _, page := range walk(t, at) {
		p.open(page)
		p.do(chromedp.Evaluate[chromedp.Void](`void(` + unfold + `)`))
		wide := see[[]string](p, `document.documentElement.scrollWidth <= 320 && document.documentElement.clientWidth === 320 ? [] : [...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > 321 && !e.closest('.scroll')).map(e => e.outerHTML.slice(0, 120)).concat('' + document.documentElement.scrollWidth)`)
		assert.Empty(t, wide, page)
	}
}
