package server_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"

	"benchtally/parts"
)

// In German and in the dark, on the narrowest screen, everything fits.
func TestTheScanningPageInGermanAndInTheDark(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	ticket := named(t, s, job.Job.Code, "Stile", parts.Ticket)
	p := scanPhone(t, s.url, 320)
	p.prefer("prefers-color-scheme", "dark")
	p.open("/S/crosscut")
	p.startScan("/scan?lang=de")
	p.await(`document.body.innerText.includes('Hier gebraucht')`) // it has asked where it is
	p.fits()
	for _, word := range []string{"Foto machen", "Freihändig"} {
		assert.Contains(t, p.text("body"), word)
	}
	p.wedge(ticket)
	p.await(`document.getElementById('count')`)
	assert.Contains(t, p.text("#card"), "Laufzettel")
	p.fits()
	p.screen("scan-de-dark")
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
		p.prefer("prefers-color-scheme", scheme)
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

// prefer sets what a phone is set to: dark, more contrast.
func (p *phone) prefer(name, value string) {
	p.Helper()
	p.do(chromedp.Func(func(ctx context.Context, tg *chromedp.Target) error {
		_, err := cdp.Call(ctx, tg, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: name, Value: value}}})
		return err
	}))
}

// The way from a scan to a recorded defect, in German, on the narrowest screen
// and on a usual one, in the light, in the dark and with more contrast: nothing
// sticks out, and no English word of the page is left.
func TestReworkInGerman(t *testing.T) {
	s, job := boredShop(t)
	looks := []struct {
		width             int64
		prefers, is, mark string
	}{{320, "prefers-color-scheme", "light", "Stile 1"}, {390, "prefers-color-scheme", "dark", "Stile 2"}, {390, "prefers-contrast", "more", "Stile 3"}}
	for _, look := range looks {
		p := scanPhone(t, plain(t, s), look.width)
		p.prefer(look.prefers, look.is)
		p.open("/S/bore")
		p.startScan("/scan?lang=de")
		shot := func(name string) {
			p.fits()
			assert.NotContains(t, p.text("#act"), "Back")
			p.screen(fmt.Sprintf("scan-de-%d-%s-%s", look.width, look.is, name))
		}
		p.wedge(named(t, s, job.Job.Code, look.mark, parts.Single))
		p.await(`document.querySelector('#act .off')`)
		shot("piece")
		p.choose("Etwas stimmt nicht")
		shot("off")
		p.choose("Hole off")
		p.await(`document.querySelector('.sketch .flag')`)
		p.targets()
		shot("hole")
		p.choose("Zurück")
		p.choose("Etwas stimmt nicht")
		p.choose("Tear-out")
		p.await(`document.querySelector('.sketch .side')`)
		p.targets()
		shot("side")
		p.press(`.sketch [aria-label="hintere Kante"]`)
		p.lastIs(look.mark)
		p.await(`document.getElementById('signal').hidden`)
		shot("done")
		assert.Equal(t, "far edge", spotOf(t, s, named(t, s, job.Job.Code, look.mark, parts.Single)), "the log has one name for it in every language")
	}
}
