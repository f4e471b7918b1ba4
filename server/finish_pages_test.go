package server_test

import (
	"context"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"benchtally/parts"
	"benchtally/parts/routing"
	"benchtally/parts/shoptest"
)

// formTo is what a browser sends of the first form of a page that goes to an
// address.
func formTo(t *testing.T, s *shop, page, action string) url.Values {
	t.Helper()
	_, body := get(t, s.url+page)
	root, err := html.Parse(strings.NewReader(body))
	require.NoError(t, err)
	for n := range root.Descendants() {
		if n.Data == "form" && value(n, "action") == action {
			return fields(n)
		}
	}
	t.Fatalf("%s has no form to %s", page, action)
	return nil
}

// mixedShop is a shop with a stain and steps that name it.
func mixedShop(t *testing.T) *shop {
	t.Helper()
	s := serve(t)
	form := formTo(t, s, "/finish/mixes", "/finish/mixes")
	for name, v := range map[string]string{"name": "Locker brown", "component-1-name": "Stain base", "component-1-parts": "3",
		"component-2-name": "Oak brown", "component-2-parts": "1", "component-2-colour": "1", "coverage": "500", "method": "wipe", "oily": "1"} {
		form.Set(name, v)
	}
	status, body := post(t, s.url+"/finish/mixes", form)
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, "Stain base 3 : Oak brown 1")
	all, err := s.bench.Routings(context.Background())
	require.NoError(t, err)
	r := all[slices.IndexFunc(all, func(r parts.Routing) bool { return r.Key == routing.LoosePart })]
	r.Steps = slices.Clone(r.Steps)
	for i := range r.Steps {
		if r.Steps[i].Coat == "stain" {
			r.Steps[i].Mix = "locker-brown"
		}
	}
	_, err = s.bench.SaveRouting(context.Background(), r)
	require.NoError(t, err)
	return s
}

func TestAMixIsWrittenDownAndChanged(t *testing.T) {
	s := mixedShop(t)
	m, err := s.bench.Mix(context.Background(), "locker-brown")
	require.NoError(t, err)
	assert.True(t, m.Oily)
	assert.Equal(t, "12.27", m.Coverage.Round(2).String(), "500 ft² to the gallon in m² to the litre: 500 x 0.09290304 / 3.785411784")
	assert.Equal(t, "10", m.Loss.String(), "the usual guess for a wiped coat")

	// Sent as it was drawn it changes nothing, rounded units or not.
	form := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	status, _ := post(t, s.url+"/finish/mixes", form)
	require.Equal(t, http.StatusOK, status)
	again, err := s.bench.Mix(context.Background(), "locker-brown")
	require.NoError(t, err)
	require.Equal(t, m, again)

	// Two people at once: the second is told.
	first, second := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes"), formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	first.Set("reserve", "20")
	second.Set("reserve", "5")
	status, _ = post(t, s.url+"/finish/mixes", first)
	require.Equal(t, http.StatusOK, status)
	status, body := post(t, s.url+"/finish/mixes", second)
	require.Equal(t, http.StatusConflict, status)
	require.Contains(t, body, "Somebody changed Locker brown")
}

func TestBadMixesAreSentBackWithASentence(t *testing.T) {
	s := mixedShop(t)
	tests := []struct{ field, value, say string }{
		{"component-1-parts", "0", "0 parts of Stain base make no mix"},
		{"component-1-parts", "three", "is not a number"},
		{"pot-life", "-1", "A pot life of -1 min makes no sense"},
		{"pot-life", "long", "cannot be read"},
		{"method", "dip", "is no way to put on a finish"},
		{"loss", "99", "leaves nothing for the wood"},
		{"reserve", "-3", "makes no sense"},
	}
	for _, tt := range tests {
		form := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
		form.Set(tt.field, tt.value)
		status, body := post(t, s.url+"/finish/mixes", form)
		assert.Equal(t, http.StatusBadRequest, status, tt.field)
		assert.Contains(t, body, tt.say, tt.field)
		if tt.field != "method" { // a list cannot show what is not in it
			assert.Contains(t, body, `value="`+tt.value+`"`, "what was typed is still there")
		}
	}
	form := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	form.Set("additive-1-name", "Flow additive")
	form.Set("additive-1-percent", "20")
	form.Set("additive-1-of", "whole")
	form.Set("additive-1-most", "15")
	status, body := post(t, s.url+"/finish/mixes", form)
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "is more than its data sheet allows, which is 15 %")
}

