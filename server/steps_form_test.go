package server

import (
	"bytes"
	"maps"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/html"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/routing"
	"benchtally/templates"
)

// styles are the ways in which shops write lengths.
var styles = []parts.Style{{Unit: parts.Inches, Denominator: 32}, {Unit: parts.Inches, Denominator: 8}, {Unit: parts.Millimetres}}

// anyStep makes steps of every shape that the check of steps lets pass.
func anyStep(t *rapid.T) parts.Step {
	text := func(most int) *rapid.Generator[string] {
		return rapid.StringMatching(`([A-Za-zäß"&<>'½,][ -~äß]{0,18}[a-z.½])?`).Filter(func(s string) bool { return len([]rune(s)) <= most })
	}
	name := "x" + text(40).Draw(t, "name")
	if rapid.Bool().Draw(t, "wait") {
		s := parts.Step{Name: name, Clock: rapid.SampledFrom(parts.Clocks).Draw(t, "clock"), Minutes: rapid.IntRange(1, 525599).Draw(t, "minutes")}
		if rapid.Bool().Draw(t, "window") {
			s.Latest = rapid.IntRange(s.Minutes+1, 525600).Draw(t, "latest")
			s.Missed = text(120).Filter(func(s string) bool { return !strings.Contains(strings.ToLower(s), "scuff") }).Draw(t, "missed")
		}
		return s
	}
	maybe := func(label string) bool { return rapid.Bool().Draw(t, label) }
	length := rapid.OneOf(rapid.Just(parts.Length(0)), rapid.Map(rapid.IntRange(1, 64), func(n int) parts.Length { return parts.Length(n) * parts.Inch / 64 }),
		rapid.Map(rapid.IntRange(1, 9999), func(n int) parts.Length { return parts.Length(n) * parts.Millimetre / 10 }), rapid.Map(rapid.Int64Range(1, int64(parts.Metre)), func(n int64) parts.Length { return parts.Length(n) }))
	faces := func(label string) []parts.Face {
		var out []parts.Face
		for _, f := range parts.Faces {
			if maybe(label + " " + string(f)) {
				out = append(out, f)
			}
		}
		return out
	}
	size := rapid.SampledFrom(append([]parts.Dimension{""}, parts.Dimensions...))
	s := parts.Step{
		Name: name, Station: rapid.SampledFrom(routing.Stations()).Draw(t, "station").Key,
		Record: maybe("record"), Glues: maybe("glues"), Bores: maybe("bores"), Scuff: maybe("scuff"),
		Sets: size.Draw(t, "sets"), Makes: size.Draw(t, "makes"), Check: text(120).Draw(t, "check"),
		Cuts: faces("cuts"), Bears: faces("bears"), Coats: faces("coats"),
		Safe:  parts.Smallest{Length: length.Draw(t, "long"), Width: length.Draw(t, "wide"), Thick: length.Draw(t, "thick")},
		Snipe: length.Draw(t, "snipe"), SetupMinutes: rapid.IntRange(0, 1440).Draw(t, "setup"), EachSeconds: rapid.IntRange(0, 86400).Draw(t, "each"),
	}
	if s.Coats != nil {
		s.Coat = "c" + text(39).Draw(t, "coat")
	}
	return s
}

// anySteps makes a list that the check of steps accepts.
func anySteps(t *rapid.T) parts.Routing {
	r := parts.Routing{Name: "Shop steps", For: parts.Single, Steps: rapid.SliceOfN(rapid.Custom(anyStep), 0, 12).Draw(t, "steps")}
	r.Steps = append(r.Steps, parts.Step{Name: "wrap", Station: "wrap"})
	for i := range r.Steps {
		s := &r.Steps[i]
		if !s.Wait() && i < 2 { // nothing is coated before
			s.Joins = rapid.SampledFrom([][]parts.Face{nil, {parts.BackFace}, {parts.Edges, parts.Ends}}).Draw(t, "joins")
			s.Coats, s.Coat = nil, ""
		}
	}
	if i := rapid.IntRange(0, len(r.Steps)-1).Draw(t, "parts"); !r.Steps[i].Wait() {
		r.Steps[i].Parts = true
	}
	if rapid.Bool().Draw(t, "assembly") {
		r.For = parts.Assembly
		for i := range r.Steps {
			r.Steps[i].Parts = false
		}
		r.Steps[len(r.Steps)-1].Binds = true
	}
	return r
}

