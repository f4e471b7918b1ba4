package server_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image/jpeg"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// plain is the address of the shop by a name, over plain HTTP: no camera and
// no service worker there.
func plain(t testing.TB, s *shop) string {
	u, err := url.Parse(s.url)
	require.NoError(t, err)
	return "http://shop.lan:" + u.Port()
}

// later asks the page something that takes time.
func later[T any](p *phone, js string) T {
	p.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	require.NoError(p, err)
	return v
}

// wedge types like a scanner that is plugged in.
func (p *phone) wedge(text string) {
	p.Helper()
	p.do(chromedp.KeyEvent(text + "\r"))
}

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

// module is the address of one of the page's scripts.
func (p *phone) module(name string) string {
	return see[string](p, `document.querySelector('script[type=module]').src.replace('scan.js', '`+name+`')`)
}

// The check of a mark is computed in the page as well. It is compared with Go's
// on thousands of marks and slips, and with examples of the standard: the
// blood-donation number form (ISO/IEC 7064 MOD 37-2) and open number libraries.
func TestThePageChecksMarksAsTheServerDoes(t *testing.T) {
	s, _ := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 390)
	p.startScan("/scan")
	for text, want := range map[string]string{"G123489654321": "Y", "P001": "6", "A123456789": "J"} {
		got := later[string](p, `import('`+p.module("mark.js")+`').then(m => m.checkCharacter('`+text+`'))`)
		assert.Equal(t, want, got, text)
	}
	random := rand.New(rand.NewPCG(1, 2))
	texts := []string{"", " ", "P", "/P/", "/P/2/", "10-1s", "1O1S", "lOl5", "https://x/p/101s", "HTTP://X/P/3/101S?a=b#c", "HTTP://X/Q/101S", "HTTP://X/P/x/101S", "101S/", "*01S", "١٠١S"}
	for range 1500 {
		id, _ := parts.NextMark(random.Int64N(1 << 40))
		texts = append(texts, string(id))
		slip := []byte(id)
		slip[random.IntN(len(slip))] = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ -"[random.IntN(38)]
		texts = append(texts, string(slip), "HTTP://10.0.0.9:8080/P/"+string(slip), "http://shop.lan/p/2/"+strings.ToLower(string(id)))
	}
	list, err := json.Marshal(texts)
	require.NoError(t, err)
	got := later[[]string](p, `import('`+p.module("mark.js")+`').then(m => `+string(list)+`.map(t => { const r = m.readCode(t); return r.mark || r.why; }))`)
	require.Len(t, got, len(texts))
	good := 0
	for i, text := range texts {
		id, err := parts.ParseMark(text)
		want := string(id)
		if err != nil {
			want = strings.TrimPrefix(parts.CodeOf(err), "mark-")
		} else {
			good++
		}
		assert.Equal(t, want, got[i], "%q", text)
	}
	assert.Greater(t, good, 3000)
}

// What a scanner types that is set to another keyboard is read as well. The
// texts are what the keys of a United States board give on a German and a
// Spanish one; from memory.
func TestAScannerWithAnotherKeyboard(t *testing.T) {
	s, _ := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 390)
	p.startScan("/scan")
	with := func(letter string) string {
		for n := parts.FirstSerial; ; {
			var id parts.ID
			if id, n = parts.NextMark(n); strings.Contains(string(id), letter) {
				return string(id)
			}
		}
	}
	y := with("Y")
	tests := map[string]string{
		"HTTPÖ--192.168.1.20Ö8080-P-101S":                                         "101S",
		"HTTPÖ--192.168.1.20Ö8080-P-2-101S":                                       "101S",
		"HTTPÑ--SHOP.LAN-P-101S":                                                  "101S",
		"HTTPÖ--SHOP.LAN-P-" + strings.NewReplacer("Y", "Z", "Z", "Y").Replace(y): y,
		"HTTPÖ--192.168.1.20Ö8080-S-BORE":                                         "bore",
		"http://192.168.1.20:8080/S/BORE":                                         "bore",
		"HTTPÖ--192.168.1.20Ö8080-Q-101S":                                         "unreadable",
		"HTTPÖ--192.168.1.20Ö8080-P-" + wrongMark(parts.ID("101S")):               "unreadable",
	}
	for text, want := range tests {
		quoted, err := json.Marshal(text)
		require.NoError(t, err)
		got := later[string](p, `import('`+p.module("mark.js")+`').then(m => { const r = m.readCode(`+string(quoted)+`); return r.mark || r.place || r.why; })`)
		assert.Equal(t, want, got, text)
	}
}

