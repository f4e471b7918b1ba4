package server_test

import (
	"context"
	"net/url"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// blockForm adds one block to a form of the editor.
func blockForm(form url.Values, block, number, name, at string, more ...string) {
	form.Set("whole", "1")
	form.Set("steps", block)
	set := func(field, value string) { form.Add("step-"+block+"-"+field, value) }
	set("number", number)
	set("name", name)
	set("at", at)
	for i := 0; i+1 < len(more); i += 2 {
		set(more[i], more[i+1])
	}
}

// stepsOf gives the newest version of a list.
func stepsOf(t *testing.T, s *shop, key string) parts.Routing {
	t.Helper()
	all, err := s.bench.Routings(context.Background())
	require.NoError(t, err)
	for _, r := range all {
		if r.Key == key {
			return r
		}
	}
	t.Fatalf("no steps %q", key)
	return parts.Routing{}
}

func TestStepsAreEdited(t *testing.T) {
	s, job := stocked(t)
	form := url.Values{"name": {"Loose solid part"}, "version": {"1"}}
	blockForm(form, "1", "2", "plane", "plane", "sets", "thickness", "safe-length", "12", "snipe", "2 1/2", "cuts", "back", "cuts", "show face", "each", "1.5", "each-in", "minutes")
	blockForm(form, "2", "1", "rough length", "crosscut", "parts", "1")
	blockForm(form, "3", "1.5", "rest", "wait:resting", "hours", "0,5")
	blockForm(form, "4", "9", "", "rip")
	status, body := post(t, s.url+"/steps/loose-part", form)
	require.Equal(t, 200, status)
	assert.Contains(t, body, "Jobs made from now on follow version 2. What is under way keeps its steps until you move it over on the job’s page.")
	assert.Contains(t, body, "Version 1 is still in use")
	assert.Contains(t, body, `1 piece under way: <a href="/jobs/`+job.Job.Code+`">1 of Tern Point lockers</a>`)
	assert.Equal(t, []parts.Step{
		{Name: "rough length", Station: "crosscut", Parts: true},
		{Name: "rest", Clock: parts.Resting, Minutes: 30},
		{Name: "plane", Station: "plane", Sets: parts.ToThickness, Safe: parts.Smallest{Length: 12 * parts.Inch}, Snipe: 5 * parts.Inch / 2,
			Cuts: []parts.Face{parts.ShowFace, parts.BackFace}, EachSeconds: 90},
	}, stepsOf(t, s, "loose-part").Steps)
	shelf, err := s.bench.Look(context.Background(), named(t, s, job.Job.Code, "Shelf", parts.Single))
	require.NoError(t, err)
	assert.Greater(t, len(shelf.Steps), 10, "a part under way keeps the steps it started with")
}

// What was typed comes back with what is wrong with it, and nothing is kept.
func TestStepsThatAreWrongComeBackAsTyped(t *testing.T) {
	s, _ := stocked(t)
	send := func(change func(url.Values)) (int, string) {
		form := url.Values{"name": {"Loose solid part"}, "version": {"1"}}
		blockForm(form, "1", "1", "coat the <back>", "topcoat", "coats", "back", "coat", "clear")
		blockForm(form, "2", "2", "cleats", "glue", "joins", "back", "check", "cleats flush")
		change(form)
		return post(t, s.url+"/steps/loose-part", form)
	}
	tests := []struct {
		name, field, value string
		status             int
		say                string
	}{
		{"glue on a smooth coat", "step-2-number", "1.5", 400, "Step 2 glues onto the back, which step 1 coats: put a step before it that scuffs."},
		{"a size in words", "step-2-safe-length", "long", 400, "cleats, the smallest safe length: “long” cannot be read"},
		{"a number in words", "step-2-number", "last", 400, "The number “last” of cleats cannot be read."},
		{"no name", "name", " ", 400, "The steps have no name."},
		{"a scuff that comes with the glue", "step-2-scuffs", "1", 400, "put a step before it that scuffs"},
		{"from an older page", "version", "0", 409, "Somebody saved version 1"},
		{"cut off", "whole", "", 400, "did not arrive whole"},
	}
	for _, tt := range tests {
		got, body := send(func(f url.Values) { f.Set(tt.field, tt.value) })
		assert.Equal(t, tt.status, got, tt.name)
		assert.Contains(t, text(body), tt.say, tt.name)
		if tt.field != "whole" {
			assert.Contains(t, body, `value="cleats flush"`, tt.name)
		}
	}
	assert.Equal(t, 1, stepsOf(t, s, "loose-part").Version)
	_, body := send(func(url.Values) {})
	assert.Contains(t, body, `<details class="step" id="step-2" open>`, "the step that is wrong is open")
	assert.Contains(t, body, `<details class="step" id="step-1">`)
}

func TestNewStepsForAnAssembly(t *testing.T) {
	s, _ := stocked(t)
	_, page := get(t, s.url+"/steps/new?for=assembly")
	assert.Contains(t, page, "Dry fit")
	assert.NotContains(t, page, "becomes several parts", "an assembly is no blank")
	form := url.Values{"name": {"Bench back"}, "for": {"assembly"}, "version": {"0"}}
	blockForm(form, "1", "1", "dry fit", "glue", "binds", "1", "record", "1")
	blockForm(form, "2", "2", "glue up", "glue", "glues", "1", "record", "1", "joins", "edges")
	status, body := post(t, s.url+"/steps/new", form)
	require.Equal(t, 200, status)
	assert.Contains(t, body, "These steps can be chosen for jobs made from now on.")
	assert.Contains(t, body, "glues for good · glue on edges · must be recorded")
	assert.Equal(t, parts.Assembly, stepsOf(t, s, "bench-back").For)
}

// A person opens a step, writes and keeps it, in a real browser.
func TestStepsAreEditedInABrowser(t *testing.T) {
	s, _ := stocked(t)
	for _, width := range []int64{390, 1280} {
		p := openPhone(t, s.url, width)
		shot := func(name string) {
			p.fits()
			p.picture("steps-" + name + map[int64]string{390: "-phone", 1280: "-desk"}[width])
		}
		p.open("/steps/frame")
		shot("closed")
		p.press("#step-5 > summary")
		require.True(t, see[bool](p, `document.querySelector('#step-5 .of-work').offsetHeight > 0 && document.querySelector('#step-5 .of-wait').offsetHeight == 0 && document.querySelector('#step-5 .of-drying').offsetHeight == 0`), "work shows no window")
		shot("work")
		p.press("#step-5 > summary")
		p.press("#step-3 > summary")
		require.True(t, see[bool](p, `document.querySelector('#step-3 .of-wait').offsetHeight > 0 && document.querySelector('#step-3 .of-drying').offsetHeight == 0`), "only what dries shows a window")
		p.press("#step-3 > summary")
		p.press("#step-7 > summary")
		require.True(t, see[bool](p, `document.querySelector('#step-7 .of-drying').offsetHeight > 0 && document.querySelector('#step-7 .of-work').offsetHeight == 0`), "a wait shows no machine")
		p.write("input[name=step-7-latest]", "0.5")
		shot("wait")
		p.tap("form.editor button.main")
		require.Contains(t, p.text(".refused"), "Step 7, dry, is over after 12 h, and the next coat may come after 30 min at the latest")
		require.True(t, see[bool](p, `document.querySelector('#step-7').open`))
		shot("wrong")
		see[string](p, `document.querySelector('input[name=step-7-latest]').value = ''`)
		p.tap("form.editor button.main")
		require.Contains(t, p.text(".kept"), "Jobs made from now on follow version")
		shot("kept")
		p.open("/steps/new")
		shot("new")
	}
	first, now := stepsBefore(t, "frame"), stepsOf(t, s, "frame")
	require.Equal(t, 3, now.Version)
	assert.Equal(t, first, now.Steps, "a step that was not touched is as it was")
}

// stepsBefore gives a list as a fresh shop has it.
func stepsBefore(t *testing.T, key string) []parts.Step {
	return stepsOf(t, &shop{bench: shoptest.Open(t, shoptest.NewClock())}, key).Steps
}
