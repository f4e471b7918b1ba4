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
func stepRows(steps []parts.Step, at map[parts.Station]string, st parts.Style) []stepRow {
	rows := make([]stepRow, len(steps))
	for i, s := range steps {
		rows[i] = stepRow{Name: s.Name, Where: at[s.Station], Words: strings.Join(stepWords(s, st), " · "), Wait: s.Wait()}
		if s.Wait() {
			rows[i].Where = lasting(templates.English, s.Lasts())
		}
	}
	return rows
}

// stepWords says what a step is beside its name and its place.
func stepWords(s parts.Step, st parts.Style) []string {
	var out []string
	say := func(is bool, words string) {
		if is {
			out = append(out, words)
		}
	}
	say(s.Binds && s.Name != "dry fit", "dry fit")
	say(s.Glues, "glues for good")
	say(s.Bores, "makes holes")
	say(s.Parts, "one piece becomes several")
	say(s.Sets != "", "set to its "+dimensionName(s.Sets))
	say(s.Makes != "", dimensionName(s.Makes)+" final")
	say(s.Check != "", "first piece: "+s.Check)
	say(len(s.Cuts) > 0, "cuts "+faceNames(s.Cuts))
	say(len(s.Bears) > 0, "lies on "+faceNames(s.Bears))
	say(len(s.Joins) > 0, "glue on "+faceNames(s.Joins))
	say(len(s.Coats) > 0, s.Coat+" on "+faceNames(s.Coats))
	say(s.Mix != "", "of the mix "+s.Mix)
	say(s.TouchUp, "touches up from the jar that matches")
	say(s.Scuff, "roughens a coat")
	say(s.Safe != (parts.Smallest{}), safeWords(s.Safe, st))
	say(s.Snipe != 0, "spoils "+s.Snipe.Format(st)+" at each end")
	say(s.SetupMinutes != 0, fmt.Sprintf("%d min to set", s.SetupMinutes))
	say(s.EachSeconds != 0, eachWords(s.EachSeconds)+" each")
	say(s.Record, "must be recorded")
	say(s.Latest != 0, "next coat within "+lasting(templates.English, time.Duration(s.Latest)*time.Minute))
	say(s.Missed != "", "after that: "+s.Missed)
	say(s.Product != "", "by the air of the shop, until you may "+s.Need)
	return out
}

// dimensionName is a size as people say it: a pattern is its holes.
func dimensionName(d parts.Dimension) string {
	if d == parts.ToPattern {
		return "holes"
	}
	return string(d)
}

func faceNames(faces []parts.Face) string {
	names := make([]string, len(faces))
	for i, f := range faces {
		names[i] = string(f)
	}
	if n := len(names); n > 1 {
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return strings.Join(names, "")
}

func safeWords(s parts.Smallest, st parts.Style) string {
	var out []string
	for _, d := range []struct {
		l    parts.Length
		word string
	}{{s.Length, "long"}, {s.Width, "wide"}, {s.Thick, "thick"}} {
		if d.l != 0 {
			out = append(out, d.l.Format(st)+" "+d.word)
		}
	}
	return "at least " + strings.Join(out, ", ")
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
func blockMarks(b block) []string {
	var out []string
	if strings.HasPrefix(b.Value("at"), waitsFor) {
		if m, ok := readMinutes(b.Value("hours")); ok {
			out = append(out, lasting(templates.English, time.Duration(m)*time.Minute))
		}
		if b.Value("product") != "" {
			out = append(out, "by the air of the shop")
		}
		if b.Value("latest") != "" {
			out = append(out, "window ends")
		}
		return out
	}
	if d := b.Value("sets"); d != "" {
		out = append(out, "set to its "+dimensionName(parts.Dimension(d)))
	}
	for _, mark := range []struct{ name, words string }{
		{"parts", "becomes several"}, {"binds", "dry fit"}, {"glues", "glues for good"}, {"bores", "makes holes"}, {"scuffs", "roughens"}, {"touch-up", "touches up"}, {"record", "must be recorded"},
	} {
		if b.Ticked(mark.name) && mark.words != b.Value("name") {
			out = append(out, mark.words)
		}
	}
	return out
}