func TestAPhotoOverPlainHTTP(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	mark := named(t, s, job.Job.Code, "Stile 7", parts.Single)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	require.False(t, see[bool](p, `isSecureContext`))
	require.True(t, see[bool](p, `document.getElementById('camera').hidden`))
	photo := filepath.Join(t.TempDir(), "label.jpg")
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, labelPicture(t, 4032, 3024, 20, "HTTP://192.168.1.20:8080/P/"+mark), &jpeg.Options{Quality: 85}))
	require.NoError(t, os.WriteFile(photo, out.Bytes(), 0o644))
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{photo}))
	p.await(`document.querySelector('#act .main')`)
	assert.Contains(t, p.text("#card"), "Stile 7")
	p.picture("scan-part")
	p.press("#act .main")
	p.await(`document.querySelector('#card .tally')`)
	assert.Contains(t, p.text(".tally"), "1 of 48; 47 to go here")
	require.NoError(t, os.WriteFile(photo, []byte("no picture"), 0o644))
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#photo"), []string{photo}))
	p.await(`document.getElementById('signal').className === 'bad' && !document.getElementById('signal').hidden`)
	assert.Contains(t, p.text("#signal"), "No code")
}

// A ticket is read by a scanner: the count is there, is lowered, and one tap
// moves it. The last scan stays in view and is taken back with one tap.
func TestATicketByAScanner(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	ticket := named(t, s, job.Job.Code, "Stile", parts.Ticket)
	p := scanPhone(t, plain(t, s), 390)
	p.startScan("/scan")
	p.wedge("HTTP://192.168.1.20:8080/S/CROSSCUT")
	p.await(`document.getElementById('place').value === 'crosscut'`)
	p.picture("scan-place")
	p.wedge("HTTP://OLD.ADDRESS/P/" + ticket)
	p.await(`document.getElementById('count')`)
	assert.Equal(t, "48", see[string](p, `document.getElementById('count').value`))
	p.fits()
	p.picture("scan-ticket")
	p.press(".count button") // one less
	p.press("#act .main")
	p.await(`document.querySelector('#card .tally')`)
	assert.True(t, see[bool](p, `document.getElementById('signal').className === 'good'`))
	assert.Contains(t, p.text("#card"), "47 × Rough length")
	assert.Contains(t, p.text(".tally"), "47 of 48; 1 to go here")
	p.picture("scan-done")
	p.press("#undo")
	p.await(`document.getElementById('last-text').textContent.includes('Nothing scanned')`)
	n, _ := recordedOf(t, s, job.Job.Code)
	assert.Zero(t, n)
	p.open("/S/rip") // its cookie is the same phone's
	p.startScan("/scan")
	assert.Equal(t, "rip", see[string](p, `document.getElementById('place').value`))
}

func TestATypedMarkAndItsSlip(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	mark := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	p := scanPhone(t, plain(t, s), 320)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.fits()
	p.press("#type-way")
	p.write("#typed-mark", strings.ToLower(mark))
	p.press("#typed button")
	p.await(`document.querySelector('#act .main')`)
	p.fits()
	p.picture("scan-320")
	p.write("#typed-mark", wrongMark(parts.ID(mark)))
	p.press("#typed button")
	p.await(`!document.getElementById('signal').hidden`)
	assert.Contains(t, p.text("#signal"), "a character is wrong")
	assert.Contains(t, p.text("#signal-do"), "Compare it with the label")
	p.fits()
	p.picture("scan-320-refused")
	p.press("#signal-on")
	p.await(`document.getElementById('signal').hidden`)
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
	p.picture("scan-kept")
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
	p.picture("scan-settle")
	j := pieces(t, s, job.Job.Code)
	done := map[string]int{}
	for _, st := range j.States {
		done[string(st.Part)] = len(st.Past)
	}
	for i, mark := range marks {
		want := 1
		if i == 3 || i == 15 {
			want = 0
		}
		assert.Equal(t, want, done[mark], "scan %d", i)
	}
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
	two.picture("scan-already")
	n, twice := recordedOf(t, s, job.Job.Code)
	assert.Equal(t, 1, n)
	assert.Zero(t, twice)
}

