package server

import (
	"fmt"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/templates"
)

// stepRow is one step of a list as a person reads it.
type stepRow struct {
	Name  string
	Where string // the station, or how long it waits
	Words string // what else is to know, in a few words
	Wait  bool
}

// stepRows writes steps for reading. at has the stations as people say them.
func stepRows(l templates.Language, steps []parts.Step, at map[parts.Station]string, st parts.Style) []stepRow {
	rows := make([]stepRow, len(steps))
	for i, s := range steps {
		rows[i] = stepRow{Name: s.Name, Where: at[s.Station], Words: strings.Join(stepWords(l, s, st), " · "), Wait: s.Wait()}
		if s.Wait() {
			rows[i].Where = lasting(l, s.Lasts())
		}
	}
	return rows
}

// stepWords says what a step is beside its name and its place.
func stepWords(l templates.Language, s parts.Step, st parts.Style) []string {
	var out []string
	add := func(is bool, words string) {
		if is {
			out = append(out, words)
		}
	}
	say := func(english string, args ...any) string { return fmt.Sprintf(l.Say(english), args...) }
	faces := func(faces []parts.Face) string { return faceNames(l, faces) }
	add(s.Binds && s.Name != "dry fit", say("dry fit"))
	add(s.Glues, say("glues for good"))
	add(s.Bores, say("makes holes"))
	add(s.Parts, say("one piece becomes several"))
	add(s.Sets != "", say("set to its %s", dimensionName(l, s.Sets)))
	add(s.Makes != "", say("%s final", dimensionName(l, s.Makes)))
	add(s.Check != "", say("first piece: %s", s.Check))
	add(len(s.Cuts) > 0, say("cuts %s", faces(s.Cuts)))
	add(len(s.Bears) > 0, say("lies on %s", faces(s.Bears)))
	add(len(s.Joins) > 0, say("glue on %s", faces(s.Joins)))
	add(len(s.Coats) > 0, say("%s on %s", s.Coat, faces(s.Coats)))
	add(s.Mix != "", say("of the mix %s", s.Mix))
	add(s.TouchUp, say("touches up from the jar that matches"))
	add(s.Scuff, say("roughens a coat"))
	add(s.Safe != (parts.Smallest{}), safeWords(l, s.Safe, st))
	add(s.Snipe != 0, say("spoils %s at each end", s.Snipe.Format(st)))
	add(s.SetupMinutes != 0, say("%d min to set", s.SetupMinutes))
	add(s.EachSeconds != 0, say("%s each", eachWords(s.EachSeconds)))
	add(s.Record, say("must be recorded"))
	add(s.Latest != 0, say("next coat within %s", lasting(l, time.Duration(s.Latest)*time.Minute)))
	add(s.Missed != "", say("after that: %s", s.Missed))
	add(s.Product != "", say("by the air of the shop, until you may %s", l.Say(s.Need)))
	return out
}

// dimensionName is a size as people say it: a pattern is its holes.
func dimensionName(l templates.Language, d parts.Dimension) string {
	if d == parts.ToPattern {
		return l.Say("holes")
	}
	return l.Say(string(d))
}

func faceNames(l templates.Language, faces []parts.Face) string {
	names := make([]string, len(faces))
	for i, f := range faces {
		names[i] = l.Say(string(f))
	}
	if n := len(names); n > 1 {
		return fmt.Sprintf(l.Say("%s and %s"), strings.Join(names[:n-1], ", "), names[n-1])
	}
	return strings.Join(names, "")
}

func safeWords(l templates.Language, s parts.Smallest, st parts.Style) string {
	var out []string
	for _, d := range []struct {
		l    parts.Length
		word string
	}{{s.Length, l.Say("%s long")}, {s.Width, l.Say("%s wide")}, {s.Thick, l.Say("%s thick")}} {
		if d.l != 0 {
			out = append(out, fmt.Sprintf(d.word, d.l.Format(st)))
		}
	}
	return fmt.Sprintf(l.Say("at least %s"), strings.Join(out, ", "))
}

func eachWords(seconds int) string {
	switch {
	case seconds < 60:
		return fmt.Sprintf("%d s", seconds)
	case seconds%60 == 0:
		return fmt.Sprintf("%d min", seconds/60)
	}
	return fmt.Sprintf("%d min %d s", seconds/60, seconds%60)
}

// blockMarks says the few things that matter of a block that is folded up,
// from what was typed in it.
func blockMarks(l templates.Language, b block) []string {
	var out []string
	if strings.HasPrefix(b.Value("at"), waitsFor) {
		if m, ok := readMinutes(b.Value("hours")); ok {
			out = append(out, lasting(l, time.Duration(m)*time.Minute))
		}
		if b.Value("product") != "" {
			out = append(out, l.Say("by the air of the shop"))
		}
		if b.Value("latest") != "" {
			out = append(out, l.Say("window ends"))
		}
		return out
	}
	if d := b.Value("sets"); d != "" {
		out = append(out, fmt.Sprintf(l.Say("set to its %s"), dimensionName(l, parts.Dimension(d))))
	}
	if b.Ticked("binds") && b.Value("name") != "dry fit" {
		out = append(out, l.Say("dry fit"))
	}
	for _, mark := range []struct{ name, words string }{
		{"parts", l.Say("becomes several")}, {"glues", l.Say("glues for good")}, {"bores", l.Say("makes holes")},
		{"scuffs", l.Say("roughens")}, {"touch-up", l.Say("touches up")}, {"record", l.Say("must be recorded")},
	} {
		if b.Ticked(mark.name) && mark.words != b.Value("name") {
			out = append(out, mark.words)
		}
	}
	return out
}
