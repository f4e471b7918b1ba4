package rework

import (
	"reflect"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// HoleOff is the key of the defect that a plug repairs.
const HoleOff = "hole-off"

// How long the ready-made repairs wait: common practice, no source. The glue's
// data sheet decides about a plug. A dent that was steamed is sanded when it
// is dry: what is sanded while it is swollen sinks in afterwards.
const (
	plugMinutes = 2 * 60
	dentMinutes = 24 * 60
)

// Catalogue is what a shop starts with. The repairs and the limits are common
// practice, no source; a shop changes them.
func Catalogue() []parts.Defect {
	sand := func(name string) parts.Step { return parts.Step{Name: name, Station: "sand"} }
	sandBack := []parts.Step{{Name: "sand back", Station: "sand", Scuff: true}}
	return []parts.Defect{
		{Key: HoleOff, Name: "Hole off", Again: parts.BoreAgain, Limit: 2,
			Steps: []parts.Step{{Name: "plug sets", Clock: parts.Setting, Minutes: plugMinutes}}},
		{Key: "tear-out", Name: "Tear-out", Limit: 2, Steps: []parts.Step{sand("sand the tear-out away")}},
		{Key: "dent", Name: "Dent", Limit: 3, Steps: []parts.Step{sand("steam the dent"),
			{Name: "dry", Clock: parts.Drying, Minutes: dentMinutes}, sand("sand it level")}},
		{Key: "cut-short", Name: "Cut short", Remake: true},
		{Key: "squeeze-out", Name: "Glue squeeze-out", Steps: []parts.Step{sand("scrape the glue off and sand")}},
		{Key: "drip-or-sag", Name: "Drip or sag", Again: parts.CoatsAgain, Limit: 2, Steps: sandBack},
		{Key: "blotch", Name: "Blotch", Again: parts.CoatsAgain, Limit: 2, Steps: sandBack},
		{Key: "sanded-through", Name: "Sanded through", Again: parts.CoatsAgain, Limit: 2, Steps: sandBack},
	}
}

// What a defect may say at most. The bounds catch slips of the pen.
const (
	mostRepair  = 10 // repair steps of one defect
	mostTimes   = 20 // repairs at one spot
	longestName = 40 // characters of a defect's name
	longestStep = 60 // characters of a repair step's name
	longestWait = 60 * 24 * 365
)

var (
	defectKey = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`)
	agains    = []parts.Again{parts.NothingAgain, parts.BoreAgain, parts.CoatsAgain, parts.LastAgain}
)

// CheckDefect says what is wrong with a defect that a person wrote. A problem
// of one repair step carries its number as the fact "step".
func CheckDefect(d parts.Defect, stations []parts.StationRow) error {
	name := strings.TrimSpace(d.Name)
	switch {
	case name == "" || utf8.RuneCountInString(name) > longestName:
		return invalid("defect-name", "A defect needs a name of at most %d characters.", longestName).Next("Call it what people call it.")
	case !defectKey.MatchString(d.Key):
		return invalid("defect-key", "%q cannot be the short name of a defect.", d.Key).Next("Use small letters, digits and hyphens.")
	case d.Limit < 0 || d.Limit > mostTimes:
		return invalid("defect-limit", "%s can be repaired %d times.", name, d.Limit).Next("Write a number from 1 to %d, or leave it empty for no limit.", mostTimes)
	case len(d.Steps) > mostRepair:
		return invalid("defect-steps", "%s has %d repair steps; %d is the most.", name, len(d.Steps), mostRepair).Next("Leave some out.")
	case !slices.Contains(agains, d.Again):
		return invalid("defect-again", "%q is nothing that can be done again.", string(d.Again)).Next("Choose from the list.")
	}
	if p := checkRepair(d, name); p != nil {
		return p
	}
	for i, s := range d.Steps {
		if p := checkRepairStep(i+1, s, stations); p != nil {
			return p.Fact("step", i+1)
		}
	}
	return nil
}

// checkRepair sees to it that a defect is either repaired or remade, and that
// a plugged hole is always bored again.
func checkRepair(d parts.Defect, name string) *parts.Problem {
	repaired := len(d.Steps) > 0 || d.Again != parts.NothingAgain
	switch {
	case d.Remake && (repaired || d.Limit != 0):
		return invalid("defect-remake", "%s has a repair, and nothing repairs it.", name).Next("Take the repair out, or the mark.")
	case !d.Remake && !repaired:
		return invalid("defect-empty", "%s has no repair.", name).Next("Add a step, or say that it has to be remade.")
	case d.Key == HoleOff && !d.Remake && d.Again != parts.BoreAgain:
		return invalid("defect-hole", "%s is what “plugged” records, and a hole that is plugged is bored again.", name).
			Next("Choose that the hole is bored again, and add a defect of another name for the rest.")
	}
	return nil
}

// checkRepairStep sees to it that a repair step is work at a station or a
// wait. Coats, borings and the rest of what steps do come from the piece's own
// steps, which are done again: a piece is never dry-fitted, glued for good or
// cut into several by a repair.
func checkRepairStep(n int, s parts.Step, stations []parts.StationRow) *parts.Problem {
	name := strings.TrimSpace(s.Name)
	known := slices.ContainsFunc(stations, func(st parts.StationRow) bool { return st.Key == s.Station })
	work := parts.Step{Name: s.Name, Station: s.Station, Scuff: s.Scuff, Record: s.Record}
	wait := parts.Step{Name: s.Name, Clock: s.Clock, Minutes: s.Minutes}
	switch {
	case name == "" || utf8.RuneCountInString(name) > longestStep:
		return invalid("step-name", "Repair step %d needs a name of at most %d characters.", n, longestStep).Next("Name what is done.")
	case s.Wait() && !slices.Contains(parts.Clocks, s.Clock):
		return invalid("step-clock", "Repair step %d, %s, has no place and no kind of wait.", n, name).Next("Choose one of the two.")
	case s.Wait() && (s.Minutes < 1 || s.Minutes > longestWait):
		return invalid("step-minutes", "Repair step %d, %s, does not say how long it waits.", n, name).Next("Write a time from one minute to a year.")
	case !s.Wait() && !known:
		return invalid("step-station", "Repair step %d, %s, is at a station the shop does not have.", n, name).Next("Choose one of the shop's stations, or add it first.")
	case s.Wait() && !reflect.DeepEqual(s, wait), !s.Wait() && !reflect.DeepEqual(s, work):
		return invalid("step-repair", "Repair step %d, %s, does more to the wood than a repair may.", n, name).
			Next("Name the work and its place. What is bored, coated or done again is chosen below the steps.")
	}
	return nil
}

func invalid(code, say string, args ...any) *parts.Problem {
	return parts.Problemf(parts.Invalid, code, say, args...)
}