// What the editor shows is what a browser sends back, and that is the same
// steps: a field that the page forgot would be lost here.
func TestTheEditorKeepsEveryField(t *testing.T) {
	pages, err := templates.Parse(functions)
	require.NoError(t, err)
	rapid.Check(t, func(t *rapid.T) {
		r, style := anySteps(t), rapid.SampledFrom(styles).Draw(t, "style")
		require.NoError(t, routing.CheckSteps(r, routing.Stations()))
		page := stepsEditor{Routing: r, Stations: routing.Stations(), Unit: style.Unit}
		page.Blocks, err = arranged(writeSteps(r.Steps, style), nil)
		require.NoError(t, err)
		page.Sent = len(page.Blocks)
		var drawn bytes.Buffer
		require.NoError(t, pages["steps_edit"].ExecuteTemplate(&drawn, "content", frame{Body: page}))
		sent, err := readSteps(formOf(t, drawn.String()), style.Unit)
		require.NoError(t, err)
		require.Equal(t, r.Steps, sent)
	})
}

// formOf gives what a browser would send of the first form on a page.
func formOf(t require.TestingT, page string) url.Values {
	root, err := html.Parse(strings.NewReader(page))
	require.NoError(t, err)
	form := url.Values{}
	for n := range root.Descendants() {
		switch {
		case n.Type != html.ElementNode || attr(n, "name") == "":
		case n.Data == "input" && attr(n, "type") == "checkbox":
			if has(n, "checked") {
				form.Add(attr(n, "name"), attr(n, "value"))
			}
		case n.Data == "input":
			form.Add(attr(n, "name"), attr(n, "value"))
		case n.Data == "select":
			form.Add(attr(n, "name"), chosen(n))
		}
	}
	return form
}

// chosen is the option that is selected, the first one if none is.
func chosen(list *html.Node) string {
	var values []string
	for n := range list.Descendants() {
		if n.Data != "option" {
			continue
		}
		if has(n, "selected") {
			return attr(n, "value")
		}
		values = append(values, attr(n, "value"))
	}
	return append(values, "")[0]
}

