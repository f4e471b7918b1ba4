package server

import (
	"bytes"
	"net/url"
	"slices"
	"strings"
	"testing"

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
		if s.Clock == parts.Drying && rapid.Bool().Draw(t, "window") {
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
	for { // nothing may be done between a coat or glue and its wait
		err := routing.CheckSteps(r, routing.Stations())
		if parts.CodeOf(err) != "step-in-the-wet" {
			return r
		}
		wet := &r.Steps[parts.AsProblem(err).Facts["step"].(int)-2]
		wet.Coats, wet.Coat, wet.Glues = nil, "", false
	}
}

// What the editor shows is what a browser sends back, and that is the same
// steps: a field that the page forgot would be lost here.
func TestTheEditorKeepsEveryField(t *testing.T) {
	editor := pageOf(t, "steps_edit")
	rapid.Check(t, func(t *rapid.T) {
		r, style := anySteps(t), rapid.SampledFrom(styles).Draw(t, "style")
		require.NoError(t, routing.CheckSteps(r, routing.Stations()))
		page := stepsEditor{Routing: r, Stations: routing.Stations(), Unit: style.Unit}
		var err error
		page.Blocks, err = arranged(templates.English, writeSteps(r.Steps, style), nil)
		require.NoError(t, err)
		page.Sent = len(page.Blocks)
		var drawn bytes.Buffer
		require.NoError(t, editor.ExecuteTemplate(&drawn, "content", frame{Body: page}))
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
