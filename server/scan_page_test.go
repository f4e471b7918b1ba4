package server_test

import (
	"bytes"
	"encoding/json"
	"image/jpeg"
	"math/rand/v2"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

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
	p.screen("scan-part")
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
	p.screen("scan-place")
	p.wedge("HTTP://OLD.ADDRESS/P/" + ticket + "\rHTTP://OLD.ADDRESS/P/" + ticket)
	p.await(`document.getElementById('count')`)
	assert.Equal(t, 1, see[int](p, `performance.getEntriesByType('resource').filter(e => e.name.includes('/scan/look')).length`), "the same label at once is one reading")
	assert.Equal(t, "48", see[string](p, `document.getElementById('count').value`))
	p.fits()
	p.screen("scan-ticket")
	p.press(".count button") // one less
	p.press("#act .main")
	p.await(`document.querySelector('#card .tally')`)
	assert.True(t, see[bool](p, `document.getElementById('signal').className === 'good'`))
	assert.Contains(t, p.text("#card"), "47 × Rough length")
	assert.Contains(t, p.text(".tally"), "47 of 48; 1 to go here")
	p.screen("scan-done")
	p.press("#undo")
	p.await(`document.getElementById('last-text').textContent.includes('Nothing scanned')`)
	n, _ := recordedOf(t, s, job.Job.Code)
	assert.Zero(t, n)
	p.do(chromedp.KeyEvent(named(t, s, job.Job.Code, "Stile 2", parts.Single))) // a scanner that sends no Enter
	p.await(`document.querySelector('#card').innerText.includes('Stile 2')`)
	p.open("/S/rip") // its cookie is the same phone's
	p.startScan("/scan")
	p.await(`document.getElementById('place').value === 'rip'`) // once the shop has answered
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
	p.screen("scan-320")
	p.write("#typed-mark", wrongMark(parts.ID(mark)))
	p.press("#typed button")
	p.await(`!document.getElementById('signal').hidden`)
	assert.Contains(t, p.text("#signal"), "a character is wrong")
	assert.Contains(t, p.text("#signal-do"), "Compare it with the label")
	p.fits()
	p.screen("scan-320-refused")
	p.press("#signal-on")
	p.await(`document.getElementById('signal').hidden`)
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
	p.screen("scan-fit")
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
	p.press("#hands")
	p.wedge(frame) // and they come off with one tap, early only with a word
	p.await(`document.querySelector('#act .early')`)
	assert.Contains(t, p.text("#act .early"), "Clamps off")
	assert.Contains(t, p.text("#act .early"), "Joint checked, clamps may come off, before")
	p.screen("scan-clamps-off")
	p.press("#act .early")
	p.await(`document.getElementById('last-text').textContent.includes('Clamps off')`)
	look, err := s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	assert.Equal(t, "setting", look.Stands)
	p.await(`document.getElementById('signal').hidden`)
	p.press("#undo")
	p.await(`document.getElementById('last-text').textContent === 'Nothing scanned yet.'`)
	look, err = s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	assert.Equal(t, "in clamps", look.Stands)
	p.press("#hands")
	p.wedge(named(t, s, job.Job.Code, "Shelf", parts.Single))
	p.await(`document.getElementById('signal').className === 'bad'`)
	assert.Contains(t, p.text("#signal"), "has no step of that kind")
	p.screen("scan-refused")
}

// What is put on a cart moves with one scan of the cart's tag.
func TestACart(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	added, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
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
	p.press("#hands") // off again: the cart is looked at first
	p.wedge(string(added.Mark))
	p.await(`document.getElementById('count')`)
	p.await(`document.getElementById('signal').hidden`)
	p.screen("scan-cart")
	p.press("#act .main")
	p.await(`document.getElementById('last-text').textContent.includes('Rough length')`)
	n, _ := recordedOf(t, s, job.Job.Code)
	assert.Contains(t, []int{5, 6}, n, "the five may or may not hold the one")
}
