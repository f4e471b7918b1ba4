package server_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// paperOf fetches a PDF and gives what poppler reads on it, a text for each
// page, and what zbar reads of the codes at 150 dpi.
func paperOf(t *testing.T, address string) (pages, codes []string) {
	t.Helper()
	for _, name := range []string{"pdftotext", "pdftoppm", "zbarimg"} {
		if _, err := exec.LookPath(name); err != nil {
			shoptest.SkipOrFail(t, name+" is not installed")
		}
	}
	status, pdf := get(t, address)
	require.Equal(t, http.StatusOK, status, pdf)
	dir := t.TempDir()
	if keep := os.Getenv("BENCHTALLY_SHOTS"); keep != "" {
		dir = filepath.Join(keep, strings.ReplaceAll(t.Name(), "/", "-")+fmt.Sprint(time.Now().UnixNano()))
		require.NoError(t, os.MkdirAll(dir, 0o755))
	}
	file := filepath.Join(dir, "paper.pdf")
	require.NoError(t, os.WriteFile(file, []byte(pdf), 0o600))
	out, err := exec.Command("pdftotext", "-layout", file, "-").Output()
	require.NoError(t, err)
	for _, page := range strings.Split(strings.TrimRight(string(out), "\f\n"), "\f") {
		pages = append(pages, strings.Join(strings.Fields(page), " "))
	}
	require.NoError(t, exec.Command("pdftoppm", "-r", "150", "-png", file, filepath.Join(dir, "page")).Run())
	shots, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	require.NoError(t, err)
	for _, shot := range shots {
		code, err := exec.Command("zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", shot).Output()
		require.NoError(t, err, "no code can be read on %s", filepath.Base(shot))
		codes = append(codes, strings.Fields(string(code))...)
	}
	return pages, codes
}

// inNewYork moves the shop to a zone that is five hours behind UTC in winter
// (IANA time zone database, America/New_York).
func inNewYork(t *testing.T, s *shop) {
	set, err := s.bench.Settings(context.Background())
	require.NoError(t, err)
	set.Zone = "America/New_York"
	require.NoError(t, s.bench.SaveSettings(context.Background(), set))
}

// logged counts the events of a mark.
func logged(t *testing.T, s *shop, mark string) int {
	events, err := s.bench.Events(context.Background(), mark)
	require.NoError(t, err)
	return len(events)
}

func TestTravelerBeforeAndAfterTheDryFit(t *testing.T) {
	s, job := stocked(t)
	inNewYork(t, s)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	stiles := named(t, s, job.Job.Code, "Stile", parts.Ticket)
	before := logged(t, s, frame) + logged(t, s, stiles)
	pages, codes := paperOf(t, s.url+"/P/"+frame+"/traveler.pdf")
	assert.Equal(t, []string{"http://192.168.1.20:8080/P/" + frame}, codes)
	require.Len(t, pages, 1)
	for _, want := range []string{frame, "Locker front 1", "as it stood on 2 Mar 2026 07:00", "Parts (4)", stiles, "2 × Stile", "2 × Rail", "4 at the crosscut saw (rough length)", "white oak",
		"cut to length", "dry fit", "at the glue bench", "in clamps, 1 h", "topcoat", "who, when", "No phone while solvent finish is sprayed", "data sheet"} {
		assert.Contains(t, pages[0], want)
	}
	assert.NotContains(t, pages[0], "07:00,", "nothing is done")
	assert.NotContains(t, pages[0], "Shelf", "it goes into nothing")

	finishParts(t, s, job)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Step: 1, By: "Rosa"})
	require.NoError(t, err)
	pages, _ = paperOf(t, s.url+"/P/"+strings.ToLower(frame)+"/traveler.pdf")
	for _, want := range []string{"Parts (4)", "Stile 1", "Stile 2", "Rail 1", "Rail 2", "dry fit at the glue bench 2 Mar 2026 07:00, Rosa", named(t, s, job.Job.Code, "Stile 2", parts.Single)} {
		assert.Contains(t, pages[0], want)
	}
	assert.NotContains(t, pages[0], "cut to length", "what its parts went through lies behind")
	_, err = s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Step: 2, By: "Rosa"})
	require.NoError(t, err)
	pages, _ = paperOf(t, s.url+"/P/"+frame+"/traveler.pdf")
	assert.Contains(t, pages[0], "in clamps until 2 Mar 2026 08:00", "on paper nobody is told that it is too early")
	assert.Contains(t, pages[0], "setting until 3 Mar 2026 07:00")
	assert.Equal(t, before+3, logged(t, s, frame)+logged(t, s, stiles), "fitted, glued, its label due; printing is nothing to the log")
}

