package server

import (
	"html/template"
	"strings"
	"time"
	"unicode"

	"github.com/gin-gonic/gin"
	"github.com/google/uuid"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/static"
)

// functions are what templates may call beside the methods of what they show;
// functionsIn adds what depends on the language.
var functions = template.FuncMap{
	"newID": func() string { return uuid.Must(uuid.NewV7()).String() },
	"strip": func(s parts.Strip) template.HTML { return template.HTML(labels.StripSVG(s)) },
	"qr": func(text string) (template.HTML, error) {
		svg, err := labels.SVG(text)
		return template.HTML(svg), err
	},
	"capital": capital,
	"size":    bench.SizeText,
	"piece":   parts.PieceName,
	"wood":    woodLink,
	"dict":    dict,
	"shape":   shapeOf,
	"notch":   notchClass,
	"stick":   oneNotch,
	"sign":    func() template.HTML { return besideWords(signStrip) },
	"asset":   static.Address,
	"add":     func(a, b int) int { return a + b },
	"blanks":  func(pieces, each int) int { return (pieces + each - 1) / each },
	"seconds": func(n int) time.Duration { return (time.Duration(n) * time.Second).Abs() },
	"percent": func(part, whole int) int {
		if whole == 0 {
			return 0
		}
		return part * 100 / whole
	},
	"joined": func(list []string) string { return strings.Join(list, ", ") },
}

// dict makes a map for a piece of a template that needs several values.
func dict(pairs ...any) map[string]any {
	m := map[string]any{}
	for i := 0; i+1 < len(pairs); i += 2 {
		m[pairs[i].(string)] = pairs[i+1]
	}
	return m
}

// Recipe is a mix's recipe as people say it; what is kept of it is in English.
func (w words) Recipe(text string) string {
	return strings.NewReplacer(" of the whole", " "+w.Language.Say("of the whole"), " of the base", " "+w.Language.Say("of the base")).Replace(text)
}

// shapeOf is the class that gives a state its shape and colour.
func shapeOf(state string) string {
	switch state {
	case "ready":
		return "ready"
	case "finished", "in assembly":
		return "finished"
	case "held", "scrapped":
		return "stopped"
	}
	return "waiting"
}

// notchClass is the class of a step in a list, by its notch.
func notchClass(n parts.Notch) string {
	switch n.Shape {
	case parts.FilledNotch:
		return "done"
	case parts.DottedNotch:
		return "unrecorded"
	case parts.HatchedNotch:
		return "running"
	}
	return "open"
}

// oneNotch is a stick with one notch, the picture of a state beside its word:
// open for ready, hatched for waiting, broken for what needs a person's eye.
func oneNotch(state string) template.HTML {
	strip := map[string]parts.Strip{
		"open":    {Notches: []parts.Notch{{Shape: parts.OpenNotch}}},
		"waiting": {Notches: []parts.Notch{{Shape: parts.HatchedNotch}}},
		"broken":  {Notches: []parts.Notch{{Shape: parts.OpenNotch}}, Broken: true},
	}[state]
	return besideWords(strip)
}

// signStrip is the sign of the program, on its pages and in its icon.
var signStrip = parts.Strip{Notches: []parts.Notch{{Shape: parts.FilledNotch}, {Shape: parts.FilledNotch}, {Shape: parts.OpenNotch}}}

// besideWords draws a strip where a word beside it says the same.
func besideWords(strip parts.Strip) template.HTML {
	return template.HTML(`<i class="one" aria-hidden="true">` + labels.StripSVG(strip) + `</i>`)
}

func capital(s string) string {
	r := []rune(s)
	if len(r) > 0 {
		r[0] = unicode.ToUpper(r[0])
	}
	return string(r)
}

// cookie gives what a phone remembers, "" for nothing.
func cookie(c *gin.Context, name string) string {
	if just := c.GetString(name); just != "" { // set by this very request
		return just
	}
	v, err := c.Cookie(name)
	if err != nil {
		return ""
	}
	return v
}