// A frame is scanned, then what lies on the bench, then fitted; then the
// clamps go on with one reading.
func TestADryFitAndClamps(t *testing.T) {
	s, job := scanShop(t, shoptest.FramesList)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	finishParts(t, s, job)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/glue")
	p.startScan("/scan")
	p.press("#modes button[value=fit]")
	p.wedge(frame)
	p.await(`document.querySelector('#card h2')`)
	bench := []string{named(t, s, job.Job.Code, "Stile 2", parts.Single), named(t, s, job.Job.Code, "Rail 3", parts.Single)}
	for _, mark := range bench {
		p.wedge(mark)
		p.await(`document.querySelector('.bench') && document.querySelector('.bench').textContent.includes('` + mark + `')`)
	}
	p.picture("scan-fit")
	p.fits()
	p.await(`document.getElementById('signal').hidden`)
	p.press("#act .main")
	p.await(`document.getElementById('last-text').textContent.includes('Dry fit')`)
	j := pieces(t, s, job.Job.Code)
	for _, st := range j.States {
		if string(st.Part) == frame {
			for _, mark := range bench {
				assert.Contains(t, st.Parts, parts.ID(mark))
			}
		}
	}
	p.press("#modes button[value=clamps]")
	p.press("#hands")
	p.wedge(frame)
	p.await(`document.getElementById('last-text').textContent.includes('clamps on')`)
	p.wedge(bench[0]) // a part of it stands for it
	p.await(`document.getElementById('signal').className === 'seen'`)
	assert.Contains(t, p.text("#card"), "clamps on was done")
	p.wedge(named(t, s, job.Job.Code, "Shelf", parts.Single))
	p.await(`document.getElementById('signal').className === 'bad'`)
	assert.Contains(t, p.text("#signal"), "has no step of that kind")
	p.picture("scan-refused")
}

// What is put on a cart moves with one scan of the cart's tag.
func TestACart(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	added, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "")
	require.NoError(t, err)
	one, ticket := named(t, s, job.Job.Code, "Stile 1", parts.Single), named(t, s, job.Job.Code, "Stile", parts.Ticket)
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/crosscut")
	p.startScan("/scan")
	p.press("#modes button[value=load]")
	p.wedge(one)
	p.await(`document.getElementById('signal').className === 'bad'`)
	assert.Contains(t, p.text("#signal"), "is no cart")
	p.press("#signal-on")
	p.wedge(string(added.Mark))
	p.await(`document.querySelector('#card').innerText.includes('Cart 1')`)
	p.press("#hands")
	p.wedge(one)
	p.await(`document.getElementById('last-text').textContent.includes('On the cart')`)
	p.await(`document.getElementById('signal').hidden`)
	p.wedge(ticket) // of a ticket somebody has to say how many
	p.await(`document.getElementById('count')`)
	p.write("#count", "5")
	p.press("#act .main")
	p.await(`document.getElementById('last-text').textContent.includes('5 ×')`)
	p.press("#modes button[value=work]")
	p.wedge(string(added.Mark))
	p.await(`document.getElementById('count')`)
	p.await(`document.getElementById('signal').hidden`)
	p.picture("scan-cart")
	p.press("#act .main")
	p.await(`document.getElementById('last-text').textContent.includes('Rough length')`)
	n, _ := recordedOf(t, s, job.Job.Code)
	assert.Contains(t, []int{5, 6}, n, "the five may or may not hold the one")
}

