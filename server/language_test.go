package server

import (
	"go/ast"
	"go/parser"
	"go/token"
	"html/template"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/templates"
)

// spokenTexts gives every text that a page or a problem may say: those of the
// templates, and those of the code that go through Problemf, Next and Say.
func spokenTexts(t *testing.T) []string {
	t.Helper()
	seen := map[string]bool{}
	keep := func(english string) string { seen[english] = true; return english }
	pages, err := templates.Read(functionsIn(templates.English), keep)
	require.NoError(t, err)
	for name := range pages {
		_, err := pages.Page(name)
		require.NoError(t, err)
	}
	for _, call := range regexp.MustCompile(`\{\{[^}]*\bt "([^"]+)"`).FindAllStringSubmatch(templateSources(t), -1) {
		keep(call[1])
	}
	for _, call := range regexp.MustCompile(`\{\{template "(field|tick)" [^}]*\}\}`).FindAllString(templateSources(t), -1) {
		for _, said := range regexp.MustCompile(`"(say|hint|example)" "([^"]*[a-z]{3}[^"]*)"`).FindAllStringSubmatch(call, -1) {
			keep(said[2])
		}
	}
	for _, face := range parts.HoleFaces {
		keep(string(face))
	}
	keep("dia %s through")
	keep("dia %s deep %s")
	keep("middle")
	for _, name := range slices.Concat(parts.Faces, []parts.Face{"length", "width", "thickness"}) {
		keep(string(name))
	}
	for _, use := range (stepsEditor{}).FaceUses() {
		keep(use[1])
	}
	for _, again := range (defectsPage{}).Agains() {
		keep(again[1])
	}
	for _, room := range []string{"../parts", "../server", "../labels"} {
		require.NoError(t, filepath.WalkDir(room, func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			file, err := parser.ParseFile(token.NewFileSet(), path, nil, 0)
			if err == nil {
				ast.Inspect(file, func(n ast.Node) bool { spokenBy(n, keep); return true })
			}
			if tells[filepath.ToSlash(path)] {
				ast.Inspect(file, func(n ast.Node) bool { spokenAnywhere(n, keep); return true })
			}
			if err == nil && !silent.MatchString(filepath.ToSlash(path)) {
				ast.Inspect(file, func(n ast.Node) bool { sentence(n, begun[filepath.ToSlash(path)], keep); return true })
			}
			return err
		}))
	}
	for _, f := range labels.Formats() {
		keep(f.Name)
	}
	var out []string
	for english := range seen {
		out = append(out, english)
	}
	slices.Sort(out)
	return out
}

// A page is read when it is first shown, so that each can be is said here.
func TestEveryPageCanBeReadInEveryLanguage(t *testing.T) {
	tongues, err := newTongues()
	require.NoError(t, err)
	require.Greater(t, len(tongues), 1)
	for _, tongue := range tongues {
		require.Greater(t, len(tongue.Pages), 40)
		for name := range tongue.Pages {
			page, err := tongue.Page(name)
			require.NoError(t, err)
			assert.NotNil(t, page.Lookup("page"), "the frame around %s", name)
		}
	}
	_, err = tongues[0].Page("_frame")
	assert.ErrorContains(t, err, "_frame", "a piece is no page")
}

// pageOf is a page in English.
func pageOf(t require.TestingT, name string) *template.Template {
	pages, err := templates.Read(functionsIn(templates.English), templates.English.Say)
	require.NoError(t, err)
	page, err := pages.Page(name)
	require.NoError(t, err)
	return page
}

func templateSources(t *testing.T) string {
	t.Helper()
	files, err := filepath.Glob("../templates/*.html")
	require.NoError(t, err)
	var all strings.Builder
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		all.Write(data)
	}
	return all.String()
}

// tells are the files whose every sentence is shown: they keep formats apart
// from the pages that say them.
var tells = map[string]bool{"../parts/bench/history.go": true, "../server/deeds.go": true,
	"../parts/drying/reason.go": true, "../parts/bore/tell.go": true, "../parts/drying/drying.go": true}

