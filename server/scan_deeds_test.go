package server_test

import (
	"bytes"
	"encoding/json"
	"image"
	"image/jpeg"
	"net/http"
	"net/http/cookiejar"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// boredList has stiles with holes of a pattern in both ends and one in an edge.
const boredList = `qty,part,length,width,thickness,material,assembly,spares,pattern
6,Stile,34 1/2,2 1/4,3/4,white oak,Bench back,1,Stile holes
3,Rail,11 3/8,2 1/4,3/4,white oak,Bench back,,
`

// stilePattern has two holes in each end and one in the near edge.
func stilePattern() parts.Pattern {
	const eighth = parts.Inch / 8
	end := func(into parts.HoleFace, along parts.Length) parts.Hole {
		return parts.Hole{Into: into, Along: along, Diameter: 3 * eighth, Depth: 8 * eighth}
	}
	return parts.Pattern{Name: "Stile holes", Holes: []parts.Hole{
		end(parts.IntoLeftEnd, 5*eighth), end(parts.IntoLeftEnd, 13*eighth), end(parts.IntoRightEnd, 5*eighth), end(parts.IntoRightEnd, 13*eighth),
		{Into: parts.IntoNearEdge, Along: 32 * eighth, Diameter: 2 * eighth, Depth: 4 * eighth}}}
}

// boredShop is a shop with a job of bored stiles, and a phone's clock.
func boredShop(t testing.TB) (*shop, bench.JobPieces) {
	s, _ := scanShop(t, fortyEight)
	_, err := s.bench.SavePattern(t.Context(), stilePattern())
	require.NoError(t, err)
	job := shoptest.ListJob(t, s.bench, "Tern Point benches", boredList, map[string]int{"Bench back": 3})
	for _, st := range job.States {
		if st.Kind == parts.Ticket && job.LineOf(st).Kind == parts.Single {
			_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: string(st.Part), Station: "bore"})
			require.NoError(t, err)
		}
	}
	return s, job
}

// spareOf is a spare of the job.
func spareOf(t testing.TB, job bench.JobPieces) string {
	i := slices.IndexFunc(job.States, func(st parts.State) bool { return st.Spare })
	require.GreaterOrEqual(t, i, 0)
	return string(job.States[i].Part)
}

func jpegPicture(t testing.TB) []byte {
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, image.NewGray(image.Rect(0, 0, 40, 30)), nil))
	return out.Bytes()
}

// Everything that a person says of a piece beside its steps comes through the
// same door as a scan: with an id of its own, and once.
func TestAPhoneSaysWhatIsOff(t *testing.T) {
	s, job := boredShop(t)
	code := job.Job.Code
	stile := func(n string) string { return named(t, s, code, "Stile "+n, parts.Single) }
	photo, err := http.Post(s.url+"/scan/photo", "image/jpeg", bytes.NewReader(jpegPicture(t)))
	require.NoError(t, err)
	var kept struct{ Name string }
	require.NoError(t, json.NewDecoder(photo.Body).Decode(&kept))
	photo.Body.Close()

	id := shoptest.NewID().String()
	mend := map[string]any{"id": id, "do": "mend", "mark": stile("1"), "station": "bore", "defect": "hole-off", "spot": "left end, hole 2", "photo": kept.Name}
	for range 2 {
		status, a := phoneDo(t, s, mend)
		require.Equal(t, 200, status, a)
		assert.Equal(t, "Trim flush, bore again", capitalOf(a["next"]))
		assert.NotEmpty(t, a["from"], "the plug sets")
	}
	events, err := s.bench.Events(t.Context(), stile("1"))
	require.NoError(t, err)
	last := events[len(events)-1]
	assert.Equal(t, []string{string(parts.Plugged), "left end, hole 2", kept.Name}, []string{string(last.Kind), last.Detail.Spot, last.Detail.Photo})

	spare := spareOf(t, job)
	_, err = s.bench.Print(t.Context(), printing(code, stile("4")))
	require.NoError(t, err)
	steps := []struct {
		body   map[string]any
		status int
		code   string
	}{
		{map[string]any{"do": "mend", "mark": stile("1"), "defect": "dent"}, 422, "under-repair"},
		{map[string]any{"do": "mend", "mark": stile("2"), "defect": "cut-short"}, 422, "remake-better"},
		{map[string]any{"do": "mend", "mark": stile("2"), "defect": "warped"}, 400, "defect-unknown"},
		{map[string]any{"do": "hold", "mark": stile("2")}, 400, "reason-missing"},
		{map[string]any{"do": "hold", "mark": stile("2"), "reason": "Crack"}, 200, ""},
		{map[string]any{"do": "release", "mark": stile("2")}, 200, ""},
		{map[string]any{"do": "remake", "mark": stile("2"), "reason": "Spoiled", "spare": spare}, 200, ""},
		{map[string]any{"do": "scrap", "mark": stile("3"), "reason": "Spoiled"}, 200, ""},
		{map[string]any{"do": "relabel", "mark": stile("4")}, 200, ""},
		{map[string]any{"do": "relabel", "mark": stile("4")}, 200, "label-waits"},
		{map[string]any{"do": "relabel", "mark": named(t, s, code, "Stile", parts.Ticket)}, 422, "label-none"},
		{map[string]any{"do": "lost", "mark": named(t, s, code, "Rail", parts.Ticket), "step": 99, "count": 1, "instead": "remake", "reason": "Spoiled"}, 422, "count"},
		{map[string]any{"do": "load", "mark": stile("5"), "cart": stile("4")}, 400, "not-a-cart"},
	}
	for _, step := range steps {
		status, a := phoneDo(t, s, step.body)
		assert.Equal(t, step.status, status, "%v: %v", step.body, a)
		assert.Equal(t, step.code, textOf(a["code"]), "%v", step.body)
	}
	_, look := get(t, s.url+"/scan/look?mark="+stile("4"))
	assert.Contains(t, look, `"label_due":true`)
}

