package routing

import (
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"benchtally/parts"
)

// The most that a step may say. They catch slips of the pen and of the unit;
// nothing in a woodshop comes near them.
const (
	longestWait  = 60 * 24 * 365 // minutes
	longestSetup = 60 * 24       // minutes
	longestEach  = 24 * 60 * 60  // seconds
	longestSafe  = 10 * parts.Metre
	longestSnipe = parts.Metre
	longestNote  = 120 // characters of a check or of what follows a missed window
	longestCoat  = 40  // characters
)

// checkStep says what is wrong with one step, its neighbours apart.
func checkStep(number int, s parts.Step, stations []parts.StationRow) *parts.Problem {
	name := strings.TrimSpace(s.Name)
	if name == "" || utf8.RuneCountInString(name) > 60 {
		return parts.Problemf(parts.Invalid, "step-name", "Step %d needs a name of at most 60 characters.", number).Next("Name what is done, as people say it.")
	}
	// wrong begins every sentence with the step it is about.
	wrong := func(code, say string, args ...any) *parts.Problem {
		return parts.Problemf(parts.Invalid, code, "Step %d, %s, "+say, append([]any{number, name}, args...)...)
	}
	if s.Wait() {
		return checkWait(s, wrong)
	}
	known := slices.ContainsFunc(stations, func(st parts.StationRow) bool { return st.Key == s.Station })
	switch {
	case !known:
		return wrong("step-station", "is at a station the shop does not have.").Next("Choose one of the shop's stations, or add it first.")
	case s.Clock != "" || s.Minutes != 0 || s.Latest != 0 || s.Missed != "" || s.Product != "" || s.Need != "":
		return wrong("step-work", "is work at a station, and waits too.").Next("Put the wait in a step of its own behind it.")
	}
	for _, check := range []func(parts.Step, sentence) *parts.Problem{checkSettings, checkSizes, checkFaces, checkTimes} {
		if p := check(s, wrong); p != nil {
			return p
		}
	}
	return nil
}

// sentence makes a problem of one step.
type sentence func(code, say string, args ...any) *parts.Problem

// checkWait is for a step at which nothing is done: all it has is a clock.
func checkWait(s parts.Step, wrong sentence) *parts.Problem {
	minutes := func(m int) time.Duration { return time.Duration(m) * time.Minute }
	switch {
	case !slices.Contains(parts.Clocks, s.Clock):
		return wrong("step-clock", "has no station and no kind of wait.").Next("Choose one of the two.")
	case s.Minutes < 1 || s.Minutes > longestWait:
		return wrong("step-minutes", "waits %d minutes.", s.Minutes).Next("Write a time from one minute to a year.")
	case works(s):
		return wrong("step-wait", "is a wait: nothing is done or recorded there.").Next("Take the marks off, or choose a station.")
	case (s.Latest != 0 || s.Missed != "") && s.Clock != parts.Drying:
		return wrong("step-latest", "has a window for the next coat, and nothing dries there.").Next("Leave the window empty, or make it a wait for a coat to dry.")
	case s.Latest != 0 && s.Latest <= s.Minutes:
		return wrong("step-latest", "is over after %s, and the next coat may come after %s at the latest.", minutes(s.Minutes), minutes(s.Latest)).
			Next("The latest time comes after the wait. Leave it empty where the product has none.")
	case s.Latest > longestWait:
		return wrong("step-latest", "lets the next coat come more than a year later.").Next("Leave it empty where the product has no latest time.")
	case s.Product != "" && s.Clock == parts.Resting:
		return wrong("step-product", "is wood at rest, and nothing dries there.").Next("Take the product out, or choose another kind of wait.")
	case s.Product != "" && (s.Latest != 0 || s.Missed != ""):
		return wrong("step-product", "has a window of its own beside the one of its product.").Next("Leave the window empty: the product's data sheet has it.")
	case s.Product == "" && s.Need != "":
		return wrong("step-product", "says what it waits for, and names no product.").Next("Choose the product, or leave it a wait of fixed hours.")
	case utf8.RuneCountInString(s.Missed) > longestNote:
		return wrong("step-missed", "says what to do after the window in more than %d characters.", longestNote).Next("Keep it short enough to be read, and point to the data sheet.")
	case s.Missed != "" && s.Latest == 0:
		return wrong("step-missed", "says what to do after the window, and no window ends.").Next("Write the hours after which the next coat is too late.")
	}
	return nil
}

