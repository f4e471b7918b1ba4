package server_test

import (
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// peopled is a shop in which two people have recorded something.
func peopled(t *testing.T) (*shop, bench.JobPieces) {
	s, job := stocked(t)
	for i, who := range []string{"Rosa", "Emil"} {
		mark := named(t, s, job.Job.Code, []string{"Rail 1", "Rail 2"}[i], parts.Single)
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: mark, Station: "crosscut", By: who})
		require.NoError(t, err)
	}
	return s, job
}

func TestABadgeSaysWhoUsesThePhone(t *testing.T) {
	s, job := peopled(t)
	pages, codes := paperOf(t, s.url+"/badges.pdf")
	require.Len(t, codes, 2)
	for _, want := range []string{"Emil", "Rosa", "Off your neck at every machine"} {
		assert.Contains(t, pages[0], want)
	}
	pages, codes = paperOf(t, s.url+"/badges.pdf?names=rosa")
	require.Len(t, codes, 1)
	assert.NotContains(t, pages[0], "Emil")
	status, body := get(t, s.url+"/badges.pdf?names=Nobody")
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, body, "knows nobody called")

	path, isOurs := strings.CutPrefix(codes[0], "http://192.168.1.20:8080")
	require.True(t, isOurs, codes[0])
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	phone := http.Client{Jar: jar}
	res, err := phone.Get(s.url + path)
	require.NoError(t, err)
	res.Body.Close()
	rail := named(t, s, job.Job.Code, "Rail 3", parts.Single)
	res, err = phone.PostForm(s.url+"/P/"+rail+"/scan", url.Values{"id": {shoptest.NewID().String()}, "station": {"crosscut"}})
	require.NoError(t, err)
	res.Body.Close()
	_, body = get(t, s.url+"/P/"+rail)
	assert.Contains(t, body, "by Rosa")
}

// Somebody new has a badge before recording anything.
func TestABadgeForSomebodyNew(t *testing.T) {
	s := serve(t)
	_, body := get(t, s.url+"/badges")
	assert.Contains(t, body, "knows nobody by name yet")
	for range 2 { // the button pressed twice
		status, body := post(t, s.url+"/badges", url.Values{"name": {"  Ines  Ødegård "}})
		require.Equal(t, http.StatusOK, status)
		assert.Contains(t, body, "Ines Ødegård is there")
		assert.Equal(t, 1, strings.Count(body, `name="names" value="Ines Ødegård" checked`))
	}
	pages, codes := paperOf(t, s.url+"/badges.pdf")
	require.Len(t, codes, 1)
	assert.Contains(t, pages[0], "Ines Ødegård")
	for _, name := range []string{"", "  ", strings.Repeat("x", 41), "\xff"} {
		status, _ := post(t, s.url+"/badges", url.Values{"name": {name}})
		assert.Equal(t, http.StatusBadRequest, status, "%q", name)
	}
}

func TestThePlacardOfARack(t *testing.T) {
	s := serve(t)
	post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}})
	carts, err := s.bench.Carts(t.Context())
	require.NoError(t, err)
	cart := string(carts[0].Part)
	pages, codes := paperOf(t, s.url+"/racks.pdf?name=rack+by+the+window&cart="+cart)
	assert.Equal(t, []string{"http://192.168.1.20:8080/P/" + cart}, codes)
	require.Len(t, pages, 1)
	for _, want := range []string{"Rack by the window", "Cart 1 in the lists", "Wet parts do not touch", "Keep the way free."} {
		assert.Contains(t, pages[0], want)
	}
	for query, want := range map[string]int{"?cart=" + cart: 200, "?name=" + strings.Repeat("r", 41) + "&cart=" + cart: 400,
		"?name=%ff&cart=" + cart: 400, "?name=Rack&cart=ZZZZ": 400} {
		status, _ := get(t, s.url+"/racks.pdf"+query)
		assert.Equal(t, want, status, query)
	}
}

func TestBadgesOnAPhone(t *testing.T) {
	s, _ := peopled(t)
	p := openPhone(t, s.url, 390)
	p.open("/stations")
	p.tap("a[href='/badges']")
	p.fits()
	p.picture("badges-no-cart")
	post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}})
	p.open("/badges")
	p.fits()
	p.picture("badges")
	p.open("/W/1")
	assert.Contains(t, p.text(".kept"), "This phone is used by Rosa")
	p.fits()
	p.picture("badge-scanned")
	p.open("/stations")
	assert.Contains(t, p.text("a[href='/who']"), "Rosa")
	p.tap("a[href='/who']")
	p.fits()
	p.picture("who")
	assert.Equal(t, "Rosa", p.text("button[aria-current] b"))
	wide := openPhone(t, s.url, 1280)
	wide.open("/badges")
	wide.fits()
	wide.picture("badges-wide")
}
