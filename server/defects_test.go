package server_test

import (
	"context"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"

	"benchtally/parts"
)

// defectForm is what a browser sends of the form of one defect on the page;
// key "" is the form for a new one.
func defectForm(t *testing.T, s *shop, key string) url.Values {
	t.Helper()
	_, body := get(t, s.url+"/defects")
	root, err := html.Parse(strings.NewReader(body))
	require.NoError(t, err)
	for n := range root.Descendants() {
		if n.Data != "form" || value(n, "action") != "/defects" {
			continue
		}
		if form := fields(n); form.Get("key") == key {
			return form
		}
	}
	t.Fatalf("the page has no form of %q", key)
	return nil
}

// fields gives what a browser sends of a form that nobody touched.
func fields(form *html.Node) url.Values {
	sent := url.Values{}
	for n := range form.Descendants() {
		switch ticked := has(n, "checked"); {
		case n.Data == "input" && (value(n, "type") != "checkbox" || ticked):
			sent.Add(value(n, "name"), value(n, "value"))
		case n.Data == "select":
			sent.Add(value(n, "name"), "")
		case n.Data == "option" && has(n, "selected"):
			list := n.Parent
			for list.Data != "select" {
				list = list.Parent
			}
			sent.Set(value(list, "name"), value(n, "value"))
		}
	}
	return sent
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

func value(n *html.Node, key string) string {
	i := slices.IndexFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
	if i < 0 {
		return ""
	}
	return n.Attr[i].Val
}

// catalogue gives the defects that are kept, by their keys.
func catalogue(t *testing.T, s *shop) map[string]parts.Defect {
	t.Helper()
	all, err := s.bench.Defects(context.Background())
	require.NoError(t, err)
	out := map[string]parts.Defect{}
	for _, d := range all {
		out[d.Key] = d
	}
	return out
}

func TestADefectIsAddedAndChanged(t *testing.T) {
	s := serve(t)
	form := defectForm(t, s, "")
	form.Set("name", "Open joint")
	form.Set("step-1-name", "glue and clamp the joint")
	form.Set("step-1-at", "glue")
	form.Set("step-1-record", "1")
	form.Set("step-2-name", "set")
	form.Set("step-2-at", "wait:in clamps")
	form.Set("step-2-hours", "1.5")
	form.Set("limit", "2")
	status, body := post(t, s.url+"/defects", form)
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, body, "Open joint: kept")
	assert.Contains(t, body, "glue and clamp the joint, set 1 h 30 min; twice at most")
	want := parts.Defect{Key: "open-joint", Name: "Open joint", Limit: 2, Steps: []parts.Step{
		{Name: "glue and clamp the joint", Station: "glue", Record: true}, {Name: "set", Clock: parts.Clamps, Minutes: 90}}}
	assert.Equal(t, want, catalogue(t, s)["open-joint"])
	_, body = post(t, s.url+"/defects", form)
	assert.Contains(t, body, "Open joint: kept", "the same form sent twice")
	assert.Len(t, catalogue(t, s), 9)

	form = defectForm(t, s, "open-joint")
	form.Set("again", "last")
	form.Set("step-2-name", "")
	_, body = post(t, s.url+"/defects", form)
	assert.Contains(t, body, "glue and clamp the joint, then the last step again; twice at most")
	form = defectForm(t, s, "open-joint")
	form.Set("remake", "1")
	_, body = post(t, s.url+"/defects", form)
	assert.Contains(t, body, "nothing repairs it: remake")
	assert.Equal(t, parts.Defect{Key: "open-joint", Name: "Open joint", Remake: true}, catalogue(t, s)["open-joint"])
}

// A page that is sent as it was drawn changes nothing.
func TestKeepingADefectAsItIsChangesNothing(t *testing.T) {
	s := serve(t)
	before := catalogue(t, s)
	for key := range before {
		status, _ := post(t, s.url+"/defects", defectForm(t, s, key))
		assert.Equal(t, http.StatusOK, status, key)
	}
	assert.Equal(t, before, catalogue(t, s))
}

