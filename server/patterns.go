package server

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/bore"
	"benchtally/templates"
)

// patternsPage shows the patterns of holes as they are for one size of part,
// and an editor for each.
type patternsPage struct {
	Size     patternSize
	Tried    bool // a size was asked about
	Sized    bool // length, width and thickness are all known
	Patterns []patternRow
	Typed    patternForm // what could not be kept; as in a new page otherwise
	Example  []string
	Problem  *parts.Problem
}

// patternSize is the size that a person asked about, as it was typed.
type patternSize struct {
	Length, Width, Thick string
	Loose                bool // without a show face
}

// patternRow is one pattern with the text of its editor.
type patternRow struct {
	bench.PatternLook
	Left, Right []holeRow
	Form        patternForm
}

// patternForm is a pattern as a person types it.
type patternForm struct {
	Key, Name, Holes string
	Open             bool // shown at once, because it could not be kept
}

// holeRow is a hole by the name that is used when it went wrong.
type holeRow struct{ Place, Text string }

func (s *Server) patterns(c *gin.Context) error {
	return s.showPatterns(c, http.StatusOK, patternForm{}, nil)
}

func (s *Server) savePattern(c *gin.Context) error {
	form := patternForm{Key: c.PostForm("key"), Name: c.PostForm("name"), Holes: c.PostForm("holes"), Open: true}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	p := parts.Pattern{Key: form.Key, Name: form.Name}
	if p.Holes, err = bore.ParseHoles(form.Holes, parts.Writing{Unit: set.Unit}); err == nil {
		p, err = s.bench.SavePattern(c.Request.Context(), p)
	}
	if problem := parts.AsProblem(err); problem != nil {
		return s.showPatterns(c, statuses[problem.Sort], form, problem)
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/patterns#"+p.Key)
	return nil
}

// showPatterns shows the page, with what a person typed and why it could not
// be kept, if anything.
func (s *Server) showPatterns(c *gin.Context, status int, typed patternForm, problem *parts.Problem) error {
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	size := patternSize{Length: c.Query("length"), Width: c.Query("width"), Thick: c.Query("thick"), Loose: c.Query("loose") != ""}
	line, err := size.line(parts.Writing{Unit: set.Unit})
	if p := parts.AsProblem(err); p != nil && problem == nil {
		status, problem = statuses[p.Sort], p
	}
	looks, err := s.bench.LookPatterns(c.Request.Context(), line, !size.Loose)
	if err != nil {
		return err
	}
	page := patternsPage{Size: size, Typed: typed, Example: strings.Split(bore.Example(set.Unit), "\n"), Problem: problem,
		Tried: size != patternSize{}, Sized: judged(line.Length) && judged(line.Width) && judged(line.Thick)}
	words := s.words(c.Request.Context())
	for _, look := range looks {
		row := patternRow{PatternLook: look, Left: words.holeRows(look.Pattern, words.Style()), Right: words.holeRows(look.Right, words.Style()),
			Form: patternForm{Key: look.Key, Name: look.Name, Holes: bore.FormatHoles(look.Holes, set.Style())}}
		if typed.Key == look.Key {
			row.Form, page.Typed = typed, patternForm{}
		}
		page.Patterns = append(page.Patterns, row)
	}
	s.page(c, status, "patterns", "Bore patterns", page)
	return nil
}

// line reads the size that was asked about.
func (p patternSize) line(w parts.Writing) (l parts.Line, err error) {
	for _, field := range []struct {
		text string
		size *parts.Size
	}{{p.Length, &l.Length}, {p.Width, &l.Width}, {p.Thick, &l.Thick}} {
		if *field.size, err = parts.ParseSize(field.text, w); err != nil {
			return parts.Line{}, err
		}
	}
	return l, nil
}

// judged reports whether a size is known before the part is at the bench.
func judged(s parts.Size) bool { return s.Length > 0 && !s.ToSuit }

// holeRows names each hole of a pattern and says where it is.
func (w words) holeRows(p parts.Pattern, st parts.Style) []holeRow {
	rows := make([]holeRow, len(p.Holes))
	for i, place := range bore.Places(p) {
		var told []string
		for _, t := range bore.Tell(p.Holes[i], st) {
			told = append(told, w.Why(t))
		}
		rows[i] = holeRow{holeName(w.Language, place), strings.Join(told, ", ")}
	}
	return rows
}

// holeName is the place of a hole as people say it; the log has it in English.
func holeName(l templates.Language, place string) string {
	face, number, _ := strings.Cut(place, ", hole ")
	if number == "" || !slices.Contains(parts.HoleFaces, parts.HoleFace(face)) {
		return place
	}
	return fmt.Sprintf(l.Say("%s, hole %s"), l.Say(face), number)
}
