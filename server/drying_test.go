package server_test

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	ics "github.com/arran4/golang-ical"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// coated is a shop with a shelf that got its first topcoat at noon.
func coated(t *testing.T) (*shop, string) {
	s, job := stocked(t)
	shelf := named(t, s, job.Job.Code, "Shelf", parts.Single)
	_, err := s.bench.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: shelf, Station: "topcoat", Override: true})
	require.NoError(t, err)
	return s, shelf
}

func TestTheDryingPage(t *testing.T) {
	s, shelf := coated(t)
	_, body := get(t, s.url+"/drying")
	for _, want := range []string{"By tonight", "16:00", "Then: coat it again", "topcoat, second coat, in the booth", "Water-borne clear coat", "/P/" + shelf, "nothing was read: the usual air"} {
		assert.Contains(t, body, want)
	}
	status, body := post(t, s.url+"/drying/readings", url.Values{"degrees": {"60.8"}, "unit": {"F"}, "humidity": {"50"}})
	assert.Equal(t, 200, status)
	for _, want := range []string{"17:08", "Cold: an hour counts as 47 min", "61 °F, 50 %", "dew point 42 °F", "Kept."} {
		assert.Contains(t, body, want)
	}
	// A slip of the pen is put right: the reading of that time is another one.
	wrong := url.Values{"degrees": {"20"}, "unit": {"C"}, "humidity": {"50"}, "at": {strconv.FormatInt(shoptest.Noon.UnixMilli(), 10)}}
	_, body = post(t, s.url+"/drying/readings", wrong)
	assert.Contains(t, body, "<b>16:00</b>")
	wrong.Set("degrees", "16")
	_, body = post(t, s.url+"/drying/readings", wrong)
	assert.Contains(t, body, "17:08")
	_, body = get(t, s.url+"/drying?at=1772452800000&where=&degrees=16&humidity=50")
	assert.Contains(t, body, "In place of the reading of 12:00.")
	_, body = get(t, s.url+"/drying?by=place")
	assert.Contains(t, body, "<h2>Drying <small>1</small></h2>")
	assert.Contains(t, body, "In the booth")
	_, body = get(t, s.url+"/drying?place=glue")
	assert.Contains(t, body, "Nothing is wet")
	_, body = get(t, s.url+"/P/"+shelf)
	assert.Contains(t, body, "until <b>17:08</b>")
	assert.Contains(t, body, "It is cold: an hour counts as 47 min.")
	_, body = get(t, s.url+"/")
	assert.Contains(t, body, "17:08", "the floor shows the same forecast")

	status, body = post(t, s.url+"/drying/readings", url.Values{"degrees": {"5"}, "unit": {"C"}, "humidity": {"50"}})
	assert.Equal(t, 200, status)
	assert.Contains(t, body, "Not before it is warmer")
	assert.Contains(t, body, "Too cold: stands still")
	_, body = get(t, s.url+"/P/"+shelf)
	assert.Contains(t, body, "It stands still: too cold.")
	_, body = get(t, s.url+"/drying?place=topcoat")
	assert.Contains(t, body, "<code class=\"copy\">http://", "the whole address, to copy")
	assert.Contains(t, body, "/drying.ics?lang=en&amp;place=topcoat</code>")
}

// Clamps that may come off are not a joint that has set.
func TestTheTwoWaitsOfAGlueUp(t *testing.T) {
	s, job := stocked(t)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	_, err := s.bench.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "glue", Step: 2, Override: true})
	require.NoError(t, err)
	_, body := get(t, s.url+"/P/"+frame)
	for _, want := range []string{"Clamps may come off from <b>13:00</b>", "Sand from <b>tomorrow 12:00</b>", "The joint has set: sand done"} {
		assert.Contains(t, body, want)
	}
	assert.NotContains(t, body, "Joint checked, clamps may come off: ", "that is no reason to sand")
	_, body = get(t, s.url+"/drying")
	assert.Contains(t, body, "Then: take the clamps off</p>")
	assert.NotContains(t, body, "(sand", "the clamps off are not a step before sanding may begin")
	status, body := post(t, s.url+"/drying/readings", url.Values{"degrees": {"5"}, "unit": {"C"}, "humidity": {"50"}})
	require.Equal(t, 200, status)
	assert.NotContains(t, body, "warmer air")
}

