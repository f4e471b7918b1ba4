package server_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// screens walks through what a person meets on the scanning page, and judges
// each: what axe finds in light and in dark, and what a thumb would miss.
type screens struct {
	*phone
	lang string
	said map[string]string // the page's words
	job  string
	s    *shop
}

// thumbs are what is to be pressed on the page; a word in a sentence is none.
const thumbs = `main button, main .button, main select, main input:not(#keys), #signal button, footer button`

// at judges what is in view now.
func (w *screens) at(name string) {
	w.Helper()
	w.fits()
	// Laid over the page, the last scan would hide what can be scrolled from under it.
	see[bool](w.phone, `(document.querySelector('footer').style.position = 'static', true)`)
	defer see[bool](w.phone, `(document.querySelector('footer').style.position = '', true)`)
	for _, shade := range []string{"light", "dark"} {
		w.shade(shade)
		rules := `'tag', values: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']`
		if shade == "dark" {
			rules = `'rule', values: ['color-contrast', 'link-in-text-block']`
		}
		for _, b := range promised[[]string](w.phone, fmt.Sprintf(barriers, rules)) {
			w.Errorf("%s, %s, %s: %s", name, w.lang, shade, b)
		}
		w.screen("axe-" + name + "-" + w.lang + "-" + shade)
	}
	for _, e := range see[[]string](w.phone, fmt.Sprintf(low, thumbs, 64)) {
		w.Errorf("%s, %s: lower than 64 px: %s", name, w.lang, e)
	}
}

// taps presses what says a word of the page.
func (w *screens) taps(key string) {
	w.Helper()
	w.choose(w.said[key])
}

// calm waits until no signal fills the screen.
func (w *screens) calm() {
	w.Helper()
	w.await(`document.getElementById('signal').hidden`)
}

// reads scans a mark and waits for its card.
func (w *screens) reads(mark string) {
	w.Helper()
	w.wedge(mark)
	w.await(fmt.Sprintf(`document.querySelector('#card .mark')?.textContent === %q`, mark))
}

// mark is the mark of a piece by its name.
func (w *screens) mark(name string) string {
	return named(w.TB.(*testing.T), w.s, w.job, name, parts.Single)
}

// Source: axe-core for the rules of WCAG 2.2 AA, see testdata/axe; 64 px for
// dusty hands is common practice, no source.
func TestNoScreenOfTheScanningPageHasABarrier(t *testing.T) {
	script, err := os.ReadFile("../testdata/axe/axe.min.js")
	require.NoError(t, err)
	for _, lang := range []string{"en", "de"} {
		t.Run(lang, func(t *testing.T) {
			s, job := boredShop(t)
			_, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
			require.NoError(t, err)
			w := &screens{scanPhone(t, s.url, 390), lang, wordsOf(t, lang), job.Job.Code, s}
			w.open("/S/glue")
			w.startScan("/scan?lang=" + lang)
			w.do(chromedp.Evaluate[chromedp.Void](string(script) + ";void 0"))
			w.settings()
			w.repairs()
			w.elsewhere()
			w.together()
			w.away()
		})
	}
}

// settings are those of the phone, with the ways in.
func (w *screens) settings() {
	see[bool](w.phone, `(e => { e.value = '+'; e.dispatchEvent(new Event('change')); return true; })(document.getElementById('iam'))`)
	w.press("#type-way")
	w.press("#camera")
	w.await(`!document.getElementById('hint').hidden`)
	w.at("settings")
	w.press("#type-way")
}