// works reports whether a step has anything that only work has.
func works(s parts.Step) bool {
	return s.Record || s.Binds || s.Glues || s.Bores || s.Parts || s.Scuff || s.Sets != "" || s.Makes != "" || s.Check != "" || s.Coat != "" || s.Mix != "" || s.TouchUp ||
		len(s.Cuts)+len(s.Bears)+len(s.Joins)+len(s.Coats) > 0 || s.Safe != (parts.Smallest{}) || s.Snipe != 0 || s.SetupMinutes != 0 || s.EachSeconds != 0
}

func checkSettings(s parts.Step, wrong sentence) *parts.Problem {
	known := func(d parts.Dimension) bool { return d == "" || slices.Contains(parts.Dimensions, d) }
	switch {
	case !known(s.Sets):
		return wrong("step-sets", "sets the machine to %q.", string(s.Sets)).Next("Choose length, width, thickness or pattern.")
	case !known(s.Makes):
		return wrong("step-makes", "makes the size %q.", string(s.Makes)).Next("Choose length, width, thickness or pattern.")
	case utf8.RuneCountInString(s.Check) > longestNote:
		return wrong("step-check", "says in more than %d characters what is checked on the first piece.", longestNote).Next("Keep it short enough to be read at the machine.")
	}
	return nil
}

func checkSizes(s parts.Step, wrong sentence) *parts.Problem {
	for _, size := range []struct {
		what string
		is   parts.Length
	}{{"length", s.Safe.Length}, {"width", s.Safe.Width}, {"thickness", s.Safe.Thick}} {
		if size.is < 0 || size.is > longestSafe {
			return wrong("step-safe", "gives %s as the smallest safe %s.", size.is.String(), size.what).
				Next("Write what the machine's manual says, or leave it empty.")
		}
	}
	if s.Snipe < 0 || s.Snipe > longestSnipe {
		return wrong("step-snipe", "spoils %s at each end.", s.Snipe.String()).Next("Write the length that is cut off for it, or leave it empty.")
	}
	return nil
}

func checkFaces(s parts.Step, wrong sentence) *parts.Problem {
	for _, faces := range [][]parts.Face{s.Cuts, s.Bears, s.Joins, s.Coats} {
		for i, f := range faces {
			if !slices.Contains(parts.Faces, f) {
				return wrong("step-face", "is about a face %q that a part does not have.", string(f)).Next("Choose show face, back, edges or ends.")
			}
			if slices.Contains(faces[:i], f) {
				return wrong("step-face", "names the %s twice.", string(f)).Next("Name each face once.")
			}
		}
	}
	coat := strings.TrimSpace(s.Coat)
	switch {
	case coat == "" && len(s.Coats) > 0:
		return wrong("step-coat", "coats the %s, and does not say with what.", string(s.Coats[0])).Next("Name the coat, such as stain or topcoat.")
	case coat == "" && (s.Mix != "" || s.TouchUp):
		return wrong("step-coat", "is of a mix or touches up, and does not say which coat it is.").Next("Name the coat, such as stain or topcoat, and tick the faces that get it.")
	case coat != "" && len(s.Coats) == 0:
		return wrong("step-coat", "puts %s on no face.", coat).Next("Tick the faces that get it.")
	case utf8.RuneCountInString(coat) > longestCoat:
		return wrong("step-coat", "names its coat in more than %d characters.", longestCoat).Next("Write what people call it, such as stain or topcoat.")
	}
	return nil
}

func checkTimes(s parts.Step, wrong sentence) *parts.Problem {
	switch {
	case s.SetupMinutes < 0 || s.SetupMinutes > longestSetup:
		return wrong("step-setup", "takes %d minutes to set the machine.", s.SetupMinutes).Next("Write minutes, one day at most, or leave it empty.")
	case s.EachSeconds < 0 || s.EachSeconds > longestEach:
		return wrong("step-each", "takes %d seconds for each piece.", s.EachSeconds).Next("Write one day at most, or leave it empty.")
	}
	return nil
}
