package server_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// choose presses the button that says the words.
func (p *phone) choose(words string) {
	p.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll('#card button, #act button')].find(b => b.offsetParent && b.innerText.includes(%q))`, words)
	p.await(find)
	p.await(`document.getElementById('signal').hidden`)
	see[bool](p, `((b) => { b.scrollIntoView({block: 'center'}); b.click(); return true; })(`+find+`)`)
}

// lastIs waits until the last thing in view is the one named.
func (p *phone) lastIs(words string) {
	p.Helper()
	p.await(fmt.Sprintf(`document.getElementById('last-text').textContent.includes(%q)`, words))
}

// A scanned stile, something is off, a hole, which one: three taps. The photo
// goes along, smaller than it was taken.
func TestReworkInThreeTaps(t *testing.T) {
	s, job := boredShop(t)
	stile := named(t, s, job.Job.Code, "Stile 1", parts.Single)
	p := scanPhone(t, s.url, 390)
	p.open("/S/bore")
	p.startScan("/scan")
	p.wedge(stile)
	p.choose("Something is off")
	p.fits()
	p.screen("scan-off")
	p.choose("Hole off")
	p.await(`document.querySelectorAll('.sketch .flag').length === 5`)
	p.targets()
	photo := filepath.Join(t.TempDir(), "hole.jpg")
	require.NoError(t, os.WriteFile(photo, jpegPicture(t), 0o644))
	stood := see[float64](p, `scrollY`)
	p.do(chromedp.SetUploadFiles(chromedp.CSS("#act input[type=file]"), []string{photo}))
	p.await(`document.querySelector('#act label').innerText.includes('Photo is there')`)
	assert.Equal(t, stood, see[float64](p, `scrollY`), "the page jumped")
	p.screen("scan-hole")
	p.press(`.sketch [aria-label="2 right end, hole 2"]`)
	p.lastIs("Stile 1")
	p.await(`document.querySelector('#card h2.good')`)
	p.await(`document.getElementById('signal').hidden`)
	assert.Contains(t, p.text("#card"), "Hole 2, right end, plugged, with photo, Stile 1")
	assert.Contains(t, p.text("#card"), "Next: trim flush, bore again")
	p.screen("scan-mended")
	events, err := s.bench.Events(t.Context(), stile)
	require.NoError(t, err)
	last := events[len(events)-1]
	assert.Equal(t, "right end, hole 2", last.Detail.Spot)
	assert.NotEmpty(t, last.Detail.Photo)
	p.press("#undo")
	p.lastIs("Nothing scanned")

	p.wedge(named(t, s, job.Job.Code, "Stile 2", parts.Single))
	p.choose("Something is off")
	p.choose("Tear-out")
	p.await(`document.querySelectorAll('.sketch .side').length === 5`)
	p.targets()
	p.screen("scan-side")
	p.do(chromedp.EmulateViewport(844, 390, chromedp.EmulateMobile, chromedp.EmulateTouch)) // the phone is turned
	p.await(`document.querySelector('.sketch svg').clientWidth > 500`)
	p.targets()
	p.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.await(`document.querySelector('.sketch svg').clientWidth < 390`)
	p.press(`.sketch [aria-label="far edge"]`)
	p.lastIs("Tear-out")
	assert.Contains(t, spotOf(t, s, named(t, s, job.Job.Code, "Stile 2", parts.Single)), "far edge")

	p.wedge(named(t, s, job.Job.Code, "Rail 2", parts.Single)) // without a pattern: the usual holes, on a picture all the same
	p.choose("Something is off")
	p.choose("Hole off: plugged it")
	p.await(`document.querySelectorAll('.sketch .flag').length === 6`)
	p.targets()
}

func spotOf(t *testing.T, s *shop, mark string) string {
	events, err := s.bench.Events(t.Context(), mark)
	require.NoError(t, err)
	return events[len(events)-1].Detail.Spot
}

// targets checks that every place of a picture has a thumb's room of its own.
func (p *phone) targets() {
	p.Helper()
	p.fits()
	small := see[[]string](p, `[...document.querySelectorAll('.sketch button')].filter(b => b.offsetHeight < 60 || b.offsetWidth < 60).map(b => b.outerHTML)`)
	assert.Empty(p, small, "places too small for a thumb")
	over := see[[]string](p, `(() => { const all = [...document.querySelectorAll('.sketch button')], out = [];
		all.forEach((a, i) => all.slice(i + 1).forEach(b => { const x = a.getBoundingClientRect(), y = b.getBoundingClientRect();
			if (Math.min(x.right, y.right) - Math.max(x.left, y.left) > 1 && Math.min(x.bottom, y.bottom) - Math.max(x.top, y.top) > 1) out.push(a.ariaLabel + ' over ' + b.ariaLabel); }));
		return out; })()`)
	assert.Empty(p, over, "places on top of each other")
}

// A spare, a remake, a hold, a cart, a split and a label, each within three
// taps of the scan.
func TestTheOtherTapsOfAPiece(t *testing.T) {
	s, job := boredShop(t)
	_, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
	require.NoError(t, err)
	code := job.Job.Code
	p := scanPhone(t, plain(t, s), 320)
	p.open("/S/bore")
	p.startScan("/scan")
	deeds := []struct {
		piece string
		taps  []string
		last  string
		kind  parts.EventKind
	}{
		{"Stile 1", []string{"Something is off", "Spoiled", "Use the spare"}, "Spare used", parts.Scrapped},
		{"Stile 2", []string{"Something is off", "Cut short", "Remake it"}, "To be made again", parts.Scrapped},
		{"Stile 3", []string{"Something is off", "Hold it", "Check the size"}, "Held", parts.Held},
		{"Stile 3", []string{"Something is off", "Go on with it"}, "Goes on", parts.Released},
		{"Stile 4", []string{"Cart, label", "Put it on a cart", "Cart 1"}, "On the cart", parts.Carted},
		{"Stile 4", []string{"Cart, label", "Off the cart"}, "Off the cart", parts.Carted},
		{"Rail 1", []string{"Cart, label", "Print its label"}, "Label in the queue", parts.LabelWaits},
	}
	for n, d := range deeds {
		mark := named(t, s, code, d.piece, parts.Single)
		if d.kind == parts.LabelWaits {
			printLabel(t, s, code, mark)
		}
		if n == 0 || deeds[n-1].piece != d.piece { // what was recorded has the same ways on
			p.wedge(mark)
			p.await(`document.querySelector('#card').innerText.includes('` + mark + `')`)
		}
		for i, tap := range d.taps {
			if i == len(d.taps)-1 {
				p.fits()
				p.screen("scan-" + string(d.kind))
			}
			p.choose(tap)
		}
		p.lastIs(d.last)
		events, err := s.bench.Events(t.Context(), mark)
		require.NoError(t, err)
		assert.Equal(t, d.kind, events[len(events)-1].Kind, d.piece)
	}

	p.wedge(named(t, s, code, "Rail", parts.Ticket))
	p.choose("Split, cart")
	p.choose("Split it")
	p.await(`document.getElementById('count').value === '1'`)
	p.choose("Cart 1")
	p.lastIs("On the cart")
	p.wedge(named(t, s, code, "Stile", parts.Ticket))
	p.choose("Something is off")
	p.choose("Some did not come out")
	p.fits()
	p.screen("scan-lost")
	p.choose("Do without")
	p.await(`document.getElementById('signal').className === 'bad' || document.getElementById('last-text').textContent.includes('Did not come out')`)
	p.screen("scan-lost-done")
}

func printLabel(t *testing.T, s *shop, job, mark string) {
	_, err := s.bench.Print(t.Context(), printing(job, mark))
	require.NoError(t, err)
}
