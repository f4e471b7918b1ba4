package server

import (
	"bytes"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/rework"
	"benchtally/parts/routing"
	"benchtally/templates"
)

// anyDefect makes defects of every shape that the check lets pass.
func anyDefect(t *rapid.T) parts.Defect {
	name := rapid.StringMatching(`[A-Za-zäß"&<>'½,]([ -~äß]{0,18}[a-z.½])?`)
	d := parts.Defect{Key: rapid.SampledFrom([]string{"", "drip", "x-2"}).Draw(t, "key"), Name: name.Draw(t, "name")}
	if d.Remake = rapid.Bool().Draw(t, "remake"); d.Remake {
		return d
	}
	step := rapid.Custom(func(t *rapid.T) parts.Step {
		if rapid.Bool().Draw(t, "wait") {
			return parts.Step{Name: name.Draw(t, "name"), Clock: rapid.SampledFrom(parts.Clocks).Draw(t, "clock"), Minutes: rapid.IntRange(1, 60*24*365).Draw(t, "minutes")}
		}
		return parts.Step{Name: name.Draw(t, "name"), Station: rapid.SampledFrom(routing.Stations()).Draw(t, "station").Key,
			Scuff: rapid.Bool().Draw(t, "scuffs"), Record: rapid.Bool().Draw(t, "record")}
	})
	d.Again = rapid.SampledFrom([]parts.Again{parts.BoreAgain, parts.CoatsAgain, parts.LastAgain, parts.NothingAgain}).Draw(t, "again")
	d.Limit = rapid.IntRange(0, 20).Draw(t, "limit")
	d.Steps = rapid.SliceOfN(step, 1, 10).Draw(t, "steps")
	return d
}

// drawn is the form of a defect as a browser gets it.
func drawn(t require.TestingT, e defectEditor) string {
	var out bytes.Buffer
	page := defectsPage{Stations: routing.Stations()}
	require.NoError(t, pageOf(t, "defects").ExecuteTemplate(&out, "defect-form", dict("e", e, "page", page)))
	return out.String()
}

// What the page shows is what a browser sends back, and that is the same
// defect: a field that the page forgot would be lost here.
func TestTheDefectFormKeepsEveryField(t *testing.T) {
	keeps := func(t require.TestingT, d parts.Defect) {
		editor, err := editorOf(templates.English, d, routing.Stations(), nil, nil)
		require.NoError(t, err)
		sent, err := readDefect(formOf(t, drawn(t, editor)))
		require.NoError(t, err)
		require.Equal(t, d, sent)
	}
	for _, d := range rework.Catalogue() {
		keeps(t, d)
	}
	rapid.Check(t, func(t *rapid.T) {
		d := anyDefect(t)
		checked := d
		checked.Key = "x"
		require.NoError(t, rework.CheckDefect(checked, routing.Stations()))
		keeps(t, d)
	})
}

// sentDefect is the form of a drip, for tests that change a field of it.
func sentDefect(changes ...string) url.Values {
	form := writeDefect(parts.Defect{Key: "drip", Name: "Drip", Again: parts.CoatsAgain, Limit: 2,
		Steps: []parts.Step{{Name: "sand back", Station: "sand", Scuff: true}, {Name: "dry", Clock: parts.Drying, Minutes: 60}}})
	for i := 0; i+1 < len(changes); i += 2 {
		form.Set(changes[i], changes[i+1])
	}
	return form
}

func TestReadDefect(t *testing.T) {
	tests := []struct {
		name    string
		changes []string
		code    string
	}{
		{"as it is", nil, ""},
		{"a limit in words", []string{"limit", "twice"}, "defect-limit"},
		{"a limit of none", []string{"limit", "0"}, "defect-limit"},
		{"less than none", []string{"limit", "-1"}, "defect-limit"},
		{"a limit nobody counts to", []string{"limit", "99999999999999999999"}, "defect-limit"},
		{"no limit", []string{"limit", "  "}, ""},
		{"a form that was cut off", []string{"whole", ""}, "steps-torn"},
		{"a remake that was cut off", []string{"whole", "", "remake", "1"}, "steps-torn"},
		{"a wait in words", []string{"step-2-hours", "overnight"}, "step-hours"},
		{"a wait in words that does not count", []string{"step-2-hours", "overnight", "limit", "twice", "remake", "1"}, ""},
		{"more steps than the page takes", []string{"steps", "61"}, "steps-many"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := readDefect(sentDefect(tt.changes...))
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.NotEmpty(t, p.Do, "it does not say what to do")
			}
		})
	}
	d, err := readDefect(sentDefect("remake", "1"))
	require.NoError(t, err)
	assert.Equal(t, parts.Defect{Key: "drip", Name: "Drip", Remake: true}, d, "a remake has no repair")
	d, err = readDefect(sentDefect("step-2-number", "0.5", "step-1-name", ""))
	require.NoError(t, err)
	require.Len(t, d.Steps, 1)
	assert.Equal(t, "dry", d.Steps[0].Name)
}

