package server_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// A badge, a placard and the tag of a cart are read by the camera.
func TestTheCameraReadsBadgesPlacardsAndCarts(t *testing.T) {
	s, badge, cart := staffedShop(t)
	const at = "HTTP://192.168.1.20:8080"
	nothing := labelPicture(t, 480, 360, 6, "")
	reel := film(t, 6, labelPicture(t, 480, 360, 6, at+"/W/"+badge), nothing, labelPicture(t, 480, 360, 6, at+"/S/CROSSCUT"), nothing, labelPicture(t, 480, 360, 6, at+"/P/"+cart), nothing)
	p := scanPhone(t, s.url, 390, filmed(reel)...)
	p.startScan("/scan")
	p.cameraOn()
	p.await(`document.getElementById('who').textContent === 'Rosa'`)
	p.await(`document.getElementById('place').value === 'crosscut'`)
	p.await(`document.querySelector('#card').innerText.includes('Cart 1')`)
	p.screen("scan-badge")
}

// They are typed, too: as the address below the code, or by name.
func TestBadgesPlacardsAndCartsAreTyped(t *testing.T) {
	s, badge, cart := staffedShop(t)
	p := scanPhone(t, plain(t, s), 320)
	p.startScan("/scan")
	p.press("#type-way")
	typed := func(text, await string) {
		p.write("#typed-mark", text)
		p.press("#typed button")
		p.await(await)
		p.await(`document.getElementById('signal').hidden`)
	}
	typed("/w/"+badge, `document.getElementById('who').textContent === 'Rosa'`)
	typed("emil", `document.getElementById('who').textContent === 'Emil'`)
	typed("/s/rip", `document.getElementById('place').value === 'rip'`)
	typed("at the crosscut saw", `document.getElementById('place').value === 'crosscut'`)
	typed(cart, `document.querySelector('#card').innerText.includes('Cart 1')`)
	typed("cart 1", `document.querySelector('#card').innerText.includes('Cart 1')`)
	p.fits()
	p.write("#typed-mark", "/W/99")
	p.press("#typed button")
	p.await(`document.getElementById('signal').className === 'bad'`)
	assert.Contains(t, p.text("#signal"), "badge is of nobody")
	p.press("#signal-on")

	p.offline(true) // the phone knows the people without a network
	p.wedge("HTTP://192.168.1.20:8080/W/" + badge)
	p.await(`document.getElementById('who').textContent === 'Rosa'`)
	p.offline(false)
	p.startScan("/scan")
	p.await(`document.getElementById('who').textContent === 'Rosa'`)
	p.press("#sign-off")
	p.await(`document.getElementById('who').textContent === ''`)
}

// staffedShop is a shop that knows two people and has a cart.
func staffedShop(t *testing.T) (s *shop, badge, cart string) {
	s, job := scanShop(t, fortyEight)
	for i, who := range []string{"Rosa", "Emil"} {
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, fmt.Sprintf("Stile %d", i+1), parts.Single), Station: "crosscut", By: who})
		require.NoError(t, err)
	}
	added, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
	require.NoError(t, err)
	people, err := s.bench.Badges(t.Context())
	require.NoError(t, err)
	for _, p := range people {
		if p.Name == "Rosa" {
			badge = fmt.Sprint(p.Person)
		}
	}
	return s, badge, string(added.Mark)
}

// A defect with its photo is kept without a network, like a scan; what is
// refused later is settled with the one tap that overrules it.
func TestADefectWithoutANetwork(t *testing.T) {
	s, job := boredShop(t)
	stile, other := named(t, s, job.Job.Code, "Stile 1", parts.Single), named(t, s, job.Job.Code, "Stile 2", parts.Single)
	for range 2 { // the catalogue's limit of holes at one place
		mendAndBore(t, s, other)
	}
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/bore")
	p.startScan("/scan")
	for _, mark := range []string{stile, other} {
		p.wedge(mark)
		p.choose("Something is off")
		p.choose("Hole off")
		p.await(`document.querySelector('.sketch .flag')`)
		photo := filepath.Join(t.TempDir(), "hole.jpg")
		require.NoError(t, os.WriteFile(photo, jpegPicture(t), 0o644))
		p.do(chromedp.SetUploadFiles(chromedp.CSS("#act input[type=file]"), []string{photo}))
		p.await(`document.querySelector('#act label').innerText.includes('Photo is there')`)
		p.offline(true)
		p.press(`.sketch [aria-label="2 left end, hole 2"]`)
		p.lastIs("kept on this phone")
		p.offline(false)
		p.await(`document.getElementById('waiting').hidden`)
	}
	p.await(`document.querySelectorAll('#settle-list li').length === 1`)
	assert.Equal(t, "left end, hole 2", spotOf(t, s, stile))
	assert.Contains(t, p.text("#settle-list"), "Repair it all the same")
	p.fits()
	p.screen("scan-settle-tap")
	p.press("#settle-list .early")
	p.await(`document.querySelectorAll('#settle-list li').length === 0`)
	require.Eventually(t, func() bool {
		e, err := s.bench.Events(context.Background(), other)
		return err == nil && e[len(e)-1].Kind == parts.Plugged && e[len(e)-1].Detail.Override != ""
	}, 10*time.Second, 50*time.Millisecond)
}