// What a shop hardly ever has is asked back, with the other scale at one tap;
// the scale that was used last is the one of the page.
func TestAnUnlikelyReadingIsAskedBack(t *testing.T) {
	s, _ := coated(t)
	kept := func() (out []float64) {
		all, err := s.bench.LastReadings(context.Background(), 5)
		require.NoError(t, err)
		for _, r := range all {
			out = append(out, r.Celsius)
		}
		return out
	}
	form := url.Values{"degrees": {"14"}, "unit": {"F"}, "humidity": {"50"}}
	status, body := post(t, s.url+"/drying/readings", form)
	assert.Equal(t, 422, status)
	for _, want := range []string{"14 °F in the shop, really?", "No, it is 14 °C", "Yes: 14 °F, 50 %", `<option value="F" selected>`} {
		assert.Contains(t, body, want)
	}
	assert.Empty(t, kept())
	form.Set("unit", "C")
	form.Set("sure", "1")
	_, body = post(t, s.url+"/drying/readings", form)
	assert.Contains(t, body, "Kept.")
	form.Set("unit", "F")
	_, body = post(t, s.url+"/drying/readings", form)
	assert.Contains(t, body, "14 °F, 50 %", "a cold shop may be cold")
	assert.Equal(t, []float64{-10, 14}, kept())
	for _, tt := range []struct{ degrees, unit, humidity, say, other string }{
		{"46", "C", "50", "46 °C in the shop, really?", "No, it is 46 °F"}, {"-0.5", "C", "50", "really?", ""}, {"20", "C", "0", "0 % humidity, really?", ""},
	} {
		status, body = post(t, s.url+"/drying/readings", url.Values{"degrees": {tt.degrees}, "unit": {tt.unit}, "humidity": {tt.humidity}})
		assert.Equal(t, 422, status, tt.say)
		assert.Contains(t, body, tt.say)
		assert.Equal(t, tt.other != "", strings.Contains(body, "No, it is"))
		assert.Contains(t, body, tt.other)
	}
}

// The scale that was used last is the one of the page, on the board and in the
// form.
func TestTheScaleIsRemembered(t *testing.T) {
	s, _ := coated(t)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := &http.Client{Jar: jar}
	for _, tt := range []struct{ degrees, unit, first string }{{"14", "C", "14 °C, 50 %"}, {"70", "F", "70 °F, 50 %"}} {
		resp, err := client.PostForm(s.url+"/drying/readings", url.Values{"degrees": {tt.degrees}, "unit": {tt.unit}, "humidity": {"50"}})
		require.NoError(t, err)
		body, err := io.ReadAll(resp.Body)
		require.NoError(t, err)
		require.NoError(t, resp.Body.Close())
		assert.Contains(t, string(body), tt.first)
		assert.Contains(t, string(body), "/drying/stream?scale="+tt.unit, "the live picture too")
		assert.Equal(t, tt.unit == "F", strings.Contains(string(body), `<option value="F" selected>`))
	}
}

// A reading may be told later, by the shop's clock.
func TestAReadingIsToldLater(t *testing.T) {
	s, _ := coated(t)
	form := url.Values{"degrees": {"16"}, "unit": {"C"}, "humidity": {"50"}, "read": {"2026-03-02T07:30"}}
	status, body := post(t, s.url+"/drying/readings", form)
	assert.Equal(t, 200, status)
	assert.Contains(t, body, "read 07:30")
	all, err := s.bench.LastReadings(context.Background(), 1)
	require.NoError(t, err)
	set, err := s.bench.Settings(context.Background())
	require.NoError(t, err)
	assert.Equal(t, time.Date(2026, 3, 2, 7, 30, 0, 0, set.Location()).UTC(), all[0].At)
	for typed, say := range map[string]string{"yesterday": "“yesterday” is no date with a time.", "2026-03-02T23:30": "has not happened yet"} {
		form.Set("read", typed)
		status, body = post(t, s.url+"/drying/readings", form)
		assert.Equal(t, 400, status)
		assert.Contains(t, body, say)
		assert.Contains(t, body, "leave it empty for now")
	}
}