func TestTravelersOfAJob(t *testing.T) {
	s, job := stocked(t)
	one, two := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly), named(t, s, job.Job.Code, "Locker front 2", parts.Assembly)
	at := "http://192.168.1.20:8080/P/"
	_, codes := paperOf(t, s.url+"/jobs/"+strings.ToLower(job.Job.Code)+"/travelers.pdf")
	assert.Equal(t, []string{at + one, at + two}, codes)
	_, err := s.bench.Scrap(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: one, Reason: "dropped"})
	require.NoError(t, err)
	_, codes = paperOf(t, s.url+"/jobs/"+job.Job.Code+"/travelers.pdf")
	assert.Equal(t, []string{at + two}, codes, "what is scrapped is not travelling")
	status, body := get(t, s.url+"/P/"+one+"/traveler.pdf")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "is scrapped")
}

// signing is the form with the day and the time of steps: number, name and
// when.
func signing(signatures ...[3]string) url.Values {
	form := url.Values{"id": {shoptest.NewID().String()}, "day": {"2026-03-02"}}
	for _, s := range signatures {
		day, at, _ := strings.Cut(s[2], "T")
		form.Set("by-"+s[0], s[1])
		form.Set("day-"+s[0], day)
		form.Set("time-"+s[0], at)
	}
	return form
}

func TestWhatWasSignedIsEnteredAfterwards(t *testing.T) {
	s, job := stocked(t)
	inNewYork(t, s)
	finishParts(t, s, job)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	s.clock.Pass(72 * time.Hour)
	_, body := get(t, s.url+"/P/"+frame+"/signed")
	assert.Contains(t, body, `name="day" value="2026-03-05" max="2026-03-05"`, "the shop's today")
	assert.Contains(t, body, `name="time-1" value=""`, "no step counts as signed before its time is written")
	assert.Contains(t, body, "then in clamps, 1 h")
	assert.Contains(t, text(body), "not before 24 h after glue up", "which step waits for how long, before anything is written")

	// Glued at 8:30: an hour in clamps and 23 to set end at 8:30 the day after.
	form := signing([3]string{"1", "Rosa", "2026-03-03T08:00"}, [3]string{"2", "Emil", "2026-03-03T08:30"}, [3]string{"5", "Rosa", "2026-03-04T08:29"}, [3]string{"6", "Rosa", "2026-03-04T11:00"})
	for range 3 { // a weak network sends it again
		status, body := post(t, s.url+"/P/"+frame+"/signed", form)
		require.Equal(t, http.StatusUnprocessableEntity, status)
		assert.Contains(t, body, "2 steps recorded")
		assert.Contains(t, body, "Not done")
		assert.Contains(t, body, "Locker front 1 is setting: 1 min to go", "why the next was not")
		assert.Contains(t, body, "<b>Sand</b> was not recorded")
		assert.Contains(t, body, `name="time-5" value="08:29"`, "what was written is kept")
		assert.Contains(t, body, `name="day-6" value="2026-03-04"`)
		assert.Contains(t, body, `name="by-6" value="Rosa"`)
		assert.NotContains(t, body, `name="time-2"`)
	}
	events, err := s.bench.Events(t.Context(), frame)
	require.NoError(t, err)
	require.Len(t, events, 4, "listed, fitted, glued, and its label wants printing")
	assert.Equal(t, time.Date(2026, 3, 3, 13, 30, 0, 0, time.UTC), events[2].At)
	people, err := s.bench.People(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "Emil", people[events[2].By])
	assert.Empty(t, events[2].Detail.Override)
	assert.Equal(t, shoptest.Noon.Add(72*time.Hour), events[2].Recorded)

	status, body := post(t, s.url+"/P/"+frame+"/signed", signing([3]string{"5", "Rosa", "2026-03-04T08:30"}, [3]string{"6", "Rosa", "2026-03-04T11:00"}))
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, "2 steps recorded")
	assert.NotContains(t, body, "Not done")
}

