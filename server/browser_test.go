package server_test

import (
	"context"
	"log/slog"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/server"
)

// shop is a server with a shop of its own and a clock set by hand.
type shop struct {
	bench *bench.Bench
	clock *shoptest.Clock
	url   string
}

func serve(t testing.TB) *shop {
	clock := shoptest.NewClock()
	s := &shop{bench: shoptest.Open(t, clock), clock: clock}
	h, err := server.New(server.Config{Bench: s.bench, Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Demo: true})
	require.NoError(t, err)
	web := httptest.NewServer(h)
	t.Cleanup(func() {
		h.Close()
		web.CloseClientConnections()
		web.Close()
	})
	s.url = web.URL
	return s
}

// phone is a real browser of a phone's size.
type phone struct {
	testing.TB
	ctx context.Context
	at  string // the server
}

// openPhone starts a browser of the given width, 390 for a phone.
func openPhone(t testing.TB, at string, width int64) *phone {
	shoptest.NeedSQLite(t, "a page does not see which database it is drawn from")
	path, err := exec.LookPath("chromium")
	if err != nil {
		shoptest.SkipOrFail(t, "no chromium on this machine: the pages are not tried in a browser")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.Flag("headless", "new"), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("no-first-run", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true))
	ctx, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, close := chromedp.NewContext(ctx)
	t.Cleanup(func() { close(); stop() })
	p := &phone{TB: t, ctx: ctx, at: at}
	// The first call starts the browser: a deadline on it would end the browser.
	if width < 600 {
		p.do(chromedp.EmulateViewport(width, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	} else {
		p.do(chromedp.EmulateViewport(width, 900))
	}
	limited, cancel := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(cancel)
	p.ctx = limited
	return p
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	require.NoError(p, chromedp.Do(p.ctx, steps...))
}

// open goes to an address of the server.
func (p *phone) open(path string) {
	p.Helper()
	p.do(chromedp.Navigate(p.at + path))
}

// tap presses something that leads to another page, and waits for that page. A
// live page may have been drawn anew just as it was pressed: then it is pressed
// again.
func (p *phone) tap(selector string) {
	p.Helper()
	press := func() error {
		_, err := chromedp.RunResponse(p.ctx, chromedp.Click(chromedp.CSS(selector)))
		return err
	}
	err := press()
	if err != nil && strings.Contains(err.Error(), "Could not find node with given id") {
		err = press()
	}
	require.NoError(p, err)
}

// press presses something on the same page.
func (p *phone) press(selector string) {
	p.Helper()
	p.do(chromedp.Click(chromedp.CSS(selector)))
}

// write types into a field.
func (p *phone) write(selector, text string) {
	p.Helper()
	p.do(chromedp.SetValue(chromedp.CSS(selector), text))
}

// see asks the page something.
func see[T any](p *phone, js string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js))
	require.NoError(p, err)
	return v
}

// text is what a person reads.
func (p *phone) text(selector string) string {
	p.Helper()
	return see[string](p, `(document.querySelector(`+"`"+selector+"`"+`) || {innerText: ""}).innerText`)
}

// picture keeps what the page looks like, in the folder that BENCHTALLY_SHOTS
// names; without it nothing is kept.
func (p *phone) picture(name string) {
	p.Helper()
	dir := os.Getenv("BENCHTALLY_SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	require.NoError(p, err)
	require.NoError(p, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// fits checks that nothing sticks out of the page to the right, and that what
// a thumb has to hit is large enough.
func (p *phone) fits() {
	p.Helper()
	wide := see[[]string](p, `[...document.querySelectorAll('body *')].filter(e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1 && !e.closest('.scroll')).map(e => e.outerHTML.slice(0, 80))`)
	require.Empty(p, wide, "the page is wider than the screen")
	small := see[[]string](p, `[...document.querySelectorAll('main button, main .button')].filter(b => b.offsetParent && b.offsetHeight < 48).map(b => b.innerText)`)
	require.Empty(p, small, "buttons too low for a thumb")
}