func TestBadAirIsRefusedWithASentence(t *testing.T) {
	s, _ := coated(t)
	for _, tt := range []struct{ path, degrees, humidity, say string }{
		{"readings", "20", "140", "Humidity is from 0 to 100 %, not 140 %."},
		{"readings", "warm", "50", "The temperature “warm” is no number."},
		{"readings", "68", "50", "A shop is from -30 °C to 60 °C, not at 68 °C."},
		{"readings", "20", "", "The humidity “” is no number."},
		{"usual", "20", "140", "Humidity is from 0 to 100 %, not 140 %."},
	} {
		status, body := post(t, s.url+"/drying/"+tt.path, url.Values{"degrees": {tt.degrees}, "unit": {"C"}, "humidity": {tt.humidity}})
		assert.Equal(t, 400, status, tt.say)
		assert.Contains(t, body, tt.say)
	}
	all, err := s.bench.LastReadings(context.Background(), 5)
	require.NoError(t, err)
	assert.Empty(t, all)
	status, body := post(t, s.url+"/drying/usual", url.Values{"degrees": {"16"}, "unit": {"C"}, "humidity": {"50"}})
	assert.Equal(t, 200, status)
	assert.Contains(t, body, "17:08", "what is wet goes by the usual air where nothing was read")
}

// The feed is read back by a parser, and by the letter: RFC 5545, section
// 3.1, ends lines with CRLF and folds them at 75 octets; sections 3.8.4.7 and
// 3.8.7.2 ask for a UID and a DTSTAMP in each event.
func TestTheCalendarFeed(t *testing.T) {
	s, shelf := coated(t)
	_, err := s.bench.AddReadings(context.Background(), "", bench.FromSensor, []bench.Reading{{Celsius: 16, Humidity: 50}})
	require.NoError(t, err)
	status, body := get(t, s.url+"/drying.ics")
	require.Equal(t, 200, status)
	for _, line := range strings.SplitAfter(body, "\n") {
		assert.True(t, line == "" || strings.HasSuffix(line, "\r\n"), "%q", line)
		assert.LessOrEqual(t, len(line), 75+2, "%q", line)
	}
	cal, err := ics.ParseCalendar(strings.NewReader(body))
	require.NoError(t, err)
	require.Len(t, cal.Events(), 1)
	e := cal.Events()[0]
	at, err := e.GetStartAt()
	require.NoError(t, err)
	assert.Equal(t, "17:08", at.Format("15:04"))
	assert.Equal(t, "Shelf: coat it again", e.GetProperty(ics.ComponentPropertySummary).Value)
	assert.Contains(t, e.GetProperty(ics.ComponentPropertyDescription).Value, "Check by touch on a test piece.")
	assert.Contains(t, e.GetProperty(ics.ComponentPropertyUrl).Value, "/P/"+shelf)
	stamp, err := e.GetDtStampTime()
	require.NoError(t, err)
	assert.Equal(t, shoptest.Noon, stamp.UTC())
	id := e.Id()
	assert.NotEmpty(t, id)

	_, err = s.bench.AddReadings(context.Background(), "", bench.FromSensor, []bench.Reading{{Celsius: 20, Humidity: 50, At: shoptest.Noon}})
	require.NoError(t, err)
	_, body = get(t, s.url+"/drying.ics")
	moved, err := ics.ParseCalendar(strings.NewReader(body))
	require.NoError(t, err)
	assert.Equal(t, id, moved.Events()[0].Id(), "the entry moves and is no other one")
	at, err = moved.Events()[0].GetStartAt()
	require.NoError(t, err)
	assert.Equal(t, shoptest.Noon.Add(4*time.Hour), at.UTC())
}

