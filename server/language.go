package server

import (
	"context"
	"fmt"
	"html/template"
	"maps"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/templates"
)

// tongue is a language with the pages in it.
type tongue struct {
	templates.Language
	templates.Pages
}

// newTongues finds the pages in every language, English first.
func newTongues() ([]tongue, error) {
	all, err := templates.Languages()
	if err != nil {
		return nil, err
	}
	var out []tongue
	for _, l := range all {
		pages, err := templates.Read(functionsIn(l), l.Say)
		if err != nil {
			return nil, fmt.Errorf("find the templates: %w", err)
		}
		out = append(out, tongue{l, pages})
	}
	return out, nil
}

// functionsIn are the functions of templates that write in a language.
func functionsIn(l templates.Language) template.FuncMap {
	out := maps.Clone(functions)
	out["t"] = func(english any) string { return l.Say(fmt.Sprint(english)) }
	out["lasting"] = func(d time.Duration) string { return lasting(l, d) }
	out["ontime"] = func(minutes int) string { return lasting(l, parts.Step{Minutes: minutes}.Lasts()) }
	out["hole"] = func(place string) string { return holeName(l, place) }
	out["deed"] = func(a *bench.Answer) string { return deedText(l, a) }
	return out
}

// inTongue is the key of a context's language.
type inTongue struct{}

// speak chooses the language of an answer: the one asked for with ?lang=,
// which is then remembered, that of last time, or the one the browser prefers.
func (s *Server) speak(c *gin.Context) {
	key := cookie(c, "lang")
	if asked := c.Query("lang"); s.speaks(asked) {
		key = asked
		remember(c, "lang", asked)
	}
	if !s.speaks(key) {
		key, _, _ = strings.Cut(c.GetHeader("Accept-Language"), "-")
		key, _, _ = strings.Cut(key, ",")
	}
	if s.speaks(key) { // programs mostly ask for none
		c.Request = c.Request.WithContext(speaking(c.Request.Context(), key))
	}
	c.Next()
}

func speaking(ctx context.Context, key string) context.Context {
	return context.WithValue(ctx, inTongue{}, key)
}

func (s *Server) speaks(key string) bool {
	for _, t := range s.tongues {
		if t.Key == key {
			return true
		}
	}
	return false
}

// tongue is the language that a context's answer is written in; English when
// nobody chose one.
func (s *Server) tongue(ctx context.Context) tongue {
	if c, ok := ctx.(*gin.Context); ok {
		ctx = c.Request.Context()
	}
	for _, t := range s.tongues {
		if t.Key == ctx.Value(inTongue{}) {
			return t
		}
	}
	return s.tongues[0]
}
