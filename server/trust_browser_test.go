package server_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// trusted is a browser's home in which an authority was installed, as a person
// installs it on a phone.
func trusted(t testing.TB, authority string) string {
	tool, err := exec.LookPath("certutil")
	if err != nil {
		shoptest.SkipOrFail(t, "no certutil on this machine: no browser trusts the shop's authority")
	}
	home := t.TempDir()
	base := filepath.Join(home, ".pki", "nssdb")
	require.NoError(t, os.MkdirAll(base, 0o700))
	for _, args := range [][]string{
		{"-N", "--empty-password"},
		{"-A", "-n", "shop", "-t", "C,,", "-i", authority},
	} {
		out, err := exec.Command(tool, append([]string{"-d", "sql:" + base}, args...)...).CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	return home
}

// A phone that installed the authority has all that HTTPS brings: no warning, a
// secure page, the camera, a page to put on its first screen, and a page that
// opens while the server is away. One that has not is warned.
func TestAPhoneThatTrusts(t *testing.T) {
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.20:8080" })
	job := shoptest.ListJob(t, r.bench, "Tern Point lockers", fortyEight, nil)
	mark := named(t, &r.shop, job.Job.Code, "Stile 1", parts.Single)
	stranger := scanPhone(t, r.https, 390)
	require.ErrorContains(t, chromedp.Do(stranger.ctx, chromedp.Navigate(r.https+"/scan")), "ERR_CERT_AUTHORITY_INVALID")

	camera := film(t, 10, labelPicture(t, 640, 480, 6, "http://BENCHTALLY.LOCAL:8080/P/"+mark))
	home := chromedp.Env("HOME=" + trusted(t, r.ca.File()))
	p := scanPhone(t, r.https, 390, append(filmed(camera), home)...)
	p.open("/trust")
	assert.Contains(t, p.text(".did"), "set up")
	p.startScan("/scan")
	assert.True(t, see[bool](p, "isSecureContext"))
	assert.True(t, see[bool](p, "document.getElementById('secure-way').hidden"))
	p.await(`navigator.serviceWorker.controller`)
	p.cameraOn()
	p.await(`document.querySelector('#card').textContent.includes('` + mark + `')`)
	p.do(chromedp.Click(chromedp.CSS("#camera")))

	require.NoError(t, r.secure.Close()) // the server is away
	_, err := http.Get(r.https + "/scan")
	require.Error(t, err)
	p.open("/scan")
	p.await(`document.documentElement.dataset.ready === '1' && !document.getElementById('old').hidden`)
	assert.True(t, see[bool](p, "isSecureContext"))
}

// The manifest has what a browser asks of a page that is put on the first
// screen (W3C, Web Application Manifest; the members asked for from memory).
func TestTheManifest(t *testing.T) {
	r := reachable(t)
	res, err := http.Get(r.url + "/manifest.webmanifest")
	require.NoError(t, err)
	defer res.Body.Close()
	assert.Equal(t, "application/manifest+json", res.Header.Get("Content-Type"))
	data, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	var m struct {
		Name    string
		Start   string `json:"start_url"`
		Scope   string
		Display string
		Icons   []struct{ Src, Sizes, Type string }
	}
	require.NoError(t, json.Unmarshal(data, &m))
	assert.NotEmpty(t, m.Name)
	assert.Equal(t, "/scan", m.Start)
	assert.Equal(t, "/", m.Scope)
	assert.Equal(t, "standalone", m.Display)
	require.NotEmpty(t, m.Icons)
	for _, icon := range m.Icons {
		got, err := http.Get(r.url + icon.Src)
		require.NoError(t, err)
		got.Body.Close()
		assert.Equal(t, http.StatusOK, got.StatusCode, icon.Src)
		assert.Contains(t, got.Header.Get("Content-Type"), icon.Type)
	}
}

// A phone on plain HTTP is told what it lacks, and where it gets it.
func TestAPhoneWithoutHTTPS(t *testing.T) {
	r := reachable(t)
	p := scanPhone(t, plain(t, &r.shop), 390)
	p.startScan("/scan")
	assert.False(t, see[bool](p, "isSecureContext"))
	assert.Contains(t, p.text("#secure-way"), "needs HTTPS")
	p.picture("scan-without-https")
	p.tap("#secure-way a")
	assert.Contains(t, p.text("h1"), "Set up a phone")
	p.fits()
	p.picture("trust")
}

// What a code holds is a mark for the page's own scanner whatever the address
// around it, so no label is ever dead.
func TestAMarkWhateverItsAddress(t *testing.T) {
	r := reachable(t)
	p := scanPhone(t, r.url, 390)
	p.startScan("/scan")
	for _, address := range []string{
		"http://192.168.1.20:8080/P/", "http://192.168.1.31:8080/P/", "http://BENCHTALLY.LOCAL:8080/P/", "https://benchtally.local:8443/P/2/", "http://[fd00::7]:8080/P/",
		"https://an.old.name.example/shop/P/", "HTTP://10.0.0.7/P/12/", "",
	} {
		text, err := json.Marshal(address + "101S")
		require.NoError(t, err)
		got := later[string](p, `import('`+p.module("mark.js")+`').then(m => { const r = m.readCode(`+string(text)+`); return r.mark || r.why; })`)
		assert.Equal(t, "101S", got, address)
		id, err := parts.ParseMark(address + "101S")
		require.NoError(t, err)
		assert.EqualValues(t, "101S", id, "and for the server")
	}
}

// The choice of the address fits a phone and can be made with a thumb.
func TestChoosingTheAddressOnAPhone(t *testing.T) {
	for _, width := range []int64{320, 390, 1280} {
		r := reachable(t)
		r.settings(t, func(set *parts.Settings) { set.Address, set.Guessed = "http://192.168.1.20:8080", true })
		p := openPhone(t, r.url, width)
		p.open("/")
		p.fits()
		if width == 390 {
			p.picture("floor-first-start")
		}
		p.tap("section.attention a")
		p.fits()
		assert.Equal(t, width, see[int64](p, "document.documentElement.scrollWidth"))
		p.picture(fmt.Sprintf("address-%d", width))
		p.tap("section.address button.main")
		assert.Contains(t, p.text(".did"), "Kept")
		p.open("/trust")
		p.fits()
		assert.Equal(t, width, see[int64](p, "document.documentElement.scrollWidth"))
		p.picture(fmt.Sprintf("trust-%d", width))
	}
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.77:8080" })
	p := openPhone(t, r.url, 390)
	p.open("/")
	p.fits()
	p.picture("floor-lost")
	p.tap("section.attention a")
	p.fits()
	p.picture("address-lost")
}
