// Package templates holds how pages look. It owns the HTML and nothing else:
// what a page shows comes in, ready to be shown.
package templates

import (
	"embed"
	"fmt"
	"html/template"
	"io/fs"
	"path"
	"strings"
)

//go:embed *.html
var files embed.FS

// Parse reads every page, each with the frame around it, by its name without
// the ending, and puts its texts through say: Language.Say for a translation.
// Pages whose name begins with an underscore are pieces that all others may
// use.
func Parse(functions template.FuncMap, say func(english string) string) (map[string]*template.Template, error) {
	names, err := fs.Glob(files, "*.html")
	if err != nil {
		return nil, err
	}
	pages := map[string]*template.Template{}
	for _, name := range names {
		if strings.HasPrefix(name, "_") {
			continue
		}
		t, err := template.New(name).Funcs(functions).ParseFS(files, "_*.html", name)
		if err != nil {
			return nil, fmt.Errorf("read %s: %w", name, err)
		}
		for _, piece := range t.Templates() {
			speak(piece, say)
		}
		pages[strings.TrimSuffix(name, path.Ext(name))] = t
	}
	return pages, nil
}
