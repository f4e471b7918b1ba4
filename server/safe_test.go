package server_test

import (
	"net/http"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// A piece that is too small for the planer is named on every page on which it
// is met before the planer, and on none after it.
func TestPagesSayWhatIsTooSmall(t *testing.T) {
	s := serve(t)
	_, err := s.bench.SaveRouting(t.Context(), parts.Routing{Key: "planed", Name: "Planed and cut", For: parts.Single, Steps: []parts.Step{
		{Name: "plane", Station: "plane", Snipe: 2 * parts.Inch, Safe: parts.Smallest{Length: 12 * parts.Inch}},
		{Name: "cut to length", Station: "crosscut", Makes: parts.ToLength, Parts: true},
	}})
	require.NoError(t, err)
	// 6 + 1 to trim + 2 x 2 of snipe, and 12 + 1/8 + 5.
	const says = `Short rail is 11&#34; long at “plane”, and 12&#34; is the least there. Leave 2 together in a blank of 17 1/8&#34; until past it.`
	form := url.Values{"id": {"0193a5b0-0000-7000-8000-00000000000a"}, "job": {"Tern Point lockers"}, "unit": {"in"}, "steps:2": {"planed"}, "steps:3": {"planed"},
		"text": {"qty,part,length,width,thickness,material\n4,Short rail,6,2 1/4,3/4,white oak\n2,Stile,34 1/2,2 1/4,3/4,white oak\n"}}
	status, page := post(t, s.url+"/list/preview", form)
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, says)
	assert.NotContains(t, page, "Stile is")
	form.Set("per-blank:2", "2")
	_, page = post(t, s.url+"/list/preview", form)
	assert.NotContains(t, page, "the least there", "two in a blank are long enough")
	form.Del("per-blank:2")
	status, page = post(t, s.url+"/list", form)
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, says, "the job's page")

	ticket := named(t, s, "TERN-POINT-LOCKERS", "Short rail", parts.Ticket)
	for _, path := range []string{"/P/" + ticket, "/P/" + named(t, s, "TERN-POINT-LOCKERS", "Short rail 1", parts.Single), "/S/PLANE"} {
		_, page = get(t, s.url+path)
		assert.Contains(t, page, says, path)
		assert.Contains(t, page, "own manual decides", path)
	}
	_, page = get(t, s.url+"/S/CROSSCUT")
	assert.NotContains(t, page, "the least there")

	status, page = post(t, s.url+"/P/"+ticket+"/scan", url.Values{"id": {"0193a5b0-0000-7000-8000-00000000000b"}, "station": {"plane"}})
	require.Equal(t, http.StatusOK, status)
	assert.NotContains(t, page, "the least there", "the planer lies behind it")
}
