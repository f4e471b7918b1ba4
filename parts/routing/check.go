package routing

import (
	"regexp"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// maxSteps bounds a list of steps: the strip of a longer one cannot be read.
const maxSteps = 40

// CheckSteps says what is wrong with a list of steps that a person edited. A
// problem of one step carries its number as the fact "step".
func CheckSteps(r parts.Routing, stations []parts.StationRow) error {
	if p := checkList(r); p != nil {
		return p
	}
	for i, s := range r.Steps {
		if p := checkStep(i+1, s, stations); p != nil {
			return p.Fact("step", i+1)
		}
	}
	for _, check := range []func(parts.Routing) *parts.Problem{checkDryFit, checkDistinct, checkScuff, checkStain, checkDries} {
		if p := check(r); p != nil {
			return p
		}
	}
	return nil
}

func checkList(r parts.Routing) *parts.Problem {
	switch {
	case strings.TrimSpace(r.Name) == "":
		return parts.Problemf(parts.Invalid, "steps-name", "The steps have no name.").Next("Give them the name people use.")
	case utf8.RuneCountInString(r.Name) > 60:
		return parts.Problemf(parts.Invalid, "steps-name", "The name of the steps is longer than 60 characters.").Next("Give them the name people use.")
	case parts.NextWork(r.Steps, 0) == len(r.Steps):
		return parts.Problemf(parts.Invalid, "steps-empty", "There is nothing to do in these steps.").Next("Add a step at a station.")
	case len(r.Steps) > maxSteps:
		return parts.Problemf(parts.Invalid, "steps-many", "These are %d steps; %d is the most.", len(r.Steps), maxSteps).Next("Leave some out.")
	case r.For != parts.Single && r.For != parts.Assembly:
		return parts.Problemf(parts.Invalid, "steps-for", "These steps are neither for parts nor for assemblies.").Next("Choose one of the two.")
	}
	return nil
}

// checkDryFit sees to it that an assembly is put together once, and a part
// never.
func checkDryFit(r parts.Routing) *parts.Problem {
	first, binds := numbers(r.Steps, func(s parts.Step) bool { return s.Binds })
	switch {
	case r.For == parts.Assembly && binds != 1:
		p := parts.Problemf(parts.Invalid, "steps-dry-fit", "The steps of an assembly need one dry fit, and these have %d.", binds).
			Next("Mark the step where its parts are put together as the dry fit.")
		if binds > 1 {
			p = p.Fact("step", first)
		}
		return p
	case r.For == parts.Single && binds != 0:
		return parts.Problemf(parts.Invalid, "steps-dry-fit", "A part is not put together: only an assembly has a dry fit.").
			Next("Take the mark off.").Fact("step", first)
	}
	return nil
}

// checkDistinct sees to it that a blank becomes parts once, and that what is
// put together is never taken for a blank.
func checkDistinct(r parts.Routing) *parts.Problem {
	first, n := numbers(r.Steps, func(s parts.Step) bool { return s.Parts })
	switch {
	case n > 0 && r.For == parts.Assembly:
		return parts.Problemf(parts.Invalid, "steps-distinct", "Step %d says that one piece becomes several, and an assembly stays one.", first).
			Next("Take the mark off: it belongs to the steps of a part.").Fact("step", first)
	case n > 1:
		return parts.Problemf(parts.Invalid, "steps-distinct", "One piece becomes several at %d of these steps; it can do so once.", n).
			Next("Leave the mark at the step where the parts are cut apart.").Fact("step", first)
	}
	return nil
}

// numbers gives the number of the first step that is so, and how many are.
func numbers(steps []parts.Step, is func(parts.Step) bool) (first, n int) {
	for i, s := range steps {
		if !is(s) {
			continue
		}
		if n++; n == 1 {
			first = i + 1
		}
	}
	return first, n
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