// The maker's way: a refusal that leads to the mix, a board that is approved,
// a batch by the list, the scan that takes it, and the batch in the history.
func TestFromTheRefusalToTheBatch(t *testing.T) {
	s := mixedShop(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	shelf := named(t, s, job.Job.Code, "Shelf", parts.Single)
	p, err := s.bench.Look(context.Background(), shelf)
	require.NoError(t, err)
	stain := slices.IndexFunc(p.Steps, func(s parts.Step) bool { return s.Coat == "stain" })
	status, _ := post(t, s.url+"/P/"+shelf+"/skip", url.Values{"id": {shoptest.NewID().String()}, "step": {"8"}, "reason": {"bought ready"}})
	require.Equal(t, http.StatusOK, status)
	scan := func(more ...string) (int, string) {
		form := url.Values{"id": {shoptest.NewID().String()}, "station": {"stain"}, "step": {strconv.Itoa(stain + 1)}}
		for i := 0; i+1 < len(more); i += 2 {
			form.Set(more[i], more[i+1])
		}
		return post(t, s.url+"/P/"+shelf+"/scan", form)
	}
	status, body := scan()
	require.Equal(t, http.StatusUnprocessableEntity, status)
	require.Contains(t, body, "Nobody has approved the colour of Locker brown")
	require.Contains(t, body, `href="/finish/mixes/locker-brown"`)

	status, _ = post(t, s.url+"/finish/mixes/locker-brown/samples", url.Values{"ratios": {"2:1, 3:1 4:1"}, "wood": {"white oak"}, "grit": {"180"}, "coats": {"2"}})
	require.Equal(t, http.StatusOK, status)
	status, body = post(t, s.url+"/finish/samples/2", url.Values{"mix": {"locker-brown"}, "by": {""}})
	require.Equal(t, http.StatusBadRequest, status)
	require.Contains(t, body, "Nobody is named")
	status, body = post(t, s.url+"/finish/samples/2", url.Values{"mix": {"locker-brown"}, "by": {"the club’s secretary"}})
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, "by the club’s secretary")

	_, body = get(t, s.url+"/finish")
	require.Contains(t, body, "to mix")
	form := formTo(t, s, "/finish/mixes/locker-brown?size=250+ml&measure=syringe", "/finish/mixes/locker-brown/batches")
	require.Equal(t, "250 ml", form.Get("size"))
	for range 2 { // a nervous thumb
		status, body = post(t, s.url+"/finish/mixes/locker-brown/batches", form)
		require.Equal(t, http.StatusOK, status)
		require.Contains(t, body, "Batch 1 is open")
	}
	status, body = scan()
	require.Equal(t, http.StatusOK, status)
	require.Contains(t, body, `Of <a href="/finish/batches/1">batch 1</a>`)
	require.Contains(t, body, "done with batch 1")
	_, body = get(t, s.url+"/finish/batches/1")
	require.Contains(t, body, shelf)
	require.Contains(t, body, "Oily rags can catch fire")
	status, body = post(t, s.url+"/finish/batches/1", url.Values{"left": {"9 l"}})
	require.Equal(t, http.StatusBadRequest, status)
	require.Contains(t, body, "Write what is really left")
	_, body = post(t, s.url+"/finish/batches/1", url.Values{"left": {"50 ml"}})
	require.Contains(t, body, "1.7 fl oz")
	_, body = post(t, s.url+"/finish/batches/1", url.Values{"open": {"0"}})
	require.Contains(t, body, "<h2>Closed</h2>")
}

