package templates

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"strings"
	"text/template/parse"
	"unicode"
)

//go:embed words.*.json
var wordFiles embed.FS

// Language is what the pages and the sentences are written in. The English
// text is the key of all others, so the templates read as the page does, and
// a translation is one file.
type Language struct {
	Key   string            // "de", as in the lang attribute
	words map[string]string // English to it; nil for English
}

// English is the language that everything is written in first.
var English = Language{Key: "en"}

// Languages gives every language there is, English first.
func Languages() ([]Language, error) {
	out := []Language{English}
	for _, key := range []string{"de"} {
		data, err := wordFiles.ReadFile("words." + key + ".json")
		if err != nil {
			return nil, err
		}
		l := Language{Key: key}
		if err := json.Unmarshal(data, &l.words); err != nil {
			return nil, fmt.Errorf("read the words of %s: %w", key, err)
		}
		out = append(out, l)
	}
	return out, nil
}

// Say gives an English text or format in the language; what nobody has
// translated stays English.
func (l Language) Say(english string) string {
	if said, known := l.Knows(english); known {
		return said
	}
	return english
}

// Knows gives the translation of a text, and whether there is one.
func (l Language) Knows(english string) (said string, known bool) {
	said, known = l.words[english]
	return said, known
}

// speak puts every text of a template that a person reads through say, in
// pieces as they stand between tags and actions, the white space around them
// left alone.
func speak(t *template.Template, say func(string) string) {
	if t.Tree == nil || t.Tree.Root == nil {
		return
	}
	r := reader{say: say}
	eachNode(t.Tree.Root, func(n parse.Node) {
		if text, ok := n.(*parse.TextNode); ok {
			text.Text = r.text(text.Text)
		}
	})
}

// spoken are the attributes whose values a person reads or hears.
var spoken = map[string]bool{"placeholder": true, "aria-label": true, "alt": true, "title": true}

// reader walks the text of a template in the order in which it is written. It
// has to know when it is inside a tag, across the actions in between.
type reader struct {
	say   func(string) string
	tag   bool   // between < and >
	quote byte   // the quote of an attribute's value, 0 outside
	name  string // of that attribute
}

// text translates what is read of one stretch of text.
func (r *reader) text(in []byte) []byte {
	var out, run bytes.Buffer
	flush := func() {
		out.WriteString(r.run(run.String()))
		run.Reset()
	}
	for i, c := range in {
		switch {
		case !r.tag && c == '<':
			flush()
			r.tag = true
		case r.tag && r.quote == 0 && c == '>':
			flush()
			r.tag = false
			out.WriteByte(c)
			continue
		case r.tag && r.quote == 0 && c == '"':
			r.name = attribute(in[:i])
			run.WriteByte(c)
			flush()
			r.quote = c
			continue
		case r.quote != 0 && c == r.quote:
			flush()
			r.quote = 0
		}
		run.WriteByte(c)
	}
	flush()
	return out.Bytes()
}

// attribute is the name before the quote that opens its value.
func attribute(before []byte) string {
	before = bytes.TrimRight(before, "= \n\t")
	return string(before[bytes.LastIndexAny(before, " \n\t<")+1:])
}

// run translates a piece between two tags, or the value of an attribute.
func (r *reader) run(text string) string {
	read := !r.tag || r.quote != 0 && spoken[r.name]
	core := strings.TrimSpace(text)
	if !read || strings.IndexFunc(strings.ReplaceAll(core, "&nbsp;", ""), unicode.IsLetter) < 0 {
		return text
	}
	before, after, _ := strings.Cut(text, core)
	return before + r.say(strings.Join(strings.Fields(core), " ")) + after
}