func textOf(v any) string    { text, _ := v.(string); return text }
func capitalOf(v any) string { text := textOf(v); return strings.ToUpper(text[:1]) + text[1:] }

// What came too late for its piece is settled with one tap.
func TestAPhoneSettlesWhatCameLate(t *testing.T) {
	s, job := stocked(t)
	rail := named(t, s, job.Job.Code, "Rail 2", parts.Single)
	s.clock.Pass(2 * time.Hour)
	_, err := s.bench.Scan(t.Context(), bench.Request{ID: shoptest.NewID(), Mark: rail, Station: "crosscut"})
	require.NoError(t, err)
	park := func() string {
		id := shoptest.NewID().String()
		at := s.clock.Now().Add(-time.Hour).Format(time.RFC3339)
		status, a := phoneDo(t, s, map[string]any{"id": id, "do": "scan", "mark": rail, "station": "rip", "single": true, "at": at})
		require.Equal(t, http.StatusAccepted, status, a)
		return id
	}
	dropped, recorded := park(), park()
	status, a := phoneDo(t, s, map[string]any{"do": "late-drop", "command": dropped})
	assert.Equal(t, []any{200, "settled"}, []any{status, a["outcome"]})
	status, a = phoneDo(t, s, map[string]any{"do": "late-record", "command": recorded})
	assert.Equal(t, []any{200, "recorded"}, []any{status, a["outcome"]}, a)
	status, _ = phoneDo(t, s, map[string]any{"do": "late-drop", "command": shoptest.NewID().String()})
	assert.Equal(t, 404, status)
	left, err := s.bench.LateScans(t.Context())
	require.NoError(t, err)
	assert.Empty(t, left)
}

func TestABadgeOnTheScanningPage(t *testing.T) {
	s, _ := peopled(t)
	people, err := s.bench.Badges(t.Context())
	require.NoError(t, err)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	client := http.Client{Jar: jar}
	who := func(person int64) (int, string) {
		asked := map[string]any{}
		if person != 0 {
			asked["person"] = person
		}
		body, err := json.Marshal(asked)
		require.NoError(t, err)
		res, err := client.Post(s.url+"/scan/who", "application/json", bytes.NewReader(body))
		require.NoError(t, err)
		defer res.Body.Close()
		var out struct{ Who string }
		require.NoError(t, json.NewDecoder(res.Body).Decode(&out))
		return res.StatusCode, out.Who
	}
	for _, p := range people {
		status, name := who(p.Person)
		assert.Equal(t, []any{200, p.Name}, []any{status, name})
	}
	status, _ := who(99)
	assert.Equal(t, 404, status)
	status, name := who(0)
	assert.Equal(t, []any{200, ""}, []any{status, name})
}

// Lines that share the fence are counted together.
func TestATallyCountsTheWholeSetup(t *testing.T) {
	s, job := boredShop(t)
	list := "qty,part,length,width,thickness,material\n6,Slat,34 1/2,2 1/4,3/4,white oak\n4,Cleat,11 3/8,2 1/4,3/4,white oak\n3,Shelf,20,9,3/4,white oak\n"
	job = shoptest.ListJob(t, s.bench, "Tern Point racks", list, nil)
	step := 0
	slat := named(t, s, job.Job.Code, "Slat 1", parts.Single)
	p, err := s.bench.Look(t.Context(), slat)
	require.NoError(t, err)
	for i, st := range p.Steps {
		if st.Sets == parts.ToWidth {
			step = parts.StepNumber(i, false)
			break
		}
	}
	status, a := phoneDo(t, s, map[string]any{"do": "scan", "mark": slat, "step": step, "station": p.Steps[step-1].Station})
	require.Equal(t, 200, status, a)
	tally := a["tally"].(map[string]any)
	assert.Equal(t, []any{1., 10.}, []any{tally["done"], tally["of"]}, "six slats and four cleats, and no shelf")
	assert.Equal(t, `Rip to width: 2 1/4"`, tally["setup"])
}

// printing asks for the label of one piece.
func printing(job, mark string) bench.PrintRequest {
	return bench.PrintRequest{ID: shoptest.NewID(), Job: job, What: "labels", Marks: []string{mark}}
}