func TestThePartsAreSignedForFirst(t *testing.T) {
	s, job := stocked(t)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	_, body := get(t, s.url+"/P/"+frame+"/signed")
	assert.Contains(t, body, `href="/P/`+named(t, s, job.Job.Code, "Stile", parts.Ticket)+`/signed"`)
	status, body := post(t, s.url+"/P/"+frame+"/signed", signing([3]string{"1", "Rosa", "2026-03-02T12:00"}))
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "<b>Dry fit</b> was not recorded")
	finishParts(t, s, job)
	_, body = get(t, s.url+"/P/"+frame+"/signed")
	assert.NotContains(t, body, "Parts are missing")
}

func TestSignedFormsThatMakeNoSense(t *testing.T) {
	s, job := stocked(t)
	finishParts(t, s, job)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	before := logged(t, s, frame)
	tests := []struct {
		name, phrase string
		status       int
		form         url.Values
	}{
		{"nothing has a time", "No step has a time", 400, signing()},
		{"no id", "is not a UUID", 400, url.Values{"time-1": {"12:00"}}},
		{"a name and a day without a time", "No step has a time", 400, signing([3]string{"1", "Rosa", "2026-03-02T"})},
		{"a time that is none", "is no date and time", 400, signing([3]string{"1", "Rosa", "2026-03-02Tnoon"})},
		{"no day", "is no date and time", 400, url.Values{"id": {shoptest.NewID().String()}, "time-1": {"12:00"}}},
		{"before the job was made", "before this job was made", 400, signing([3]string{"1", "", "2026-03-02T11:59"})},
		{"times the wrong way round", "put the times right", 400, signing([3]string{"1", "", "2026-03-02T13:00"}, [3]string{"2", "", "2026-03-02T12:00"})},
		{"a time to come", "it is only", 400, signing([3]string{"1", "", "2026-03-02T12:01"})},
		{"a step that is no number", "is not a number", 400, signing([3]string{"one", "", "2026-03-02T12:00"})},
		{"a step that is none", "has no step 99", 400, signing([3]string{"99", "", "2026-03-02T12:00"})},
		{"a name that is no name", "longer than 40", 400, signing([3]string{"1", strings.Repeat("x", 41), "2026-03-02T12:00"})},
		{"a coat without its glue-up", "glue up", 422, signing([3]string{"6", "", "2026-03-02T12:00"})},
	}
	for _, tt := range tests {
		status, body := post(t, s.url+"/P/"+frame+"/signed", tt.form)
		assert.Equal(t, tt.status, status, tt.name)
		assert.Contains(t, body, tt.phrase, tt.name)
		assert.NotContains(t, body, "recorded</h2>", tt.name)
	}
	assert.Equal(t, before, logged(t, s, frame), "nothing of it was recorded")
	s.clock.Pass(2 * time.Hour)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Step: 1})
	require.NoError(t, err)
	status, body := post(t, s.url+"/P/"+frame+"/signed", signing([3]string{"2", "", "2026-03-02T13:00"}))
	assert.Equal(t, http.StatusAccepted, status, "older than what is known of it: it waits on the list of late scans")
	assert.Contains(t, body, `href="/late"`, "and the list is one tap away")
	_, body = get(t, s.url+"/late")
	assert.Contains(t, body, "Locker front 1")
}

func TestATicketIsSignedForAllOfIt(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail", parts.Ticket)
	s.clock.Pass(100*time.Minute + 20*time.Second)
	status, body := post(t, s.url+"/P/"+rail+"/signed", signing([3]string{"1", "Rosa", "2026-03-02T12:30"}, [3]string{"2", "Rosa", "2026-03-02T13:40"}))
	require.Equal(t, http.StatusOK, status, body)
	assert.Contains(t, body, "2 steps recorded")
	assert.Contains(t, body, "5 pieces", "spare counted")
	// The same minute as what is known already is no earlier moment.
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: named(t, s, job.Job.Code, "Stile", parts.Ticket), Station: "crosscut"})
	require.NoError(t, err)
	status, body = post(t, s.url+"/P/"+named(t, s, job.Job.Code, "Stile", parts.Ticket)+"/signed", signing([3]string{"2", "Rosa", "2026-03-02T13:40"}))
	require.Equal(t, http.StatusOK, status, body)
	status, body = post(t, s.url+"/P/"+rail+"/signed", signing([3]string{"1", "Rosa", "2026-03-02T13:40"}))
	require.Equal(t, http.StatusOK, status, "it is no error that somebody was first")
	assert.Contains(t, body, "was recorded before")
}

