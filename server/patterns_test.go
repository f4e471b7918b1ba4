package server_test

import (
	"context"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

const (
	railHoles  = "left end 3/4 dia 3/8 deep 1 1/4\r\nleft end 3/4 from far edge dia 3/8 deep 1 1/4\r\nright end 3/4 dia 3/8 deep 1 1/4\r\nright end 3/4 from far edge dia 3/8 deep 1 1/4\r\n"
	hingeHoles = "near edge 3/4 dia 3/8 deep 1 3/8\r\nnear edge 3/4 from right end dia 3/8 deep 1 3/8\r\nback 3 1/2, 7/8 from far edge, dia 35 mm deep 1/2"
)

func TestPatternsAreWrittenOnAPage(t *testing.T) {
	s := serve(t)
	keep := func(key, name, holes string) (int, string) {
		status, page := post(t, s.url+"/patterns", url.Values{"key": {key}, "name": {name}, "holes": {holes}})
		return status, text(page)
	}
	status, page := keep("", "Rail, two dowels", railHoles)
	require.Equal(t, 200, status, page)
	assert.Contains(t, page, "Left and right are the same part")
	assert.Contains(t, page, "Right end, hole 2 3/4&#34; from far edge, dia 3/8&#34; deep 1 1/4&#34;")
	status, page = keep("", "Hinge stile", hingeHoles)
	require.Equal(t, 200, status, page)
	assert.Contains(t, page, "unless the size makes the holes even")

	_, page = get(t, s.url+"/patterns?length=34+1/2&width=2+1/4&thick=3/4")
	assert.Contains(t, text(page), "Hinge stile Left and right are two different parts. Give each")
	assert.Contains(t, page, "7/8&#34; from near edge", "the right part has the hinge hole at its near edge")
	_, page = get(t, s.url+"/patterns?length=2")
	assert.Contains(t, text(page), "Hinge stile Does not fit.")

	status, page = keep("", "Crooked", "near edge 3 dia 3/8\nnear edge")
	require.Equal(t, 400, status)
	assert.Contains(t, page, "Line 1 does not say how deep")
	assert.Contains(t, page, "near edge 3 dia 3/8 near edge", "what was typed is not lost")
	status, page = keep("rail-two-dowels", "Hinge stile", railHoles)
	require.Equal(t, 422, status)
	assert.Contains(t, page, "There is a pattern called")
	status, page = keep("", "<b>Bold", railHoles)
	require.Equal(t, 200, status)
	assert.Contains(t, page, "&lt;b&gt;Bold")
	for _, size := range []string{"length=x", "width=-3", "thick=%ff"} {
		status, _ = get(t, s.url+"/patterns?"+size)
		assert.Equal(t, 400, status, size)
	}
}

// What an editor shows it sends back: keeping it unchanged changes nothing,
// in inches and in millimetres.
func TestTheEditorKeepsEveryHole(t *testing.T) {
	s := serve(t)
	_, _ = post(t, s.url+"/patterns", url.Values{"name": {"Hinge stile"}, "holes": {hingeHoles}})
	before, err := s.bench.Patterns(context.Background())
	require.NoError(t, err)
	require.Len(t, before, 1)
	for _, unit := range []parts.Unit{parts.Inches, parts.Millimetres} {
		set, err := s.bench.Settings(context.Background())
		require.NoError(t, err)
		set.Unit, set.Address = unit, "http://192.168.1.20:8080"
		require.NoError(t, s.bench.SaveSettings(context.Background(), set))
		_, page := get(t, s.url+"/patterns")
		_, area, found := strings.Cut(page, "<textarea")
		require.True(t, found)
		_, area, _ = strings.Cut(area, ">")
		area, _, _ = strings.Cut(area, "</textarea>")
		shown := strings.ReplaceAll(area, "&#34;", `"`)
		status, answer := post(t, s.url+"/patterns", url.Values{"key": {before[0].Key}, "name": {before[0].Name}, "holes": {shown}})
		require.Equal(t, 200, status, text(answer))
		after, err := s.bench.Patterns(context.Background())
		require.NoError(t, err)
		assert.Equal(t, before, after, unit)
	}
}

func TestThePatternsPageOnScreens(t *testing.T) {
	s := serve(t)
	for _, width := range []int64{390, 1280} {
		p := openPhone(t, s.url, width)
		name := map[int64]string{390: "patterns-phone", 1280: "patterns-desk"}[width]
		if width == 390 {
			p.open("/patterns")
			p.fits()
			p.picture("patterns-empty")
			p.write(`textarea[name=holes]`, strings.ReplaceAll(railHoles, "\r", ""))
			p.write(`input[name=name]`, "Rail, two dowels")
			p.tap(`section:last-of-type button.main`)
			require.Contains(t, p.text("main"), "Left and right are the same part")
			_, _ = post(t, s.url+"/patterns", url.Values{"name": {"Stile, hinge on the left"}, "holes": {hingeHoles}})
		}
		p.open("/patterns?length=34+1/2&width=2+1/4&thick=3/4")
		p.press(`section:last-of-type summary`)
		p.press(`section:first-of-type details:last-of-type summary`)
		p.fits()
		p.picture(name)
	}
}