// In German, and in the dark: everything fits, and nothing of it is English.
func TestTheScanningPageInGermanAndInTheDark(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	ticket := named(t, s, job.Job.Code, "Stile", parts.Ticket)
	p := scanPhone(t, s.url, 320)
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: "dark"}}})
		return err
	}))
	p.open("/S/crosscut")
	p.startScan("/scan?lang=de")
	p.fits()
	for _, word := range []string{"Foto machen", "Freihändig", "Hier gebraucht"} {
		assert.Contains(t, p.text("body"), word)
	}
	p.wedge(ticket)
	p.await(`document.getElementById('count')`)
	assert.Contains(t, p.text("#card"), "Laufzettel")
	p.fits()
	p.picture("scan-de-dark")
	p.offline(true)
	p.press("#act .main")
	p.await(`document.getElementById('waiting').textContent === '1 wartet'`)
	p.offline(false)
	p.await(`document.getElementById('waiting').hidden`)
	p.startScan("/scan")
	assert.Contains(t, p.text("body"), "Foto machen", "the language is remembered")
}

// Source: WCAG 2.2, success criteria 1.4.3 and 1.4.11, with their formula; the
// check values of the formula are W3C's and known pairs.
func TestTheScanningPageCanBeSeen(t *testing.T) {
	assert.InDelta(t, 21, contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)"), .005)
	assert.InDelta(t, 4.478, contrast("rgb(119, 119, 119)", "rgb(255, 255, 255)"), .005)
	assert.InDelta(t, 3.998, contrast("rgb(255, 0, 0)", "rgb(255, 255, 255)"), .005)
	s, _ := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 390)
	p.startScan("/scan")
	for _, scheme := range []string{"light", "dark"} {
		p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
			_, err := cdp.Call(ctx, tg, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			return err
		}))
		colour := func(name string) string {
			return see[string](p, `(() => { const e = document.createElement('i'); e.style.color = 'var(--`+name+`)'; document.body.append(e); const c = getComputedStyle(e).color; e.remove(); return c; })()`)
		}
		for _, ground := range []string{"paper", "sheet"} {
			for _, text := range []string{"ink", "graphite", "go", "wait", "stop"} {
				assert.GreaterOrEqual(t, contrast(colour(text), colour(ground)), 4.5, "%s: %s on %s", scheme, text, ground)
			}
			assert.GreaterOrEqual(t, contrast(colour("edge"), colour(ground)), 3.0, "%s: the edge of a field on %s", scheme, ground)
		}
		for _, kind := range []string{"good", "bad", "kept", "seen"} {
			ground := see[string](p, `(() => { const e = document.getElementById('signal'); e.className = '`+kind+`'; return getComputedStyle(e).backgroundColor; })()`)
			assert.GreaterOrEqual(t, contrast("rgb(255, 255, 255)", ground), 4.5, kind)
		}
	}
	small := see[[]string](p, `[...document.querySelectorAll('button, a, select, label.button')].filter(e => e.offsetParent && e.offsetHeight < 64).map(e => e.outerHTML)`)
	assert.Empty(t, small, "targets below 64 px")
	assert.GreaterOrEqual(t, see[int](p, `document.querySelector('.ways .main').offsetHeight`), 96)
}

// contrast is the ratio of two colours as a browser writes them.
func contrast(a, b string) float64 {
	light := func(colour string) float64 {
		var rgb [3]float64
		fmt.Sscanf(colour, "rgb(%f, %f, %f)", &rgb[0], &rgb[1], &rgb[2])
		for i, v := range rgb {
			if v /= 255; v <= .03928 {
				rgb[i] = v / 12.92
			} else {
				rgb[i] = math.Pow((v+.055)/1.055, 2.4)
			}
		}
		return .2126*rgb[0] + .7152*rgb[1] + .0722*rgb[2]
	}
	x, y := light(a), light(b)
	return (max(x, y) + .05) / (min(x, y) + .05)
}