func TestTheShelfAndTheWalls(t *testing.T) {
	s := mixedShop(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	_, body := post(t, s.url+"/finish/cans", url.Values{"name": {"Stain base"}, "left": {"1 qt"}, "lot": {"B-7"}, "opened": {"2026-02-01"}})
	require.Contains(t, body, "Stain base: 1 qt")
	require.Contains(t, body, "lot B-7")
	for field, bad := range map[string]string{"left": "lots", "opened": "soon", "name": ""} {
		form := url.Values{"name": {"Stain base"}, "left": {"1 qt"}}
		form.Set(field, bad)
		status, _ := post(t, s.url+"/finish/cans", form)
		assert.Equal(t, http.StatusBadRequest, status, field)
	}
	var shelf string
	for _, l := range job.Lines {
		if l.Name == "Shelf" {
			shelf = strconv.Itoa(int(l.ID))
		}
	}
	_, body = post(t, s.url+"/finish/groups", url.Values{"job": {job.Job.Code}, "name": {"North wall"}, "line": {shelf}})
	require.Contains(t, body, "<b>North wall</b>")
	_, body = post(t, s.url+"/finish/groups", url.Values{"job": {job.Job.Code}, "name": {"North wall"}})
	require.NotContains(t, body, "<b>North wall</b>")
	_, body = post(t, s.url+"/finish/measures", url.Values{"name": {"Syringe of 10 ml"}, "mark": {"0.5"}, "unit": {"ml"}, "holds": {"20"}})
	require.Contains(t, body, "<li>Syringe of 10 ml</li>")
	status, _ := post(t, s.url+"/finish/measures", url.Values{"name": {"Thimble"}, "mark": {"0"}, "unit": {"ml"}})
	require.Equal(t, http.StatusBadRequest, status)
}

// "Mix it" opens with the amount that was shown, and asking for that again
// gives the same list, in whatever unit it is shown.
func TestAnAmountThatWasShownDoesNotGrow(t *testing.T) {
	s := mixedShop(t)
	shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	_, body := get(t, s.url+"/finish")
	link := regexp.MustCompile(`href="(/finish/mixes/locker-brown\?size=[^"]+exact=[^"]+)"`).FindStringSubmatch(body)
	require.NotNil(t, link, body)
	page := html.UnescapeString(link[1])
	shown := regexp.MustCompile(`Together</td><td class="dose">([^<]+)<`)
	want := shown.FindStringSubmatch(body)[1]
	for range 3 {
		_, body = get(t, s.url+strings.ReplaceAll(page, " ", "%20"))
		require.Equal(t, want, shown.FindStringSubmatch(body)[1])
		form := formTo(t, s, strings.ReplaceAll(page, " ", "%20"), "/finish/mixes/locker-brown")
		require.Equal(t, want, form.Get("size"))
		page = "/finish/mixes/locker-brown?" + form.Encode()
	}
	// What is typed is asked for, and what that comes to is then the amount.
	form := formTo(t, s, page, "/finish/mixes/locker-brown")
	form.Set("size", "5.05 fl oz")
	_, body = get(t, s.url+"/finish/mixes/locker-brown?"+form.Encode())
	want = shown.FindStringSubmatch(body)[1]
	form = formTo(t, s, "/finish/mixes/locker-brown?"+form.Encode(), "/finish/mixes/locker-brown")
	form.Set("size", want)
	_, body = get(t, s.url+"/finish/mixes/locker-brown?"+form.Encode())
	require.Equal(t, want, shown.FindStringSubmatch(body)[1])
}

func TestTheFormOfAMixSaysWhatCounts(t *testing.T) {
	s := mixedShop(t)
	require.Equal(t, "10", formTo(t, s, "/finish/mixes", "/finish/mixes").Get("reserve"), "what is shown is what counts")
	form := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	_, body := post(t, s.url+"/finish/mixes", form)
	require.Contains(t, body, "<h2>Nothing changed</h2>")
	require.NotContains(t, body, "<h2>Kept</h2>")
	form.Set("pot-life", "8 h")
	form.Set("per-hour", "1 pt")
	form.Set("coverage", "")
	_, body = post(t, s.url+"/finish/mixes", form)
	require.Contains(t, body, "<h2>Kept</h2>")
	require.Contains(t, body, "Sets 8 h after mixing")
	require.Contains(t, body, "How far it goes is not written")
	m, err := s.bench.Mix(context.Background(), "locker-brown")
	require.NoError(t, err)
	require.Equal(t, 480, m.PotLife)
	form = formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	require.Equal(t, "8 h", form.Get("pot-life"))
	_, body = post(t, s.url+"/finish/mixes", form)
	require.Contains(t, body, "<h2>Nothing changed</h2>")
	form.Set("pot-life", "8")
	status, body := post(t, s.url+"/finish/mixes", form)
	require.Equal(t, http.StatusBadRequest, status, "hours or minutes?")
	require.Contains(t, body, "cannot be read")

	form = formTo(t, s, "/finish/mixes", "/finish/mixes")
	for name, v := range map[string]string{"name": "Rim lacquer", "coat": "lacker", "component-1-name": "Lacquer", "component-1-parts": "1"} {
		form.Set(name, v)
	}
	_, body = post(t, s.url+"/finish/mixes", form)
	require.Contains(t, body, "No step gives the coat lacker")
}

// A US gallon covers 1604 square feet one thousandth of an inch thick (231
// cubic inches, by arithmetic): at 500 square feet a coat is 3.2 mil wet, and
// with 40 % solids it dries to 1.3.
func TestHowThickACoatIs(t *testing.T) {
	s := mixedShop(t)
	_, body := get(t, s.url+"/finish/mixes/locker-brown")
	require.NotContains(t, body, "thick while it is wet", "a shop that gives no solids is told nothing")
	form := formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes")
	form.Set("solids", "40")
	post(t, s.url+"/finish/mixes", form)
	_, body = get(t, s.url+"/finish/mixes/locker-brown")
	require.Contains(t, text(body), "81 µm (3.2 mil) thick while it is wet, and dries to 33 µm (1.3 mil)")
}

// A client who changes his mind may choose a board again.
func TestABoardCanBeChosenAgain(t *testing.T) {
	s := mixedShop(t)
	post(t, s.url+"/finish/mixes/locker-brown/samples", url.Values{"ratios": {"2:1, 3:1 4:1"}, "wood": {"white oak"}, "grit": {"180"}, "coats": {"2"}})
	for _, number := range []string{"3", "1", "3"} {
		_, body := get(t, s.url+"/finish/mixes/locker-brown")
		require.Contains(t, body, `action="/finish/samples/`+number+`"`)
		status, _ := post(t, s.url+"/finish/samples/"+number, url.Values{"mix": {"locker-brown"}, "by": {"the club’s secretary"}})
		require.Equal(t, http.StatusOK, status)
		m, err := s.bench.Mix(context.Background(), "locker-brown")
		require.NoError(t, err)
		require.Equal(t, number, strconv.Itoa(m.Approved.Sample))
	}
}

// The page of a piece and the scanning page say above the button what the
// scan would say.
func TestThePageWarnsBeforeTheBrush(t *testing.T) {
	s := mixedShop(t)
	job := shoptest.ListJob(t, s.bench, "Tern Point lockers", shoptest.FramesList, map[string]int{"Locker front": 2})
	shelf := named(t, s, job.Job.Code, "Shelf", parts.Single)
	status, _ := post(t, s.url+"/P/"+shelf+"/skip", url.Values{"id": {shoptest.NewID().String()}, "step": {"9"}, "reason": {"bought ready"}})
	require.Equal(t, http.StatusOK, status)
	_, body := get(t, s.url+"/P/"+shelf)
	require.Contains(t, body, "Nobody has approved the colour of Locker brown")
	_, look := get(t, s.url+"/scan/look?mark="+shelf)
	require.Contains(t, look, `"warn":"Nobody has approved the colour of Locker brown."`)
	require.Contains(t, look, `"stops":true`)

	post(t, s.url+"/finish/mixes/locker-brown/samples", url.Values{"ratios": {"3:1"}, "wood": {"white oak"}, "grit": {"180"}, "coats": {"2"}})
	post(t, s.url+"/finish/samples/1", url.Values{"mix": {"locker-brown"}, "by": {"the club’s secretary"}})
	_, body = get(t, s.url+"/P/"+shelf)
	require.Contains(t, body, "No batch is open")
	post(t, s.url+"/finish/mixes/locker-brown/batches", formTo(t, s, "/finish/mixes/locker-brown", "/finish/mixes/locker-brown/batches"))
	_, body = get(t, s.url+"/P/"+shelf)
	require.Contains(t, body, `<a href="/finish/batches/1"><b>Batch 1</b></a> Locker brown`)
}

func TestACanPastItsDateSaysSo(t *testing.T) {
	s := mixedShop(t)
	_, body := post(t, s.url+"/finish/cans", url.Values{"name": {"Stain base"}, "left": {"1 qt"}, "expires": {"2020-01-01"}})
	require.Contains(t, body, "expired 1 Jan 2020, and does not count")
	status, body := post(t, s.url+"/finish/cans", url.Values{"name": {"Stain bays"}, "left": {"1 qt"}})
	require.Equal(t, http.StatusBadRequest, status)
	require.Contains(t, body, "Did you mean Stain base")
}
