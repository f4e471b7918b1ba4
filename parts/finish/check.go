package finish

import (
	"strings"

	"benchtally/parts"
)

// Limits of what makes sense. Beyond them is a slip of the pen.
const (
	mostIngredients = 12
	mostParts       = 1_000 * One  // of a component, and to one of another
	mostPotLife     = 31 * 24 * 60 // minutes
	mostCoverage    = 200 * One    // square metres to the litre: a film of 5 µm, wet
	mostReserve     = 200 * One    // percent
	mostLoss        = 95 * One     // percent: sprayed onto small parts
	leastDensity    = 3 * One / 10 // grams to the millilitre
	mostDensity     = 4 * One      //
	mostAdditive    = 100 * One    // percent, one or all together
)

// The codes of what is wrong with a mix.
const (
	CodeMixName      = "mix-name"
	CodeRatio        = "mix-ratio"
	CodeTwice        = "mix-twice"
	CodeAdditive     = "additive"
	CodeAdditiveMost = "additive-most"
	CodeDensity      = "density"
	CodePotLife      = "pot-life"
	CodeMethod       = "method"
	CodeLoss         = "loss"
	CodeCoverage     = "coverage"
	CodeSolids       = "solids"
	CodeReserve      = "reserve"
)

// Check says what is wrong with a mix that a person wrote; nil for nothing.
func Check(m Mix) *parts.Problem {
	for _, check := range []func(Mix) *parts.Problem{checkNames, checkRatio, checkAdditives, checkDensities, checkUse} {
		if p := check(m); p != nil {
			return p
		}
	}
	return nil
}

func invalid(code, say string, args ...any) *parts.Problem {
	return parts.Problemf(parts.Invalid, code, say, args...)
}

func checkNames(m Mix) *parts.Problem {
	if strings.TrimSpace(m.Key) == "" || strings.TrimSpace(m.Name) == "" || strings.TrimSpace(m.Coat) == "" {
		return invalid(CodeMixName, "A mix needs a name, and which coat it is for.").Next("Write what people call it, and the coat as the steps have it, like stain.")
	}
	seen := map[string]bool{}
	all := m.Ingredients()
	if len(all) > mostIngredients {
		return invalid(CodeRatio, "%s has %d ingredients, and at most %d can be dosed.", m.Name, len(all), mostIngredients).Next("Leave some out, or mix some beforehand.")
	}
	for _, in := range all {
		name := strings.ToLower(strings.TrimSpace(in.Name))
		if name == "" {
			return invalid(CodeMixName, "Something in %s has no name.", m.Name).Next("Write what stands on its can.")
		}
		if seen[name] {
			return invalid(CodeTwice, "%s is in %s twice.", in.Name, m.Name).Next("Put the two together.")
		}
		seen[name] = true
	}
	return nil
}

// checkRatio refuses 0:0, and shares that no measure can keep to.
func checkRatio(m Mix) *parts.Problem {
	if len(m.Components) == 0 {
		return invalid(CodeRatio, "%s is made of nothing.", m.Name).Next("Add at least one component.")
	}
	least, largest := m.Components[0], m.Components[0]
	for _, c := range m.Components {
		if c.Parts <= 0 {
			return invalid(CodeRatio, "%s parts of %s make no mix.", c.Parts.String(), c.Name).Next("Write a share above zero, like 2 and 1, or take it out.")
		}
		if c.Parts < least.Parts {
			least = c
		}
		if c.Parts > largest.Parts {
			largest = c
		}
	}
	if largest.Parts > mostParts || int64(largest.Parts)/int64(least.Parts) > 1_000 {
		return invalid(CodeRatio, "%s parts of %s to %s of %s cannot be dosed.", largest.Parts.String(), largest.Name, least.Parts.String(), least.Name).
			Next("Write the shares as the data sheet has them, at most 1000 to 1.")
	}
	return nil
}

func checkAdditives(m Mix) *parts.Problem {
	var sum Decimal
	for _, a := range m.Additives {
		if a.Of != OfWhole && a.Of != OfBase {
			return invalid(CodeAdditive, "It is not said what the %s %% of %s are of.", a.Percent.String(), a.Name).Next("Choose the whole or the base.")
		}
		if a.Percent == 0 {
			return invalid(CodeAdditive, "0 %% of %s is nothing.", a.Name).Next("Write how much, or take it out.")
		}
	}
	for _, a := range append(m.Additives[:len(m.Additives):len(m.Additives)], m.Thinner) {
		if a.Percent < 0 || a.Percent > mostAdditive || a.Most < 0 || a.Most > mostAdditive {
			return invalid(CodeAdditive, "%s %% of %s makes no sense.", a.Percent.String(), a.Name).Next("Write a percentage from its data sheet, above 0 and up to 100.")
		}
		if a.Most > 0 && a.Percent > a.Most {
			return parts.Problemf(parts.Refused, CodeAdditiveMost, "%s %% of %s is more than its data sheet allows, which is %s %%.", a.Percent.String(), a.Name, a.Most.String()).
				Next("Take at most %s %%.", a.Most.String()).Fact("most_percent", a.Most.String())
		}
		sum += a.Percent
	}
	if sum > mostAdditive {
		return invalid(CodeAdditive, "What is added to %s comes to %s %%.", m.Name, sum.String()).Next("At most 100 %% can be added: what there is more of is the base.")
	}
	return nil
}

func checkDensities(m Mix) *parts.Problem {
	for _, in := range m.Ingredients() {
		if in.Density != 0 && (in.Density < leastDensity || in.Density > mostDensity) {
			return invalid(CodeDensity, "%s cannot weigh %s grams to the millilitre.", in.Name, in.Density.String()).
				Next("Write it from the data sheet; water is 1.")
		}
	}
	return nil
}

func checkUse(m Mix) *parts.Problem {
	switch {
	case m.PotLife < 0 || m.PotLife > mostPotLife:
		return invalid(CodePotLife, "A pot life of %d min makes no sense.", m.PotLife).Next("Write the minutes from the data sheet, or 0 for a finish that does not set in its pot.")
	case m.PerHour < 0 || m.PerHour > MostVolume:
		return invalid(CodeUseRate, "%s of %s in an hour makes no sense.", ml(m.PerHour), m.Name).
			Next("Write how much one person puts on in an hour, from the last time.")
	case m.Method != Brush && m.Method != Wipe && m.Method != Spray:
		return invalid(CodeMethod, "%q is no way to put on a finish.", string(m.Method)).Next("Choose brush, wipe or spray.")
	case m.Loss < 0 || m.Loss > mostLoss:
		return invalid(CodeLoss, "A loss of %s %% leaves nothing for the wood.", m.Loss.String()).Next("Write a percentage from 0 to 95.")
	case m.Coverage < 0 || m.Coverage > mostCoverage:
		return invalid(CodeCoverage, "A litre cannot cover %s square metres.", m.Coverage.String()).Next("Write what the data sheet says for one coat.")
	case m.Solids < 0 || m.Solids > 100*One:
		return invalid(CodeSolids, "A finish cannot be %s %% solids.", m.Solids.String()).Next("Write the solids by volume from the data sheet, 0 to 100.")
	case m.Reserve < 0 || m.Reserve > mostReserve:
		return invalid(CodeReserve, "A reserve of %s %% makes no sense.", m.Reserve.String()).Next("Write a percentage from 0 to 200; 10 is usual.")
	}
	return nil
}
