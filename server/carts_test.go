package server_test

import (
	"context"
	"io"
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

func TestCarts(t *testing.T) {
	s, job := stocked(t)
	id := url.Values{"id": {shoptest.NewID().String()}}
	status, body := post(t, s.url+"/carts", id)
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, "Cart 1 is there")
	assert.Contains(t, body, "empty")
	_, body = post(t, s.url+"/carts", id)
	assert.NotContains(t, body, "Cart 2", "the same button pressed twice is one cart")
	_, body = post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}})
	assert.Contains(t, body, "Cart 2 is there")
	status, body = post(t, s.url+"/carts", url.Values{"id": {"x"}})
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "is not a UUID")

	_, body = post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}, "name": {"Drying rack A"}})
	assert.Contains(t, body, "Drying rack A is there")
	status, body = post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}, "name": {"drying rack A"}})
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "already")

	carts, err := s.bench.Carts(context.Background())
	require.NoError(t, err)
	require.Len(t, carts, 3)
	carts = carts[:2]
	for _, name := range []string{"Rail 1", "Rail 2"} {
		_, err = s.bench.Load(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, name, parts.Single), Cart: string(carts[1].Part)})
		require.NoError(t, err)
		_, body = get(t, s.url+"/carts")
		if name == "Rail 1" {
			assert.Contains(t, body, "1 piece on it")
		}
	}
	assert.Contains(t, body, "2 pieces on it")
	for _, c := range carts {
		assert.Contains(t, body, `href="/P/`+string(c.Part)+`"`)
		assert.Contains(t, body, `href="/carts.pdf?cart=`+string(c.Part)+`"`)
	}
}

// What the tags say is tried in the bench; here it is that a browser gets them.
func TestCartTagsArePrinted(t *testing.T) {
	s := serve(t)
	for range 2 {
		post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}})
	}
	carts, err := s.bench.Carts(context.Background())
	require.NoError(t, err)
	sizes := map[string]int{}
	for _, query := range []string{"", "?cart=" + string(carts[0].Part)} {
		res, err := http.Get(s.url + "/carts.pdf" + query)
		require.NoError(t, err)
		data, err := io.ReadAll(res.Body)
		require.NoError(t, err)
		require.NoError(t, res.Body.Close())
		assert.Equal(t, http.StatusOK, res.StatusCode)
		assert.Equal(t, "application/pdf", res.Header.Get("Content-Type"))
		assert.Equal(t, "%PDF-", string(data[:5]))
		sizes[query] = len(data)
	}
	assert.Greater(t, sizes[""], sizes["?cart="+string(carts[0].Part)], "one tag is less than two")
	status, body := get(t, s.url+"/carts.pdf?cart=ZZZZ")
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "Not done")
}

func TestCartsOnAPhone(t *testing.T) {
	s := serve(t)
	p := openPhone(t, s.url, 390)
	p.open("/carts")
	p.fits()
	p.picture("carts-none")
	p.tap("main form button.main")
	p.tap("main form button.main")
	assert.Contains(t, p.text(".kept"), "Cart 2 is there")
	p.fits()
	p.picture("carts")
	p.open("/stations")
	p.fits()
	p.picture("stations-links")
	p.open("/")
	p.tap("a[href='/carts']")
	assert.Contains(t, p.text("h1"), "Carts")
	wide := openPhone(t, s.url, 1280)
	wide.open("/carts")
	wide.fits()
	wide.picture("carts-wide")
}