func TestProductsAreKeptAndRefused(t *testing.T) {
	s, _ := coated(t)
	form := url.Values{"key": {"shellac"}, "version": {"1"}, "name": {"Shellac"}, "kind": {"sealer"}, "degrees": {"21"}, "humidity": {"50"}, "lowest": {"10"},
		"dries": {"evaporates"}, "recoat": {"90 min"}, "sand": {"1.5"}, "cure": {"7 days"}, "source": {"data sheet of March"}}
	status, body := post(t, s.url+"/drying/products", form)
	assert.Equal(t, 200, status)
	assert.Contains(t, body, "Shellac: kept")
	all, err := s.bench.Products(context.Background())
	require.NoError(t, err)
	for _, p := range all {
		if p.Key == "shellac" {
			assert.Equal(t, []any{2, 90, 90, 7 * 24 * 60, 21.0}, []any{p.Version, p.Recoat, p.Sand, p.Cure, p.Celsius})
		}
	}
	status, body = post(t, s.url+"/drying/products", form)
	assert.Equal(t, 409, status, "it was made from version 1, and there is another")
	assert.Contains(t, body, "Somebody else has changed this product")
	for name, bad := range map[string]struct{ value, say string }{
		"humidity": {"140", "Times of a data sheet are given at 0 to 90 % humidity, not at 140 %."},
		"recoat":   {"-1", "The time “-1” cannot be read."},
		"cure":     {"", "A product needs the time of its full cure"},
		"degrees":  {"hot", "“hot” is no number."},
		"latest":   {"48", "nothing says what to do when it was missed"},
	} {
		was := form[name]
		form.Set(name, bad.value)
		form.Set("version", "2")
		status, body := post(t, s.url+"/drying/products", form)
		assert.Equal(t, 400, status, name)
		assert.Contains(t, body, bad.say)
		assert.Contains(t, body, "data sheet of March", "what was typed stays")
		form[name] = was
	}
	status, body = post(t, s.url+"/drying/products", url.Values{"kind": {"glue"}, "name": {"Hide glue"}, "unit": {"F"}, "degrees": {"68"}, "humidity": {"50"}, "lowest": {"50"}, "dries": {"evaporates"}, "clamps_off": {"2"}, "cure": {"24"}})
	assert.Equal(t, 200, status)
	assert.Contains(t, body, "Hide glue: kept")
	assert.Contains(t, body, `name="degrees" value="68"`, "a shop that works in inches types °F")
	all, err = s.bench.Products(context.Background())
	require.NoError(t, err)
	hide := all[slices.IndexFunc(all, func(p bench.Product) bool { return p.Name == "Hide glue" })]
	assert.Equal(t, []float64{20, 10}, []float64{hide.Celsius, hide.Lowest})
}

func TestTheEditorOfStepsKnowsProducts(t *testing.T) {
	s, _ := coated(t)
	_, body := get(t, s.url+"/steps/frame")
	assert.Contains(t, body, `<option value="pva-glue|machine it" selected>until you may machine it</option>`)
	assert.Contains(t, body, "by the air of the shop")
	_, body = get(t, s.url+"/steps")
	assert.Contains(t, body, "by the air of the shop, until you may wrap it")
}

// The page in a real browser: the plot is drawn, which nothing inline does,
// and a reading moves what is seen without a tap.
func TestTheDryingPageInABrowser(t *testing.T) {
	s, _ := coated(t)
	p := openPhone(t, s.url, 390)
	p.open("/drying")
	require.Eventually(t, func() bool { return see[bool](p, `!!document.querySelector('#plot canvas')`) }, 20*time.Second, 200*time.Millisecond, "no plot")
	p.fits()
	require.Contains(t, p.text("#board"), "16:00")
	p.press("#tell")
	require.Equal(t, "true", see[string](p, `document.getElementById('tell').getAttribute('aria-pressed')`))
	_, err := s.bench.AddReadings(context.Background(), "", bench.FromSensor, []bench.Reading{{Celsius: 16, Humidity: 50}})
	require.NoError(t, err)
	require.Eventually(t, func() bool { return strings.Contains(p.text("#board"), "17:08") }, 20*time.Second, 200*time.Millisecond, "the picture stays old")
	s.clock.Set(shoptest.Noon.Add(6 * time.Hour))
	_, err = s.bench.AddReadings(context.Background(), "", bench.FromSensor, []bench.Reading{{Celsius: 20, Humidity: 50}})
	require.NoError(t, err)
	require.Eventually(t, func() bool { return see[bool](p, `!!document.querySelector('.wet-row.is-ready')`) }, 20*time.Second, 200*time.Millisecond, "it is not called ready")
	p.picture("drying")
	p.open("/drying/products")
	p.fits()
}