func has(n *html.Node, key string) bool {
	return slices.ContainsFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// FuzzReadSteps: whatever is sent never breaks the reader, what it refuses it
// refuses with a sentence, and steps that pass the check come back unchanged
// from the form they are written to.
func FuzzReadSteps(f *testing.F) {
	for _, r := range routing.ReadyMade() {
		f.Add(writeSteps(r.Steps, styles[0]).Encode())
	}
	f.Add("steps=1&whole=1&step-1-number=3,5&step-1-name=%00+a%ff&step-1-at=wait:drying&step-1-hours=0,5&step-1-latest=3+days")
	f.Add("steps=2&whole=1&step-1-number=1e999&step-1-name=a&step-1-at=rip&step-2-number=&step-2-name=&step-2-at=")
	f.Add("steps=1&whole=1&step-1-number=1&step-1-name=a&step-1-at=rip&step-1-cuts=top&step-1-each=1.5&step-1-each-in=minutes&step-1-snipe=2+1/4")
	f.Fuzz(func(t *testing.T, body string) {
		form, err := url.ParseQuery(body)
		if err != nil {
			return
		}
		for _, style := range styles {
			steps, err := readSteps(form, style.Unit)
			if err != nil {
				require.NotNil(t, parts.AsProblem(err), "%v", err)
				continue
			}
			for _, kind := range []parts.Kind{parts.Single, parts.Assembly} {
				if routing.CheckSteps(parts.Routing{Name: "x", For: kind, Steps: steps}, routing.Stations()) != nil {
					continue
				}
				again, err := readSteps(writeSteps(steps, style), style.Unit)
				require.NoError(t, err)
				require.Equal(t, steps, again)
			}
		}
	})
}

// sentSteps is a form of two steps, for tests that change one field of it.
func sentSteps(changes ...string) url.Values {
	form := writeSteps([]parts.Step{{Name: "rip to width", Station: "rip", Sets: parts.ToWidth}, {Name: "dry", Clock: parts.Drying, Minutes: 240}}, styles[0])
	for i := 0; i+1 < len(changes); i += 2 {
		form.Set(changes[i], changes[i+1])
	}
	return form
}

func TestReadSteps(t *testing.T) {
	tests := []struct {
		name    string
		changes []string
		code    string
		step    any // the number that the problem is about
	}{
		{"as it is", nil, "", nil},
		{"a form that was cut off", []string{"whole", ""}, "steps-torn", nil},
		{"fewer blocks than it says", []string{"steps", "3"}, "steps-torn", nil},
		{"no count", []string{"steps", "some"}, "steps-torn", nil},
		{"more blocks than anybody has steps", []string{"steps", "61"}, "steps-many", nil},
		{"a number that is none", []string{"step-2-number", "last"}, "step-order", nil},
		{"not a number", []string{"step-2-number", "NaN"}, "step-order", nil},
		{"a wait of no time", []string{"step-2-hours", ""}, "step-hours", 2},
		{"a wait in words", []string{"step-2-hours", "overnight"}, "step-hours", 2},
		{"a wait of less than nothing", []string{"step-2-hours", "-1"}, "step-hours", 2},
		{"a wait that moved to the front", []string{"step-2-hours", "overnight", "step-2-number", "0.5"}, "step-hours", 1},
		{"a window in words", []string{"step-2-latest", "never"}, "step-hours", 2},
		{"a size in words", []string{"step-1-safe-length", "long"}, "length-unreadable", 1},
		{"a size of less than nothing", []string{"step-1-snipe", "-2"}, "length-negative", 1},
		{"a size of zero does not matter", []string{"step-1-safe-width", "0"}, "", nil},
		{"half a minute to set", []string{"step-1-setup", "1.5"}, "step-setup", 1},
		{"a time for each in words", []string{"step-1-each", "quick"}, "step-each", 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := readSteps(sentSteps(tt.changes...), parts.Inches)
			require.Equal(t, tt.code, parts.CodeOf(err), "%v", err)
			if p := parts.AsProblem(err); p != nil {
				assert.Equal(t, tt.step, p.Facts["step"])
				assert.NotEmpty(t, p.Do, "it does not say what to do")
			}
		})
	}
}

func TestStepsMoveAndGo(t *testing.T) {
	names := func(changes ...string) []string {
		steps, err := readSteps(sentSteps(changes...), parts.Inches)
		require.NoError(t, err)
		var out []string
		for _, s := range steps {
			out = append(out, s.Name)
		}
		return out
	}
	assert.Equal(t, []string{"rip to width", "dry"}, names())
	assert.Equal(t, []string{"dry", "rip to width"}, names("step-2-number", "0,5"))
	assert.Equal(t, []string{"dry", "rip to width"}, names("step-1-number", "10", "step-2-number", "9"), "numbers, not letters, have an order")
	assert.Equal(t, []string{"dry"}, names("step-1-name", " "))
	assert.Equal(t, []string{"dry"}, names("step-1-out", "1"))
	assert.Equal(t, []string{"dry"}, names("step-1-name", "", "step-1-number", "", "step-1-safe-length", "long"), "what is taken out may say anything")
}

func TestTimesAreReadAsPeopleWriteThem(t *testing.T) {
	for text, want := range map[string]int{"24": 1440, "0.5": 30, "0,5": 30, ".5": 30, "1.5 h": 90, "2 hours": 120, "50 min": 50, "50min": 50, "1 minute": 1, "3 days": 4320, "1 D": 1440, "0.0167": 1} {
		m, ok := readMinutes(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, m, text)
	}
	for _, text := range []string{"", "1.2.3", "1e3", "inf", "NaN", "0x10", "-1", "1 week", "12345678", "5 minutess"} {
		_, ok := readMinutes(text)
		assert.False(t, ok, text)
	}
	for m := range 3000 {
		again, _ := readMinutes(minutesText(m))
		require.Equal(t, m, again)
	}
}

// A problem of a step opens its block, and the blocks are numbered as the
// sentence counts.
func TestTheBlockOfAProblemIsOpen(t *testing.T) {
	form := sentSteps("step-2-number", "0.5", "step-2-hours", "overnight")
	_, err := readSteps(form, parts.Inches)
	blocks, drawn := arranged(form, parts.AsProblem(err))
	require.NoError(t, drawn)
	open := map[string]bool{}
	for _, b := range blocks {
		open[b.Number+" "+b.Value("name")] = b.Open
	}
	assert.Equal(t, map[string]bool{"1 dry": true, "2 rip to width": false, "3 ": false, "4 ": false}, open)
}