func TestADefectThatCannotBeKeptComesBackAsTyped(t *testing.T) {
	s := serve(t)
	before := catalogue(t, s)
	tests := []struct {
		name, key string
		changes   map[string]string
		status    int
		say       string
		typed     []string
	}{
		{"a limit in words", "dent", map[string]string{"limit": "often", "name": "Ding"}, 400, "“often” is not a number of times", []string{`value="often"`, `value="Ding"`}},
		{"a wait in words", "dent", map[string]string{"step-2-hours": "overnight"}, 400, "a time “overnight” that cannot be read", []string{`value="overnight"`}},
		{"no place", "dent", map[string]string{"step-1-at": ""}, 400, "Repair step 1, steam the dent, has no place", nil},
		{"a name that is there", "dent", map[string]string{"name": "blotch"}, 422, "There is a defect called", []string{`value="blotch"`}},
		{"a new one of a name that is there", "", map[string]string{"name": "Blotch", "again": "last", "step-3-name": "weep", "step-3-at": "sand"}, 422, "There is a defect called", []string{`value="weep"`}},
		{"a new one without a repair", "", map[string]string{"name": "Split"}, 400, "Split has no repair", []string{`value="Split"`}},
		{"a hole that is not bored again", "hole-off", map[string]string{"again": ""}, 400, "is bored again", nil},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			form := defectForm(t, s, tt.key)
			for name, text := range tt.changes {
				form.Set(name, text)
			}
			status, body := post(t, s.url+"/defects", form)
			assert.Equal(t, tt.status, status)
			assert.Contains(t, body, tt.say)
			for _, typed := range tt.typed {
				assert.Contains(t, body, typed)
			}
			assert.Equal(t, 1, openDetails(t, body), "only its own form is open")
		})
	}
	assert.Equal(t, before, catalogue(t, s), "what is refused changes nothing")
}

// openDetails counts the defects whose forms are open.
func openDetails(t *testing.T, page string) int {
	t.Helper()
	root, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	n := 0
	for d := range root.Descendants() {
		if d.Data == "details" && has(d, "id") && has(d, "open") {
			n++
		}
	}
	return n
}

func TestTwoPeopleChangeADefect(t *testing.T) {
	s := serve(t)
	mine, theirs := defectForm(t, s, "dent"), defectForm(t, s, "dent")
	theirs.Set("limit", "5")
	status, _ := post(t, s.url+"/defects", theirs)
	require.Equal(t, http.StatusOK, status)
	status, _ = post(t, s.url+"/defects", theirs)
	assert.Equal(t, http.StatusOK, status, "the same once more is no quarrel")
	mine.Set("limit", "1")
	status, body := post(t, s.url+"/defects", mine)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, body, "Somebody changed Dent")
	assert.Contains(t, body, "5 times at most")
	assert.Equal(t, 5, catalogue(t, s)["dent"].Limit)
	root, err := html.Parse(strings.NewReader(body))
	require.NoError(t, err)
	for n := range root.Descendants() {
		if form := fields(n); n.Data == "form" && form.Get("key") == "dent" {
			assert.Equal(t, "1", form.Get("limit"), "as it was typed")
			status, _ = post(t, s.url+"/defects", form)
			assert.Equal(t, http.StatusOK, status, "keeping it after all")
		}
	}
	assert.Equal(t, 1, catalogue(t, s)["dent"].Limit)
}

func TestFormsOfDefectsThatNobodyMade(t *testing.T) {
	s := serve(t)
	status, body := post(t, s.url+"/defects", url.Values{"name": {"x"}})
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "did not arrive whole")
	form := defectForm(t, s, "dent")
	form.Set("key", "nowhere")
	status, body = post(t, s.url+"/defects", form)
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, body, "knows no defect")
	form = defectForm(t, s, "dent")
	form.Set("step-1-binds", "1")
	status, body = post(t, s.url+"/defects", form)
	assert.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, body, "does more to the wood than a repair may")
}

// TestDefectsOnAPhone changes a defect in a real browser, with the script
// and the style sheet of the pages.
func TestDefectsOnAPhone(t *testing.T) {
	s := serve(t)
	p := openPhone(t, s.url, 390)
	p.open("/defects")
	assert.Contains(t, p.text("#drip-or-sag > summary"), "Drip or sag: sand back, then the coats you name again; twice at most")
	p.fits()
	p.picture("defects")
	p.press("#dent > summary")
	p.picture("defects-open")
	p.press("#dent details:nth-of-type(1) > summary")
	p.press("#dent details:nth-of-type(2) > summary")
	assert.Equal(t, "Nothing repairs it: remake", p.text("#dent .choice span")[:26])
	assert.True(t, see[bool](p, `document.querySelector("#dent [name=step-1-hours]").offsetParent === null`), "work has no hours")
	assert.True(t, see[bool](p, `document.querySelector("#dent [name=step-2-hours]").offsetParent !== null`), "a wait has")
	p.fits()
	p.picture("defects-edit")
	p.write("#dent [name=step-2-hours]", "12")
	p.tap("#dent button.main")
	assert.Contains(t, p.text(".kept"), "Dent: kept")
	assert.Contains(t, p.text("#dent > summary"), "dry 12 h")
	p.picture("defects-kept")
	p.press("#new > summary")
	p.write("#new [name=name]", "Split")
	p.write("#new [name=limit]", "often")
	p.tap("#new button.main")
	assert.Contains(t, p.text(".refused"), "“often” is not a number of times")
	p.fits()
	p.picture("defects-refused")
	wide := openPhone(t, s.url, 1280)
	wide.open("/defects")
	wide.press("#hole-off > summary")
	wide.fits()
	wide.picture("defects-wide")
}
