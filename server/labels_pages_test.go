package server_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// stickered is a shop in which the labels of a job were printed once.
func stickered(t *testing.T, sheet string) (*shop, bench.JobPieces, string) {
	s, job := stocked(t)
	o, err := s.bench.Print(t.Context(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels", Sheet: sheet})
	require.NoError(t, err)
	return s, job, fmt.Sprintf("%s/labels/%d", s.url, o.ID)
}

func TestSpoiledLabelsAreTicked(t *testing.T) {
	s, job, sheet := stickered(t, "roll-57x32")
	stile := named(t, s, job.Job.Code, "Stile 2", parts.Single)
	_, page := get(t, sheet)
	assert.Contains(t, page, `name="mark" value="`+stile+`"`)
	assert.Contains(t, text(page), stile+" Stile 2")
	form := func(also ...string) url.Values {
		f := url.Values{"id": {shoptest.NewID().String()}, "ticked": {"1"}}
		for _, m := range also {
			f.Add("mark", m)
		}
		return f
	}
	for _, width := range []int64{390, 1280} {
		p := openPhone(t, s.url, width)
		p.open(strings.TrimPrefix(sheet, s.url))
		p.press("main summary")
		p.fits()
		p.picture(fmt.Sprintf("sheet-%d", width))
	}
	status, page := post(t, sheet+"/spoiled", form())
	assert.Equal(t, 400, status, "none ticked is not all of them")
	assert.Contains(t, page, "No label is ticked")
	status, page = post(t, sheet+"/spoiled", form(stile))
	require.Equal(t, 200, status)
	assert.Contains(t, text(page), "1 label waits")
	_, page = get(t, sheet)
	assert.Contains(t, page, `value="`+stile+`" disabled`)
	assert.Contains(t, text(page), "waits to be printed")
	assert.NotContains(t, page, "This sheet was spoiled")
	status, page = post(t, sheet+"/spoiled", url.Values{"id": {shoptest.NewID().String()}})
	require.Equal(t, 200, status)
	assert.NotContains(t, text(page), "1 label waits")
}

func TestTheNextFreeLabelIsOffered(t *testing.T) {
	s, job, _ := stickered(t, "letter-3x10")
	papers, err := s.bench.Papers(t.Context())
	require.NoError(t, err)
	next := 0
	for _, p := range papers {
		if p.Key == "letter-3x10" {
			next = p.Next
		}
	}
	require.Greater(t, next, 1)
	for _, path := range []string{"/labels", "/jobs/" + job.Job.Code, "/P/" + named(t, s, job.Job.Code, "Rail 1", parts.Single)} {
		_, page := get(t, s.url+path)
		assert.Contains(t, page, fmt.Sprintf(`name="first" value="%d"`, next), path)
		assert.Contains(t, page, fmt.Sprintf(`value="letter-3x10" selected data-next="%d"`, next), path)
		assert.Contains(t, page, `value="roll-57x32" data-next="1" data-roll>`, path)
	}
	p := openPhone(t, s.url, 390)
	p.open("/jobs/" + job.Job.Code)
	see[bool](p, `(() => { const f = document.querySelector('.sheet-choice select'); f.value = 'roll-57x32'; f.dispatchEvent(new Event('change', {bubbles: true})); return true })()`)
	assert.False(t, see[bool](p, `document.querySelector('.sheet-choice .first').checkVisibility()`), "a roll has no first label")
	see[bool](p, `(() => { const f = document.querySelector('.sheet-choice select'); f.value = 'a4-3x8'; f.dispatchEvent(new Event('change', {bubbles: true})); return true })()`)
	assert.True(t, see[bool](p, `document.querySelector('.sheet-choice .first').checkVisibility()`))
	assert.Equal(t, "1", see[string](p, `document.querySelector('.sheet-choice [name=first]').value`), "a sheet of its own")
}

// What stands in grey is in millimetres, and so is a bare number, in a shop of
// inches too. What was read is said when it is refused.
func TestABareNumberIsReadAsTheGreyOnes(t *testing.T) {
	s := serve(t)
	set, err := s.bench.Settings(t.Context())
	require.NoError(t, err)
	set.Unit = parts.Inches
	require.NoError(t, s.bench.SaveSettings(t.Context(), set))
	_, page := get(t, s.url+"/labels/calibration?sheet=roll-57x32")
	assert.Contains(t, page, `placeholder="5 mm"`)
	assert.Contains(t, page, `placeholder="47 mm"`)
	form := url.Values{"sheet": {"roll-57x32"}, "left": {"5.5"}, "top": {"5"}, "across": {"47"}, "down": {"22"}}
	status, page := post(t, s.url+"/labels/calibration", form)
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, text(page), "moved 0.5 mm left")
	form.Set("left", "47.5")
	status, page = post(t, s.url+"/labels/calibration", form)
	assert.Equal(t, 400, status)
	assert.Contains(t, text(page), "“47.5” was read as 47.5 mm")
	form.Set("left", "1 7/8 in")
	_, page = post(t, s.url+"/labels/calibration", form)
	assert.Contains(t, text(page), "“1 7/8 in” was read as ≈ 47.6 mm")
}

// A format from the packet of a shop of inches that bought A4.
func TestAFormatOnThePaperOfThePacket(t *testing.T) {
	s := serve(t)
	_, page := get(t, s.url+"/labels/formats")
	assert.Less(t, strings.Index(page, `name="paper"`), strings.Index(page, `name="label_wide"`), "the paper is asked first")
	form := url.Values{"name": {"A4 stickers"}, "kind": {"sheet"}, "paper": {"letter"}, "unit": {"mm"}, "label_wide": {"70"}, "label_high": {"37"}, "columns": {"3"}, "rows": {"8"}}
	status, page := post(t, s.url+"/labels/formats", form)
	require.Equal(t, 400, status)
	assert.Contains(t, text(page), "8 labels 37 mm high do not fit on Letter: is it A4?")
	assert.Contains(t, page, `value="letter" checked`)
	assert.Contains(t, page, `value="mm" checked`)
	form.Set("paper", "a4")
	status, page = post(t, s.url+"/labels/formats", form)
	require.Equal(t, 200, status, text(page))
	assert.Contains(t, text(page), "24 labels on a page, each 70 mm × 37 mm")
	form.Set("paper", "other")
	form.Set("name", "Odd page")
	status, page = post(t, s.url+"/labels/formats", form)
	require.Equal(t, 400, status)
	assert.Contains(t, text(page), "The page has no width or no height")
	for _, width := range []int64{390, 1280} {
		p := openPhone(t, s.url, width)
		p.open("/labels/formats")
		p.press(".new-format summary")
		p.fits()
		p.picture(fmt.Sprintf("format-new-%d", width))
		visible := func(name string) bool {
			return see[bool](p, fmt.Sprintf(`document.querySelector('.new-format [name=%s]').checkVisibility()`, name))
		}
		assert.True(t, visible("paper"))
		assert.False(t, visible("page_wide"))
		see[bool](p, `document.querySelector('.new-format [value=other]').checked = true`)
		assert.True(t, visible("page_wide"))
		see[bool](p, `document.querySelector('.new-format [value=roll]').checked = true`)
		assert.False(t, visible("paper"))
		assert.False(t, visible("page_wide"))
	}
}
