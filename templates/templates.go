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
	"sync"
	"text/template/parse"
)

//go:embed *.html
var files embed.FS

// Pages are the pages in one language, each by its name without the ending. A
// page is read when it is first shown and kept: a shop looks at few of them, and
// in one language.
type Pages map[string]func() (*template.Template, error)

// Read finds the pages and puts their texts through say: Language.Say for a
// translation. Files whose name begins with an underscore are pieces that every
// page may use, the frame around it among them.
func Read(functions template.FuncMap, say func(english string) string) (Pages, error) {
	names, err := fs.Glob(files, "*.html")
	if err != nil {
		return nil, err
	}
	pages := Pages{}
	for _, name := range names {
		if !strings.HasPrefix(name, "_") {
			pages[strings.TrimSuffix(name, path.Ext(name))] = sync.OnceValues(func() (*template.Template, error) {
				return readPage(name, functions, say)
			})
		}
	}
	return pages, nil
}

// Page gives a page.
func (p Pages) Page(name string) (*template.Template, error) {
	read, ok := p[name]
	if !ok {
		return nil, fmt.Errorf("there is no page %q", name)
	}
	return read()
}

// readPage reads a page with the pieces that it uses and no more: all of them with
// each page would be most of what the server has in memory.
func readPage(name string, functions template.FuncMap, say func(string) string) (*template.Template, error) {
	pieces, err := template.New("pieces").Funcs(functions).ParseFS(files, "_*.html")
	if err != nil {
		return nil, fmt.Errorf("read the pieces of pages: %w", err)
	}
	page, err := template.New(name).Funcs(functions).ParseFS(files, name)
	if err == nil {
		err = supply(page, pieces)
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	for _, piece := range page.Templates() {
		speak(piece, say)
	}
	return page, nil
}

// supply gives a page the pieces that it uses, and those that they use.
func supply(page, pieces *template.Template) error {
	used := []string{"page"}
	for _, own := range page.Templates() {
		used = append(used, usedBy(own.Tree)...)
	}
	for len(used) > 0 {
		name := used[0]
		used = used[1:]
		piece := pieces.Lookup(name)
		if piece == nil || page.Lookup(name) != nil {
			continue
		}
		if _, err := page.AddParseTree(name, piece.Tree); err != nil {
			return err
		}
		used = append(used, usedBy(piece.Tree)...)
	}
	return nil
}

// usedBy are the names of the templates that one calls.
func usedBy(t *parse.Tree) (names []string) {
	if t == nil {
		return nil
	}
	eachNode(t.Root, func(n parse.Node) {
		if call, ok := n.(*parse.TemplateNode); ok {
			names = append(names, call.Name)
		}
	})
	return names
}

// eachNode visits the nodes of a list in the order in which they are written.
func eachNode(l *parse.ListNode, do func(parse.Node)) {
	if l == nil {
		return
	}
	branches := func(b *parse.BranchNode) {
		eachNode(b.List, do)
		eachNode(b.ElseList, do)
	}
	for _, n := range l.Nodes {
		do(n)
		switch n := n.(type) {
		case *parse.IfNode:
			branches(&n.BranchNode)
		case *parse.RangeNode:
			branches(&n.BranchNode)
		case *parse.WithNode:
			branches(&n.BranchNode)
		}
	}
}