// What could not be kept goes back to its own defect, and to no other.
func TestAFormGoesBackToItsDefect(t *testing.T) {
	sent := sentDefect("name", "Drip!", "limit", "often", "step-2-hours", "overnight")
	mine, err := editorOf(templates.English, parts.Defect{Key: "drip", Name: "Drip", Limit: 2}, routing.Stations(), sent, nil)
	require.NoError(t, err)
	assert.True(t, mine.Open)
	page := drawn(t, mine)
	for _, typed := range []string{`value="Drip!"`, `value="often"`, `value="overnight"`} {
		assert.Contains(t, page, typed)
	}
	_, err = readDefect(sent)
	require.Equal(t, "defect-limit", parts.CodeOf(err))
	sent.Set("limit", "2")
	_, err = readDefect(sent)
	mine, drawErr := editorOf(templates.English, parts.Defect{Key: "drip"}, routing.Stations(), sent, parts.AsProblem(err))
	require.NoError(t, drawErr)
	require.Len(t, mine.Blocks, 4)
	assert.False(t, mine.Blocks[0].Open)
	assert.True(t, mine.Blocks[1].Open, "the step that cannot be read")
	assert.Equal(t, "at the sanding bench", mine.Blocks[0].Where)
	for _, key := range []string{"", "sag"} {
		other, err := editorOf(templates.English, parts.Defect{Key: key, Name: "Sag", Again: parts.LastAgain}, routing.Stations(), sent, nil)
		require.NoError(t, err)
		assert.False(t, other.Open)
		assert.Equal(t, "Sag", other.Name)
	}
}

// FuzzReadDefect: whatever is sent never breaks the reader, and a defect that
// passes the check comes back unchanged from the form it is written to.
func FuzzReadDefect(f *testing.F) {
	for _, d := range rework.Catalogue() {
		f.Add(writeDefect(d).Encode())
	}
	f.Add("key=&name=%00a%ff&again=last&limit=%2B3&steps=1&whole=1&step-1-number=3,5&step-1-name=a&step-1-at=wait:drying&step-1-hours=50+min")
	f.Add("key=hole-off&name=a&again=coats&steps=1&whole=1&step-1-number=1&step-1-name=a&step-1-at=sand&step-1-snipe=2&step-1-binds=1")
	f.Fuzz(func(t *testing.T, body string) {
		form, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		d, err := readDefect(form)
		if err != nil {
			require.NotNil(t, parts.AsProblem(err), "%v", err)
			return
		}
		if rework.CheckDefect(d, routing.Stations()) != nil {
			return
		}
		again, err := readDefect(writeDefect(d))
		require.NoError(t, err)
		require.Equal(t, d, again)
	})
}

func TestDefectWords(t *testing.T) {
	want := map[string]string{
		"hole-off":       "plug sets 2 h, then the hole bored again; twice at most",
		"tear-out":       "sand the tear-out away; twice at most",
		"dent":           "steam the dent, dry 24 h, sand it level; 3 times at most",
		"cut-short":      "nothing repairs it: remake",
		"squeeze-out":    "scrape the glue off and sand",
		"drip-or-sag":    "sand back, then the coats you name again; twice at most",
		"blotch":         "sand back, then the coats you name again; twice at most",
		"sanded-through": "sand back, then the coats you name again; twice at most",
	}
	got := map[string]string{}
	for _, d := range rework.Catalogue() {
		got[d.Key] = defectWords(templates.English, d)
	}
	assert.Equal(t, want, got)
	assert.Equal(t, "the last step again; once at most", defectWords(templates.English, parts.Defect{Again: parts.LastAgain, Limit: 1}))
}

// A defect's print changes with everything that a person can change.
func TestPrintOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyDefect(t), anyDefect(t)
		same := strings.Join([]string{printOf(a), printOf(b)}, " ") == printOf(a)+" "+printOf(a)
		require.Equal(t, assert.ObjectsAreEqual(a, b), same)
	})
}