func TestPlaced(t *testing.T) {
	all := []parts.StationRow{{Key: "saw", Place: 1}, {Key: "plane", Place: 2}, {Key: "glue", Place: 3}}
	tests := []struct {
		name       string
		key, after parts.Station
		want       map[parts.Station]int // what is saved, with its new place
	}{
		{"a new one at the end", "wrap", "glue", map[parts.Station]int{"wrap": 4}},
		{"a new one in between", "joint", "saw", map[parts.Station]int{"joint": 2, "plane": 3, "glue": 4}},
		{"a new one in front", "rack", "", map[parts.Station]int{"rack": 1, "saw": 2, "plane": 3, "glue": 4}},
		{"one that stays", "plane", "saw", map[parts.Station]int{"plane": 2}},
		{"the last one to the front", "glue", "", map[parts.Station]int{"glue": 1, "saw": 2, "plane": 3}},
		{"the first one to the end", "saw", "glue", map[parts.Station]int{"saw": 3, "plane": 1, "glue": 2}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			moved, err := placed(all, parts.StationRow{Key: tt.key}, tt.after)
			require.NoError(t, err)
			require.Equal(t, tt.key, moved[0].Key, "a station that cannot be kept must not move others first")
			got := map[parts.Station]int{}
			for _, st := range moved {
				got[st.Key] = st.Place
			}
			assert.Equal(t, tt.want, got)
		})
	}
	for _, after := range []parts.Station{"lathe", "saw"} {
		_, err := placed(all, parts.StationRow{Key: "saw"}, after)
		assert.Equal(t, "station-place", parts.CodeOf(err), "after %s", after)
	}
	assert.Equal(t, []parts.Station{"saw", "plane", "glue"}, slices.Collect(func(yield func(parts.Station) bool) {
		for _, st := range all {
			yield(st.Key)
		}
	}), "the list that was given is left as it is")
}

func TestStepWords(t *testing.T) {
	style := styles[0]
	tests := []struct {
		step parts.Step
		want string
	}{
		{parts.Step{Station: "rip"}, ""},
		{parts.Step{Station: "rip", Sets: parts.ToWidth, Makes: parts.ToWidth, Safe: parts.Smallest{Length: 12 * parts.Inch}}, `set to width · width final · at least 12" long`},
		{parts.Step{Station: "bore", Sets: parts.ToPattern, Bores: true, Check: "holes fit the dowels", EachSeconds: 90}, "makes holes · set to holes · first piece: holes fit the dowels · 1 min 30 s each"},
		{parts.Step{Station: "stain", Coat: "stain", Coats: []parts.Face{parts.ShowFace, parts.BackFace, parts.Edges}, Record: true}, "stain on show face, back and edges · must be recorded"},
		{parts.Step{Station: "plane", Snipe: 2 * parts.Inch, SetupMinutes: 10, EachSeconds: 120}, `spoils 2" at each end · 10 min to set · 2 min each`},
		{parts.Step{Clock: parts.Drying, Minutes: 240, Latest: 1440, Missed: "see the data sheet"}, "next coat within 24 h · after that: see the data sheet"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, strings.Join(stepWords(tt.step, style), " · "))
	}
}

// Every field that work may have is refused on a wait, so one that is added
// to the type and forgotten in the check is found.
func TestFormsHaveEveryBox(t *testing.T) {
	full := parts.Step{Name: "x", Station: "rip", Record: true, Binds: true, Glues: true, Bores: true, Parts: true, Scuff: true}
	form := writeSteps([]parts.Step{full}, styles[0])
	ticked := []string{}
	for _, key := range slices.Sorted(maps.Keys(form)) {
		if form.Get(key) == "1" && strings.HasPrefix(key, "step-1-") && key != "step-1-number" {
			ticked = append(ticked, strings.TrimPrefix(key, "step-1-"))
		}
	}
	assert.Equal(t, []string{"binds", "bores", "glues", "parts", "record", "scuffs"}, ticked)
}
