package server_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

// The Wood Handbook's way, Eq. (13-2), with its coefficient for white oak,
// 0.00365 for each point: 10 in from 9.2 % to 6.9 % (its table 4-2 near 21 °C
// at 50 % and 35 %) shrink by 0.084 in, which is 11/128.
func TestWhatAWidePartDoes(t *testing.T) {
	s, job := stocked(t)
	ask := func(more ...string) (int, string) {
		q := url.Values{"species": {"White oak"}, "width": {"10"}, "length": {"30"}, "thick": {"3/4"}, "unit": {"C"}, "degrees": {"21.1"}, "humidity": {"50"}, "room-degrees": {"21.1"}, "room-humidity": {"35"}}
		for i := 0; i+1 < len(more); i += 2 {
			q.Set(more[i], more[i+1])
		}
		return get(t, s.url+"/wood?"+q.Encode())
	}
	status, body := ask("gap", "1/8", "most", "3/16")
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, "11/128&#34; narrower")
	assert.Contains(t, body, "the gap opens to")
	_, body = ask("room-humidity", "65", "gap", "1/16")
	assert.Contains(t, body, "it will press")
	assert.NotContains(t, body, "second person")
	_, body = ask("length", "72", "thick", "4")
	assert.Contains(t, body, "Lift it with a second person")
	_, body = ask("cut", "quarter-sawn")
	assert.NotContains(t, body, "11/128")
	_, body = ask("meter", "12")
	assert.Contains(t, body, "12.0 % moisture here", "the meter says more than the air")
	assert.Contains(t, body, "Not settled", "9.2 % is more than two points away")
	_, body = ask("meter", "10")
	assert.Contains(t, body, "It has settled")
	for field, bad := range map[string]string{"meter": "40", "humidity": "140", "degrees": "warm", "width": "wide", "species": "Plywood"} {
		status, body := ask(field, bad)
		assert.Equal(t, http.StatusBadRequest, status, field)
		assert.Contains(t, body, "Not done", field)
	}
	_, body = get(t, s.url+"/P/"+named(t, s, job.Job.Code, "Shelf", parts.Single))
	assert.Contains(t, body, "/wood?")
}

// A shop that works in inches reads a thermometer in °F, and gets the same
// answer: 21.1 °C are 70 °F.
func TestWoodInTheShopsOwnScale(t *testing.T) {
	s, _ := stocked(t)
	status, page := get(t, s.url+"/wood")
	require.Equal(t, 200, status)
	assert.Contains(t, page, "°F")
	assert.Contains(t, page, `name="room-degrees" value="70"`)
	answer := func(unit, degrees string) string {
		q := url.Values{"species": {"White oak"}, "width": {"10"}, "unit": {unit}, "degrees": {degrees}, "humidity": {"50"}, "room-degrees": {degrees}, "room-humidity": {"35"}}
		status, page := get(t, s.url+"/wood?"+q.Encode())
		require.Equal(t, 200, status)
		_, page, _ = strings.Cut(page, "Will it move?</h1>")
		page, _, _ = strings.Cut(page, "<form")
		return page
	}
	require.Contains(t, answer("F", "70"), "narrower")
	assert.Equal(t, answer("C", "21.1"), answer("F", "70"))
}