// silent are the files whose sentences no page says: those of SQL, of paper, of
// the API, and what the shop may call its own.
var silent = regexp.MustCompile(`^\.\./(labels/|parts/store/|parts/safe/|parts/routing/ready_made\.go|parts/bench/(badges|cart_tags|print)\.go|server/(api|metrics))`)

// begun are the files whose sentences go on from a beginning that they share.
var begun = map[string]string{"../parts/routing/check_step.go": "Step %d, %s, ", "../server/steps_form.go": "%s "}

// sentence finds a whole sentence, whichever way it reaches a page. One in
// small letters goes on from its file's beginning.
func sentence(n ast.Node, begin string, keep func(string) string) {
	text, plain := n.(*ast.BasicLit)
	if !plain || text.Kind != token.STRING {
		return
	}
	english, err := strconv.Unquote(text.Value)
	if err != nil || !strings.Contains(english, " ") || !strings.HasSuffix(english, ".") {
		return
	}
	if english[0] >= 'a' && english[0] <= 'z' {
		english = begin + english
	}
	keep(english)
}

// spokenAnywhere finds a sentence that is kept in a map or returned.
func spokenAnywhere(n ast.Node, keep func(string) string) {
	var found []ast.Expr
	switch n := n.(type) {
	case *ast.KeyValueExpr:
		found = []ast.Expr{n.Value}
	case *ast.ReturnStmt:
		found = n.Results
	}
	for _, e := range found {
		text, plain := e.(*ast.BasicLit)
		if plain && text.Kind == token.STRING && len(text.Value) > 4 {
			english, _ := strconv.Unquote(text.Value)
			keep(english)
		}
	}
}

// spokenBy finds the sentence of a call that says one.
func spokenBy(n ast.Node, keep func(string) string) {
	call, ok := n.(*ast.CallExpr)
	if !ok {
		return
	}
	name := ""
	switch f := call.Fun.(type) {
	case *ast.Ident:
		name = f.Name
	case *ast.SelectorExpr:
		name = f.Sel.Name
	}
	at, says := map[string]int{"Problemf": 2, "problem": 2, "Next": 0, "Say": 0, "say": 0}[name]
	if !says || len(call.Args) <= at {
		return
	}
	if text, plain := call.Args[at].(*ast.BasicLit); plain && text.Kind == token.STRING {
		english, err := strconv.Unquote(text.Value)
		if err == nil && strings.ContainsAny(english, "abcdefghijklmnopqrstuvwxyz") {
			keep(english)
		}
	}
}

var verbs = regexp.MustCompile(`%(\[\d+\])?[-+.\d]*[a-zA-Z]`)

// TestEveryLanguageSaysEverything: no page and no refusal falls back to
// English in the middle, and every translation takes the same values.
func TestEveryLanguageSaysEverything(t *testing.T) {
	texts := spokenTexts(t)
	require.Greater(t, len(texts), 900)
	all, err := templates.Languages()
	require.NoError(t, err)
	for _, l := range all[1:] {
		var missing []string
		for _, english := range texts {
			said, known := l.Knows(english)
			if !known {
				missing = append(missing, english)
				continue
			}
			assert.Equal(t, taken(english), taken(said), "%q and %q take other values", english, said)
		}
		assert.Empty(t, strings.Join(missing, "\n"), "words.%s.json lacks these", l.Key)
	}
}

// taken gives the verbs of a format in the order of its values.
func taken(format string) []string {
	var out []string
	for i, verb := range verbs.FindAllString(strings.ReplaceAll(format, "%%", ""), -1) {
		if at := strings.Index(verb, "]"); at > 0 {
			n, _ := strconv.Atoi(verb[2:at])
			i, verb = n-1, "%"+verb[at+1:]
		}
		out = append(out, strconv.Itoa(i)+verb)
	}
	slices.Sort(out)
	return out
}
