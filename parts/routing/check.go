package routing

import (
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// maxSteps bounds a list of steps: the strip of a longer one cannot be read.
const maxSteps = 40

// CheckSteps says what is wrong with a list of steps that a person edited.
func CheckSteps(r parts.Routing, stations []parts.StationRow) error {
	switch {
	case strings.TrimSpace(r.Name) == "":
		return parts.Problemf(parts.Invalid, "steps-name", "The steps have no name.").Next("Give them the name people use.")
	case parts.NextWork(r.Steps, 0) == len(r.Steps):
		return parts.Problemf(parts.Invalid, "steps-empty", "There is nothing to do in these steps.").Next("Add a step at a station.")
	case len(r.Steps) > maxSteps:
		return parts.Problemf(parts.Invalid, "steps-many", "These are %d steps; %d is the most.", len(r.Steps), maxSteps).Next("Leave some out.")
	}
	if r.For != parts.Single && r.For != parts.Assembly {
		return parts.Problemf(parts.Invalid, "steps-for", "These steps are neither for parts nor for assemblies.").Next("Choose one of the two.")
	}
	binds := 0
	for i, s := range r.Steps {
		if err := checkStep(i+1, s, stations); err != nil {
			return err
		}
		if s.Binds {
			binds++
		}
	}
	if r.For == parts.Assembly && binds != 1 {
		return parts.Problemf(parts.Invalid, "steps-dry-fit", "The steps of an assembly need one dry fit, and these have %d.", binds).
			Next("Mark the step where its parts are put together as the dry fit.")
	}
	if r.For == parts.Single && binds != 0 {
		return parts.Problemf(parts.Invalid, "steps-dry-fit", "A part is not put together: only an assembly has a dry fit.").Next("Take the mark off.")
	}
	return nil
}

func checkStep(number int, s parts.Step, stations []parts.StationRow) error {
	name := strings.TrimSpace(s.Name)
	known := slices.ContainsFunc(stations, func(st parts.StationRow) bool { return st.Key == s.Station })
	switch {
	case name == "" || utf8.RuneCountInString(name) > 60:
		return parts.Problemf(parts.Invalid, "step-name", "Step %d needs a name of at most 60 characters.", number).Next("Name what is done, as people say it.")
	case s.Wait() && !slices.Contains(parts.Clocks, s.Clock):
		return parts.Problemf(parts.Invalid, "step-clock", "Step %d, %s, has no station and no kind of wait.", number, name).Next("Choose one of the two.")
	case s.Wait() && (s.Minutes < 1 || s.Minutes > 60*24*365):
		return parts.Problemf(parts.Invalid, "step-minutes", "Step %d, %s, waits %d minutes.", number, name, s.Minutes).Next("Write a time from one minute to a year.")
	case s.Wait() && (s.Record || s.Binds || s.Bores):
		return parts.Problemf(parts.Invalid, "step-wait", "Step %d, %s, is a wait: nothing is done or recorded there.", number, name).Next("Take the marks off, or choose a station.")
	case s.Sets != "" && !slices.Contains(parts.Dimensions, s.Sets):
		return parts.Problemf(parts.Invalid, "step-sets", "Step %d, %s, sets the machine to %q.", number, name, string(s.Sets)).Next("Choose length, width, thickness or pattern.")
	case !s.Wait() && !known:
		return parts.Problemf(parts.Invalid, "step-station", "Step %d, %s, is at a station the shop does not have.", number, name).Next("Choose one of the shop's stations, or add it first.")
	}
	return nil
}

// CheckStation says what is wrong with a station that a person wrote.
func CheckStation(st parts.StationRow) error {
	name := strings.TrimSpace(st.Name)
	switch {
	case !stationKey.MatchString(string(st.Key)):
		return parts.Problemf(parts.Invalid, "station-key", "%q cannot be a station's short name.", string(st.Key)).
			Next("Use 2 to 16 small letters and digits, a letter first: it becomes part of an address.")
	case name == "" || utf8.RuneCountInString(name) > 40:
		return parts.Problemf(parts.Invalid, "station-name", "The station needs a name of at most 40 characters.").Next("Write it as people say it: at the bandsaw.")
	case utf8.RuneCountInString(st.Caution) > 300:
		return parts.Problemf(parts.Invalid, "station-caution", "The caution is longer than 300 characters.").Next("Keep it short enough to be read.")
	}
	return nil
}

var stationKey = regexp.MustCompile(`^[a-z][a-z0-9]{1,15}$`)