func mendAndBore(t *testing.T, s *shop, mark string) {
	_, err := s.bench.Mend(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: mark, Defect: "hole-off", Spot: "left end, hole 2"})
	require.NoError(t, err)
	_, err = s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: mark, Station: "bore", Override: true, Reason: "Glue checked, it has set"})
	require.NoError(t, err)
}

// A coat goes on everything that lies on a cart with one reading of its tag,
// and nobody touches the screen.
func TestACoatByTheCart(t *testing.T) {
	s, job := scanShop(t, fortyEight)
	added, err := s.bench.AddCart(t.Context(), shoptest.NewID(), "", "")
	require.NoError(t, err)
	for n := 1; n <= 3; n++ {
		mark := named(t, s, job.Job.Code, fmt.Sprintf("Stile %d", n), parts.Single)
		for _, station := range []parts.Station{"crosscut", "rip", "joint", "plane", "sand"} {
			s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: mark, Station: station, Override: true, Reason: "It has moved enough"})
		}
		_, err := s.bench.Load(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: mark, Cart: string(added.Mark)})
		require.NoError(t, err)
	}
	p := scanPhone(t, plain(t, s), 390)
	p.open("/S/stain")
	p.startScan("/scan")
	p.press("#hands")
	p.wedge(string(added.Mark))
	p.await(`document.getElementById('last-text').textContent.includes('3 ×') || document.getElementById('signal').className === 'bad'`)
	p.screen("scan-coat-cart")
	assert.Contains(t, p.text("#last-text"), "3 ×")
}

// After ten seconds without a reading the other ways are offered. The phone
// sleeps and wakes, is turned, and the camera is on again; it may be held in
// the left hand.
func TestTheCameraAfterSleepAndSilence(t *testing.T) {
	s, _ := scanShop(t, fortyEight)
	p := scanPhone(t, s.url, 320, filmed(film(t, 6, labelPicture(t, 480, 360, 6, "")))...)
	p.startScan("/scan")
	p.cameraOn()
	p.await(`!document.getElementById('view').hidden`)
	p.press("#sides button[value=left]")
	require.True(t, see[bool](p, `document.body.classList.contains('left')`))
	hide := func(hidden string) {
		see[bool](p, `(Object.defineProperty(document, 'hidden', {value: `+hidden+`, configurable: true}), document.dispatchEvent(new Event('visibilitychange')))`)
	}
	first := see[string](p, `document.getElementById('view').srcObject.id`)
	hide("true")
	p.await(`!document.getElementById('view').srcObject`)
	hide("false")
	p.await(`document.getElementById('view').srcObject && document.getElementById('view').srcObject.id !== '` + first + `'`)
	p.do(chromedp.EmulateViewport(568, 320, chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.fits()
	p.screen("scan-landscape")
	p.do(chromedp.EmulateViewport(320, 568, chromedp.EmulateMobile, chromedp.EmulateTouch))
	p.await(`document.querySelectorAll('#hint button').length === 2`)
	assert.Contains(t, p.text("#hint"), "No code for 10 seconds")
	p.fits()
	p.screen("scan-silence")
	p.press("#hint button:last-child")
	p.await(`document.activeElement.id === 'typed-mark'`)
	p.startScan("/scan")
	assert.True(t, see[bool](p, `document.body.classList.contains('left')`), "the hand is remembered")
}