// repairs are what is off, where, a photo, and what came of it.
func (w *screens) repairs() {
	w.reads(w.mark("Stile 1"))
	w.at("piece")
	w.taps("off")
	w.at("off")
	w.taps("plugged_it")
	w.await(`document.querySelectorAll('.sketch .flag').length`)
	photo := filepath.Join(w.TempDir(), "hole.jpg")
	require.NoError(w, os.WriteFile(photo, jpegPicture(w), 0o644))
	w.do(chromedp.SetUploadFiles(chromedp.CSS("#act input[type=file]"), []string{photo}))
	w.await(fmt.Sprintf(`document.querySelector('#act label').innerText.includes(%q)`, w.said["photo_there"]))
	see[bool](w.phone, `(document.querySelector('.places, details') && document.querySelectorAll('details').forEach(d => { d.open = true; }), true)`)
	w.at("hole")
	w.press(".sketch .flag")
	w.await(`document.querySelector('#card h2.good') && !document.getElementById('signal').hidden`)
	w.at("good")
	w.calm()
	w.at("mended")
	w.reads(w.mark("Stile 2"))
	w.taps("off")
	w.choose("Tear-out")
	w.await(`document.querySelectorAll('.sketch .side').length`)
	w.at("side")
	w.taps("back")
	w.taps("off")
	w.taps("spoiled")
	w.at("spoiled")
	w.taps("back")
	w.taps("off")
	w.taps("hold")
	w.at("hold")
	w.choose(w.said["hold_1"])
	w.await(`document.querySelector('#card h2')`)
	w.calm()
	w.reads(w.mark("Stile 4")) // else the held one is still the same reading
	w.reads(w.mark("Stile 2"))
	w.await(`document.querySelector('#card .alarm')`)
	w.at("held")
}

// elsewhere are the carts, and a ticket with its count.
func (w *screens) elsewhere() {
	w.reads(w.mark("Stile 3"))
	w.taps("elsewhere")
	w.at("elsewhere")
	w.taps("to_cart")
	w.at("carts")
	w.reads(named(w.TB.(*testing.T), w.s, "TERN-POINT-LOCKERS", "Stile", parts.Ticket)) // none of them is done
	w.at("ticket")
	w.taps("off")
	w.taps("lost")
	w.at("lost")
	carts, err := w.s.bench.Carts(w.Context())
	require.NoError(w, err)
	w.press("#modes button[value=load]")
	w.at("load")
	w.wedge(string(carts[0].Part))
	w.await(`document.querySelector('#card h2')`)
	w.wedge(w.mark("Stile 2")) // held
	w.await(`document.getElementById('signal').className === 'bad' && !document.getElementById('signal').hidden`)
	w.at("refused")
	w.press("#signal-on")
	w.at("cart")
}

// together are the dry fit and the clamps.
func (w *screens) together() {
	for _, st := range pieces(w.TB.(*testing.T), w.s, w.job).States {
		if st.Kind == parts.Single && !st.Mending() && st.Held == "" {
			w.s.bench.Skip(w.Context(), bench.Request{ID: shoptest.NewID(), Mark: string(st.Part), Step: len(pieces(w.TB.(*testing.T), w.s, w.job).Routings[st.Steps].Steps) + 1, Reason: "Bought"})
		}
	}
	frame := named(w.TB.(*testing.T), w.s, w.job, "Bench back 1", parts.Assembly)
	w.press("#modes button[value=fit]")
	w.at("fit")
	w.wedge(frame)
	w.await(`document.querySelector('#act .main')`)
	w.wedge(w.mark("Stile 4"))
	w.await(`document.querySelector('.bench button') && document.getElementById('signal').hidden`)
	w.at("bench")
	w.press("#act .main")
	w.await(`!document.getElementById('signal').hidden`)
	w.at("fit-answer")
	see[bool](w.phone, `(document.getElementById('signal-on').click(), true)`)
	w.press("#modes button[value=clamps]")
	w.wedge(frame)
	w.await(`document.querySelector('#act .main') && document.getElementById('signal').hidden`)
	w.at("clamps")
	w.press("#modes button[value=work]")
	w.wedge("1234")
	w.await(`document.getElementById('signal').className === 'bad' && !document.getElementById('signal').hidden`)
	w.at("mistyped")
	w.press("#signal-on")
}

// away is the page without a network, and what has to be settled afterwards.
func (w *screens) away() {
	w.offline(true)
	w.wedge(w.mark("Stile 2")) // held: it will be refused
	w.await(`document.querySelector('#act .main')`)
	w.at("unseen")
	w.press("#act .main")
	w.await(`document.getElementById('waiting').textContent.includes('1')`)
	w.calm()
	w.press("#waiting")
	w.await(`!document.getElementById('queue').hidden`)
	w.at("kept")
	w.offline(false)
	see[bool](w.phone, `(dispatchEvent(new Event('online')), true)`)
	w.await(`!document.getElementById('settle').hidden`)
	w.at("settle")
}