func TestAFittedPartIsSignedForWithItsAssembly(t *testing.T) {
	s, job := stocked(t)
	finishParts(t, s, job)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Step: 1})
	require.NoError(t, err)
	_, body := get(t, s.url+"/P/"+named(t, s, job.Job.Code, "Rail 1", parts.Single)+"/signed")
	assert.Contains(t, body, `action="/P/`+frame+`/signed"`)
	post(t, s.url+"/carts", url.Values{"id": {shoptest.NewID().String()}})
	carts, err := s.bench.Carts(t.Context())
	require.NoError(t, err)
	status, body := get(t, s.url+"/P/"+string(carts[0].Part)+"/signed")
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	assert.Contains(t, body, "no steps of its own")
}

func TestSigningOnAPhone(t *testing.T) {
	s, job := stocked(t)
	finishParts(t, s, job)
	s.clock.Pass(24 * time.Hour)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	p := openPhone(t, s.url, 390)
	p.open("/P/" + frame)
	p.fits()
	p.picture("traveler-links")
	p.tap("a[href$='/signed']")
	p.fits()
	p.picture("signed")
	see[bool](p, `(() => { const f = document.querySelector('form.signing');
		for (const [n, at] of [[1, '10:00'], [2, '10:30'], [5, '11:00']]) f.elements['time-' + n].value = at;
		f.dispatchEvent(new Event('input', {bubbles: true})); return true })()`)
	assert.Contains(t, p.text("[data-step='5'] .wet"), "10:30", "it says until when before anything is sent")
	p.picture("signed-written")
	p.tap("main form button.main")
	assert.Contains(t, p.text(".kept"), "2 steps recorded")
	assert.Contains(t, p.text(".refused"), "in clamps")
	p.fits()
	p.picture("signed-refused")
	wide := openPhone(t, s.url, 1280)
	wide.open("/P/" + frame + "/signed")
	wide.fits()
	wide.picture("signed-wide")
}

// One name and one day at the top stand for every step that has none of its own.
func TestOneNameAndOneDayFillAll(t *testing.T) {
	s, job := stocked(t)
	finishParts(t, s, job)
	frame := named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	s.clock.Pass(72 * time.Hour)
	status, body := post(t, s.url+"/P/"+frame+"/signed", url.Values{"id": {shoptest.NewID().String()}, "who": {" Rosa "}, "day": {"2026-03-03"},
		"time-1": {"08:00"}, "time-2": {"08:30"}, "by-2": {"Emil"}, "time-5": {"09:00"}, "day-5": {"2026-03-04"}, "time-6": {""}})
	require.Equal(t, http.StatusOK, status, text(body))
	assert.Contains(t, body, "3 steps recorded")
	assert.Contains(t, text(body), "Rosa")
	events, err := s.bench.Events(t.Context(), frame)
	require.NoError(t, err)
	people, err := s.bench.People(t.Context())
	require.NoError(t, err)
	var got []string
	for _, e := range events {
		if e.Kind == parts.Did {
			got = append(got, people[e.By]+" "+e.At.Format("2 Jan 15:04"))
		}
	}
	assert.Equal(t, []string{"Rosa 3 Mar 08:00", "Emil 3 Mar 08:30", "Rosa 4 Mar 09:00"}, got)

	// A wait that runs already says until when.
	two := named(t, s, job.Job.Code, "Locker front 2", parts.Assembly)
	for step := 1; step <= 2; step++ {
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: two, Step: step})
		require.NoError(t, err)
	}
	_, body = get(t, s.url+"/P/"+two+"/signed")
	assert.Contains(t, text(body), "waits until")
}
