package server_test

import (
	"io"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// gluedUp is a shop with a frame that was glued up just now, and one of its
// parts.
func gluedUp(t *testing.T) (s *shop, frame, part string) {
	s, job := stocked(t)
	finishParts(t, s, job)
	frame = named(t, s, job.Job.Code, "Locker front 1", parts.Assembly)
	for range 2 {
		_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "glue"})
		require.NoError(t, err)
	}
	p, err := s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	require.Equal(t, "in clamps", p.Stands)
	return s, frame, string(p.State.Parts[0])
}

// The page of a frame has one tap for clamps off, and before the time it comes
// with the reason; nobody has to press it.
func TestThePageSaysClampsOff(t *testing.T) {
	s, frame, _ := gluedUp(t)
	to := "/P/" + frame + "/clamps-off"
	form := func(more ...string) url.Values {
		f := url.Values{"id": {shoptest.NewID().String()}}
		for i := 0; i < len(more); i += 2 {
			f.Set(more[i], more[i+1])
		}
		return f
	}
	status, page := post(t, s.url+to, form())
	require.Equal(t, 422, status)
	assert.Contains(t, page, "Leave the clamps on. If you have checked the joint, say so.")
	assert.Equal(t, 2, strings.Count(page, `action="`+to+`"`), "with the refusal, and among what is offered")
	status, page = post(t, s.url+to, form("override", "1", "reason", "Joint checked, clamps may come off"))
	require.Equal(t, 200, status)
	assert.Contains(t, page, "<h2>Setting</h2>")
	assert.Contains(t, page, "“Joint checked, clamps may come off”")
	assert.Contains(t, page, "not waited out", "it stays visible")
	assert.NotContains(t, page, to)

	s, frame, _ = gluedUp(t)
	s.clock.Pass(time.Hour)
	req, err := http.NewRequest("GET", s.url+"/P/"+frame, nil)
	require.NoError(t, err)
	req.AddCookie(&http.Cookie{Name: "station", Value: "glue"}) // of a phone at the glue bench
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	page = string(body)
	assert.Contains(t, page, "<b>Clamps off</b>")
	sent := regexp.MustCompile(`/clamps-off"><input [^>]*name="id" value="([^"]+)"><input [^>]*name="station" value="([^"]*)">`).FindStringSubmatch(page)
	require.NotNil(t, sent)
	assert.Equal(t, "glue", sent[2])
	status, page = post(t, s.url+to, form("station", sent[2], "override", "1", "reason", "Joint checked, clamps may come off"))
	require.Equal(t, 200, status)
	assert.Contains(t, page, "<h2>Setting</h2>")

	s, frame, _ = gluedUp(t)
	s.clock.Pass(24 * time.Hour)
	_, err = s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: frame, Station: "sand"})
	require.NoError(t, err, "nobody said that they are off")
	_, page = get(t, s.url+"/P/"+frame)
	assert.NotContains(t, page, "Clamps off")
	assert.NotContains(t, page, "not waited out")
}

// A phone says it of the frame or of a part of it, also when it comes late.
func TestAPhoneSaysClampsOff(t *testing.T) {
	s, frame, part := gluedUp(t)
	status, a := phoneDo(t, s, map[string]any{"do": "clamps-off", "mark": part})
	require.Equal(t, 422, status)
	assert.Equal(t, "Joint checked, clamps may come off", a["overrule"])
	glued := s.clock.Now()
	s.clock.Pass(3 * time.Hour)
	deed := map[string]any{"do": "clamps-off", "mark": part, "id": shoptest.NewID().String(), "at": glued.Add(2 * time.Hour), "sent": s.clock.Now()}
	for range 2 {
		status, a = phoneDo(t, s, deed)
		require.Equal(t, 200, status)
		assert.Equal(t, []any{"recorded", frame, "Clamps off", "sand"}, []any{a["outcome"], a["mark"], a["did"], a["next"]})
	}
	p, err := s.bench.Look(t.Context(), frame)
	require.NoError(t, err)
	assert.Equal(t, "setting", p.Stands)
	assert.Equal(t, glued.Add(2*time.Hour), p.State.Past[2].At)
	_, a = phoneDo(t, s, map[string]any{"do": "clamps-off", "mark": frame})
	assert.Equal(t, "already", a["outcome"])
	// What comes from before what was recorded last is parked, and recorded when
	// a person has looked at it.
	status, late := phoneDo(t, s, map[string]any{"do": "undo", "command": deed["id"]})
	require.Equal(t, 200, status, "%v", late)
	_, late = phoneDo(t, s, map[string]any{"do": "clamps-off", "mark": frame, "at": glued.Add(-time.Minute), "sent": s.clock.Now()})
	require.Equal(t, "parked", late["outcome"])
	status, a = phoneDo(t, s, map[string]any{"do": "late-record", "command": late["command"], "mark": frame})
	require.Equal(t, 200, status)
	assert.Equal(t, "Clamps off", a["did"])
}
