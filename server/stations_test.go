package server_test

import (
	"context"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
)

func TestStationsAreAddedAndChanged(t *testing.T) {
	s, _ := stocked(t)
	order := func() (keys []parts.Station) {
		all, err := s.bench.Stations(context.Background())
		require.NoError(t, err)
		for i, st := range all {
			require.Equal(t, i+1, st.Place)
			keys = append(keys, st.Key)
		}
		return keys
	}
	before := order()
	band := url.Values{"key": {"band"}, "name": {"at the bandsaw"}, "caution": {"Guard down to the work."}, "after": {"rip"}}
	status, body := post(t, s.url+"/stations", band)
	require.Equal(t, 200, status)
	assert.Contains(t, body, "Guard down to the work.")
	assert.Equal(t, append([]parts.Station{"crosscut", "rip", "band"}, before[2:]...), order())

	status, body = post(t, s.url+"/stations", url.Values{"key": {"band"}, "name": {"at the big bandsaw"}, "caution": {""}, "after": {""}, "change": {"1"}})
	require.Equal(t, 200, status)
	assert.Contains(t, body, "At the big bandsaw")
	assert.Equal(t, append([]parts.Station{"band"}, before...), order())
	_, body = get(t, s.url+"/steps/frame")
	assert.Contains(t, body, "at the big bandsaw", "steps can be put there")
}

// A station that is wrong comes back with what was typed, in its own form.
func TestAStationThatIsWrongComesBackAsTyped(t *testing.T) {
	s, _ := stocked(t)
	tests := []struct {
		name   string
		form   url.Values
		status int
		say    string
	}{
		{"a short name with a space", url.Values{"key": {"band saw"}, "name": {"at the bandsaw"}}, 400, "short name"},
		{"no name", url.Values{"key": {"band"}, "name": {" "}}, 400, "needs a name"},
		{"one that is there", url.Values{"key": {"rip"}, "name": {"at the rip saw"}}, 422, "There is a station"},
		{"a change of none", url.Values{"key": {"lathe"}, "name": {"at the lathe"}, "change": {"1"}}, 404, "has no station"},
		{"after none", url.Values{"key": {"band"}, "name": {"at the bandsaw"}, "after": {"lathe"}}, 400, "to come after"},
		{"a change without a name", url.Values{"key": {"rip"}, "name": {""}, "change": {"1"}}, 400, "needs a name"},
	}
	for _, tt := range tests {
		tt.form.Set("caution", "Mind the blade.")
		status, body := post(t, s.url+"/stations", tt.form)
		assert.Equal(t, tt.status, status, tt.name)
		assert.Contains(t, text(body), tt.say, tt.name)
		assert.Contains(t, body, "Mind the blade.", tt.name)
	}
	all, err := s.bench.Stations(context.Background())
	require.NoError(t, err)
	assert.Len(t, all, 10)
}

func TestStationsOnAPhone(t *testing.T) {
	s, _ := stocked(t)
	p := openPhone(t, s.url, 390)
	p.open("/stations")
	p.press("ul.list li:nth-child(2) summary")
	p.press("main > details summary")
	p.fits()
	p.picture("stations-phone")
	p.write("main > details input[name=key]", "band")
	p.write("main > details input[name=name]", "at the bandsaw")
	p.write("main > details select", "rip")
	p.tap("main > details button")
	require.Contains(t, p.text("ul.list li:nth-child(3)"), "At the bandsaw")
}
