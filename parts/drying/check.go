package drying

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"benchtally/parts"
)

// What a data sheet may say. Beyond, it is a slip of the pen or of the unit.
const (
	longestMinutes = 90 * 24 * 60
	longestText    = 200
	longestName    = 60
	coldestSheet   = 0.0 // °C
	hottestSheet   = 50.0
	dampestSheet   = 90.0 // percent; in air that is nearly full nothing could be compared
	greatestPer10  = 4.0
	byTheSheet     = "Read the product's data sheet again."
)

// wellFormedKey is small letters and digits in groups.
var wellFormedKey = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

// roughens finds advice that would scratch a stain.
var roughens = regexp.MustCompile(`(?i)\b(re-?)?((scuff|abrad|scour|roughen)|sand(s|ed|ing|paper)?\b)`)

// Check says what is wrong with a product that a person wrote, nil for nothing.
func Check(p Product) error {
	for _, check := range []func(Product) *parts.Problem{checkName, checkReference, checkTimes, checkKind, checkOrder, checkWindow} {
		if problem := check(p); problem != nil {
			return problem
		}
	}
	return nil
}

func invalid(code, say string, args ...any) *parts.Problem {
	return parts.Problemf(parts.Invalid, code, say, args...)
}

func checkName(p Product) *parts.Problem {
	switch {
	case !wellFormedKey.MatchString(p.Key) || len(p.Key) > longestName:
		return invalid("product-key", "The key %q is not small letters and digits, in groups with a hyphen between.", clip(p.Key)).Next("Write it like oil-varnish.")
	case strings.TrimSpace(p.Name) == "" || utf8.RuneCountInString(p.Name) > longestName:
		return invalid("product-name", "A product needs a name of at most %d characters.", longestName).Next("Write what is on the can.")
	case !slices.Contains(Kinds, p.Kind):
		return invalid("product-kind", "%q is no kind of product.", clip(string(p.Kind))).Next("Choose glue, stain, sealer, clear or paint.")
	case utf8.RuneCountInString(p.Missed) > longestText || utf8.RuneCountInString(p.Source) > longestText:
		return invalid("product-text", "A note on a product has at most %d characters.", longestText).Next("Say it shorter.")
	}
	return nil
}

// checkReference reads its comparisons so that NaN fails them.
func checkReference(p Product) *parts.Problem {
	switch {
	case !(p.Celsius >= coldestSheet && p.Celsius <= hottestSheet):
		return invalid("product-celsius", "Times of a data sheet are given at %s to %s, not at %s.", parts.Degrees(coldestSheet), parts.Degrees(hottestSheet), parts.Degrees(p.Celsius)).Next(byTheSheet)
	case !(p.Humidity >= 0 && p.Humidity <= dampestSheet):
		return invalid("product-humidity", "Times of a data sheet are given at 0 to %s %% humidity, not at %s %%.", number(dampestSheet), number(p.Humidity)).Next(byTheSheet)
	case !(p.Lowest >= -10 && p.Lowest <= p.Celsius):
		return invalid("product-lowest", "The lowest temperature of %s must be from %s to the %s at which the times hold.", parts.Degrees(p.Lowest), parts.Degrees(-10), parts.Degrees(p.Celsius)).Next(byTheSheet)
	case p.Per10 != 0 && !(p.Per10 >= 1 && p.Per10 <= greatestPer10):
		return invalid("product-per10", "A reaction goes 1 to %s times faster when it is %s warmer, not %s times.", number(greatestPer10), parts.Warmer(10), number(p.Per10)).Next("Leave it empty where the data sheet does not say.")
	case p.Per10 != 0 && p.Evaporates:
		return invalid("product-per10", "A product that dries by evaporation has no factor for %s: its speed follows the air.", parts.Warmer(10)).Next("Leave the factor empty, or say that it reacts.")
	}
	return nil
}

func checkTimes(p Product) *parts.Problem {
	for _, minutes := range []int{p.ClampsOff, p.Machine, p.Turn, p.Recoat, p.Latest, p.Sand, p.Stack, p.Wrap, p.Cure} {
		if minutes < 0 || minutes > longestMinutes {
			return invalid("product-time", "A time of %d minutes is outside 0 to 90 days.", minutes).Next(byTheSheet)
		}
	}
	if p.Cure == 0 {
		return invalid("product-cure", "A product needs the time of its full cure: it stands in for each time that is not given.").Next(byTheSheet)
	}
	return nil
}

// checkKind keeps the times of glue and of coats apart, and sandpaper off stain.
func checkKind(p Product) *parts.Problem {
	coats := p.Turn + p.Recoat + p.Latest + p.Stack + p.Wrap
	switch {
	case p.Kind == Glue && (coats != 0 || p.Missed != ""):
		return invalid("product-kind-time", "A glue is not turned, coated again, stacked or wrapped.").Next("Give the times of the clamps, of machining, of sanding flush and of the full cure.")
	case p.Kind == Glue && p.ClampsOff == 0:
		return invalid("product-clamps", "A glue needs the time after which the clamps may come off.").Next(byTheSheet)
	case p.Kind != Glue && p.ClampsOff+p.Machine != 0:
		return invalid("product-kind-time", "Only a glue has times for clamps and machining.").Next("Leave them empty.")
	case p.Kind != Glue && p.Recoat == 0:
		return invalid("product-recoat", "A finish needs the time after which it may be coated again.").Next(byTheSheet)
	case p.Kind == Stain && (p.Sand != 0 || roughens.MatchString(p.Missed)):
		return invalid("product-stain-sanded", "Stain is never sanded or scuffed: the colour would come off.").Next("Say what else its data sheet advises, for example to try it on a sample board.")
	}
	return nil
}

// checkOrder compares each time that is given with the next that is.
func checkOrder(p Product) *parts.Problem {
	order := [][]Need{{ClampsOff, Machine, Cure}, {Machine, Sand}, {Turn, Stack, Wrap, Cure}, {Recoat, Cure}}
	if p.Kind != Glue {
		// A joint may take longer to lose its water than the glue to cure.
		order = append(order, []Need{Sand, Cure})
	}
	for _, needs := range order {
		given := slices.DeleteFunc(slices.Clone(needs), func(n Need) bool { return !p.Given(n) })
		for i := 1; i < len(given); i++ {
			if p.minutes(given[i]) < p.minutes(given[i-1]) {
				return invalid("product-order", "The time to %s is shorter than the time to %s.", string(given[i]), string(given[i-1])).Next(byTheSheet)
			}
		}
	}
	return nil
}

func checkWindow(p Product) *parts.Problem {
	switch {
	case p.Latest != 0 && p.Latest <= p.Recoat:
		return invalid("product-window", "The recoat window ends before it opens.").Next("Leave its end empty where the product has none.")
	case p.Latest != 0 && strings.TrimSpace(p.Missed) == "":
		return invalid("product-missed", "The recoat window has an end, and nothing says what to do when it was missed.").Next("Write what the data sheet says then.")
	case p.Latest == 0 && p.Missed != "":
		return invalid("product-missed", "There is advice for a missed recoat window, and the window has no end.").Next("Give its end, or take the advice away.")
	}
	return nil
}

// clip keeps a text that a person sent to a length that fits a sentence.
func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "…"
	}
	return s
}

// number prints a value with at most one decimal.
func number(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}
