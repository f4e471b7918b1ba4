package server

import (
	"net/url"
	"strconv"

	"benchtally/parts"
)

// writeSteps fills the form of the editor with steps: readSteps reads the same
// steps from it again. Sizes are written as the shop prints them.
func writeSteps(steps []parts.Step, st parts.Style) url.Values {
	form := url.Values{"steps": {strconv.Itoa(len(steps))}, "whole": {"1"}}
	for i, s := range steps {
		w := blockWriter{block: block{Index: i + 1, form: form}, style: st}
		w.set("number", strconv.Itoa(i+1))
		w.step(s)
	}
	return form
}

// addBlank adds a block for a step that is not there yet.
func addBlank(form url.Values) {
	n, _ := strconv.Atoi(form.Get("steps"))
	form.Set("steps", strconv.Itoa(n+1))
	w := blockWriter{block: block{Index: n + 1, form: form}}
	w.set("number", strconv.Itoa(n+1))
	w.set("name", "")
	w.set("at", "")
}

// blockWriter fills the fields of one block.
type blockWriter struct {
	block
	style parts.Style
}

func (w blockWriter) step(s parts.Step) {
	w.set("name", s.Name)
	w.set("at", string(s.Station))
	if s.Wait() {
		w.set("at", waitsFor+string(s.Clock))
	}
	if s.Product != "" {
		w.set("product", s.Product+productNeed+s.Need)
	}
	w.set("hours", minutesText(s.Minutes))
	w.set("latest", minutesText(s.Latest))
	w.set("missed", s.Missed)
	w.set("sets", string(s.Sets))
	w.set("makes", string(s.Makes))
	w.set("check", s.Check)
	w.set("coat", s.Coat)
	w.set("mix", s.Mix)
	for name, is := range map[string]bool{"record": s.Record, "binds": s.Binds, "glues": s.Glues, "bores": s.Bores, "parts": s.Parts, "scuffs": s.Scuff, "touch-up": s.TouchUp} {
		if is {
			w.set(name, "1")
		}
	}
	for name, faces := range map[string][]parts.Face{"cuts": s.Cuts, "bears": s.Bears, "joins": s.Joins, "coats": s.Coats} {
		for _, f := range faces {
			w.form.Add(w.Field(name), string(f))
		}
	}
	for name, l := range map[string]parts.Length{"safe-length": s.Safe.Length, "safe-width": s.Safe.Width, "safe-thick": s.Safe.Thick, "snipe": s.Snipe} {
		w.set(name, lengthText(l, w.style))
	}
	w.times(s)
}

// times writes the expected times; those of a piece in minutes where they are
// whole ones.
func (w blockWriter) times(s parts.Step) {
	if s.SetupMinutes != 0 {
		w.set("setup", strconv.Itoa(s.SetupMinutes))
	}
	switch {
	case s.EachSeconds == 0:
	case s.EachSeconds%60 == 0:
		w.set("each", strconv.Itoa(s.EachSeconds/60))
		w.set("each-in", "minutes")
	default:
		w.set("each", strconv.Itoa(s.EachSeconds))
		w.set("each-in", "seconds")
	}
}

func (w blockWriter) set(name, value string) { w.form.Set(w.Field(name), value) }
