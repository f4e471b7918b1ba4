package rework

import (
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// HoleOff is the key of the defect that a plug repairs.
const HoleOff = "hole-off"

// plugMinutes is how long a glued-in plug sets before it is trimmed: common
// practice, no source; the glue's data sheet decides.
const plugMinutes = 120

// Catalogue is what a shop starts with. The repairs and the limits are common
// practice, no source; a shop changes them.
func Catalogue() []parts.Defect {
	sandBack := parts.Step{Name: "sand back", Station: "sand", Coats: nil, Scuff: true}
	return []parts.Defect{
		{Key: HoleOff, Name: "Hole off", Again: parts.BoreAgain, Limit: 2,
			Steps: []parts.Step{{Name: "plug sets", Clock: parts.Setting, Minutes: plugMinutes}}},
		{Key: "tear-out", Name: "Tear-out", Limit: 2, Steps: []parts.Step{{Name: "sand the tear-out away", Station: "sand"}}},
		{Key: "dent", Name: "Dent", Limit: 3, Steps: []parts.Step{{Name: "steam the dent and sand", Station: "sand"},
			{Name: "dry", Clock: parts.Resting, Minutes: 60}}},
		{Key: "cut-short", Name: "Cut short", Remake: true},
		{Key: "squeeze-out", Name: "Glue squeeze-out", Steps: []parts.Step{{Name: "scrape the glue off and sand", Station: "sand"}}},
		{Key: "drip-or-sag", Name: "Drip or sag", Again: parts.CoatsAgain, Limit: 2, Steps: []parts.Step{sandBack}},
		{Key: "blotch", Name: "Blotch", Again: parts.CoatsAgain, Limit: 2, Steps: []parts.Step{sandBack}},
		{Key: "sanded-through", Name: "Sanded through", Again: parts.CoatsAgain, Limit: 2, Steps: []parts.Step{sandBack}},
	}
}

// mostRepair bounds the repair steps of one defect.
const mostRepair = 10

var defectKey = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,39}$`)

// CheckDefect says what is wrong with a defect that a person wrote.
func CheckDefect(d parts.Defect, stations []parts.StationRow) error {
	invalid := func(code, say string, args ...any) *parts.Problem {
		return parts.Problemf(parts.Invalid, code, say, args...)
	}
	name := strings.TrimSpace(d.Name)
	switch {
	case name == "" || utf8.RuneCountInString(name) > 40:
		return invalid("defect-name", "A defect needs a name of at most 40 characters.").Next("Call it what people call it.")
	case !defectKey.MatchString(d.Key):
		return invalid("defect-key", "%q cannot be the short name of a defect.", d.Key).Next("Use small letters, digits and hyphens.")
	case d.Limit < 0 || d.Limit > 20:
		return invalid("defect-limit", "%s can be repaired %d times.", name, d.Limit).Next("Write a number from 1 to 20, or leave it empty for no limit.")
	case len(d.Steps) > mostRepair:
		return invalid("defect-steps", "%s has %d repair steps; %d is the most.", name, len(d.Steps), mostRepair).Next("Leave some out.")
	case d.Remake && (len(d.Steps) > 0 || d.Again != parts.NothingAgain):
		return invalid("defect-remake", "%s has repair steps, and nothing repairs it.", name).Next("Take the steps out, or the mark.")
	case !d.Remake && len(d.Steps) == 0 && d.Again == parts.NothingAgain:
		return invalid("defect-empty", "%s has no repair.", name).Next("Add a step, or say that it has to be remade.")
	case !slices.Contains([]parts.Again{parts.NothingAgain, parts.BoreAgain, parts.CoatsAgain, parts.LastAgain}, d.Again):
		return invalid("defect-again", "%q is nothing that can be done again.", string(d.Again)).Next("Choose from the list.")
	}
	for i, s := range d.Steps {
		if err := checkRepairStep(i+1, s, stations); err != nil {
			return err
		}
	}
	return nil
}

func checkRepairStep(n int, s parts.Step, stations []parts.StationRow) error {
	name := strings.TrimSpace(s.Name)
	known := slices.ContainsFunc(stations, func(st parts.StationRow) bool { return st.Key == s.Station })
	switch {
	case name == "" || utf8.RuneCountInString(name) > 60:
		return parts.Problemf(parts.Invalid, "step-name", "Repair step %d needs a name of at most 60 characters.", n).Next("Name what is done.")
	case s.Wait() && (!slices.Contains(parts.Clocks, s.Clock) || s.Minutes < 1 || s.Minutes > 60*24*365):
		return parts.Problemf(parts.Invalid, "step-minutes", "Repair step %d, %s, does not say what it waits for and how long.", n, name).Next("Write a time from one minute to a year.")
	case !s.Wait() && !known:
		return parts.Problemf(parts.Invalid, "step-station", "Repair step %d, %s, is at a station the shop does not have.", n, name).Next("Choose one of the shop's stations.")
	}
	return nil
}
