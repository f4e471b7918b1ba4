package bench

import (
	"context"
	"slices"

	"benchtally/parts"
	"benchtally/parts/bore"
	"benchtally/parts/cutlist"
	"benchtally/parts/routing"
)

// Picks are what a person chose for a list before it is confirmed. What is
// not picked is guessed, or as the list says.
type Picks struct {
	Steps         map[int]string    // row of a line -> key of its steps
	Spares        map[int]int       // row of a line -> spares instead of the list's
	Tests         map[int]int       // row of a line -> test pieces instead of the list's
	PerBlank      map[int]int       // row of a line -> parts in one blank instead of the list's
	AssemblySteps map[string]string // path of an assembly -> key of its steps
}

// Preview is a list as it would be made into a job.
type Preview struct {
	List       cutlist.List
	Hints      []cutlist.Trouble // worth a look, but nothing that stops the list
	Lines      []PreviewLine
	Assemblies []PreviewAssembly
	Routings   []parts.Routing // to choose from
	Parts      int             // without spares and test pieces
	Spares     int
	Tests      int
	Made       int // assemblies
}

// PreviewLine is a line with its steps.
type PreviewLine struct {
	cutlist.Line
	Steps parts.Routing
	Holes parts.Pattern // zero for none
	Each  int           // how many one assembly takes
}

// PreviewAssembly is an assembly with its steps.
type PreviewAssembly struct {
	cutlist.Assembly
	Steps  parts.Routing
	Outer  string      // name of what it goes into; "" for nothing
	Inside []InnerTake // the assemblies that go into one
}

// InnerTake is how many of another assembly one takes.
type InnerTake struct {
	Name string
	Each int
}

// Preview reads a list and proposes what to make of it. What is wrong with
// the list is in Preview.List.Troubles.
func (b *Bench) Preview(ctx context.Context, t cutlist.Table, c cutlist.Choices, picks Picks) (Preview, error) {
	routings, err := b.store.Routings(ctx)
	if err != nil {
		return Preview{}, err
	}
	if c.Patterns, err = b.store.Patterns(ctx); err != nil {
		return Preview{}, err
	}
	p := Preview{List: cutlist.Read(t, c), Routings: routings}
	for _, l := range p.List.Lines {
		line, err := p.line(l, c.Patterns, picks)
		if err != nil {
			return p, err
		}
		p.Lines = append(p.Lines, line)
		p.Parts += line.Quantity
		p.Spares += line.Spares
		p.Tests += line.Tests
		if len(p.List.Troubles) == 0 {
			p.hint(line)
		}
	}
	if n := p.Parts + p.Spares + p.Tests; n > cutlist.MostParts && len(p.List.Troubles) == 0 {
		return p, parts.Problemf(parts.TooBig, "list-parts", "The list makes %d parts, more than %d.", n, cutlist.MostParts).
			Next("Choose fewer spares and test pieces, or import it in pieces.")
	}
	return p, p.assemblies(picks)
}

// line is a line of the list with what was picked for it.
func (p *Preview) line(l cutlist.Line, patterns []parts.Pattern, picks Picks) (PreviewLine, error) {
	for _, pick := range []struct {
		number *int
		of     map[int]int
		most   int
		what   string
	}{
		{&l.Spares, picks.Spares, cutlist.MostQuantity, "spares"},
		{&l.Tests, picks.Tests, cutlist.MostQuantity, "test pieces"},
		{&l.PerBlank, picks.PerBlank, cutlist.MostPerBlank, "parts in one blank"},
	} {
		n, ok := pick.of[l.Row]
		if ok && (n < 0 || n > pick.most) {
			return PreviewLine{}, parts.Problemf(parts.Invalid, "picked-out", "Row %d: there cannot be %d %s.", l.Row, n, pick.what).
				Next("Write a number from 0 to %d.", pick.most)
		}
		if ok {
			*pick.number = n
		}
	}
	steps, err := pick(p.Routings, picks.Steps[l.Row], routing.Guess(l.Material, l.Name, l.Assembly != ""), parts.Single)
	out := PreviewLine{Line: l, Steps: steps}
	if i := slices.IndexFunc(patterns, func(p parts.Pattern) bool { return p.Key == l.Pattern }); i >= 0 && l.Pattern != "" {
		out.Holes = patterns[i]
		if !handed(out) {
			out.Hand = "" // what fits either place after a turn is not told apart
		}
	}
	return out, err
}

// handed reports whether left and right counterparts of a line with holes are
// different parts. The face that is seen stays the one that is seen.
func handed(l PreviewLine) bool {
	known := func(s parts.Size) parts.Length {
		if s.ToSuit {
			return 0
		}
		return s.Length
	}
	return bore.Handed(l.Holes, known(l.Length), known(l.Width), known(l.Thickness), true)
}

// hint notes what a person may have forgotten about a line.
func (p *Preview) hint(l PreviewLine) {
	say := func(field cutlist.Field, problem *parts.Problem) {
		if len(p.Hints) >= cutlist.MostTroubles {
			return
		}
		hint := cutlist.Trouble{Row: l.Row, Field: field, Problem: problem}
		for _, c := range p.List.Columns {
			if c.Field == field {
				hint.Column, hint.Heading = c.Index, c.Heading
			}
		}
		p.Hints = append(p.Hints, hint)
	}
	if l.Holes.Key != "" && l.Hand == "" && handed(l) {
		say(cutlist.HandField, parts.Problemf(parts.Invalid, "hand-missing", "%s, bored as “%s”, is either a left or a right part.", l.Name, l.Holes.Name).
			Next("If both are needed, give each a row of its own and write left or right."))
	}
	// A pattern of nothing fits everything.
	if problem := parts.AsProblem(bore.Fits(l.Holes, parts.Line{Length: l.Length, Width: l.Width, Thick: l.Thickness})); problem != nil {
		say(cutlist.PatternField, problem)
	}
	if l.PerBlank > 1 && !slices.ContainsFunc(l.Steps.Steps, func(s parts.Step) bool { return s.Parts }) {
		say(cutlist.BlankField, parts.Problemf(parts.Invalid, "blank-whole", "%s comes in blanks, and no step of “%s” makes parts of one.", l.Name, l.Steps.Name).
			Next("Choose other steps, or leave the number of parts in a blank empty."))
	}
}

// assemblies adds the list's assemblies with what was picked for them.
func (p *Preview) assemblies(picks Picks) error {
	for _, a := range p.List.Assemblies {
		steps, err := pick(p.Routings, picks.AssemblySteps[a.Path], routing.Frame, parts.Assembly)
		if err != nil {
			return err
		}
		made := PreviewAssembly{Assembly: a, Steps: steps}
		if a.Into >= 0 {
			outer := &p.Assemblies[a.Into]
			made.Outer = outer.Name
			outer.Inside = append(outer.Inside, InnerTake{Name: a.Name, Each: a.Each})
		}
		p.Assemblies = append(p.Assemblies, made)
		p.Made += a.Count
		for _, take := range a.Takes {
			p.Lines[take.Line].Each = take.Each
		}
	}
	return nil
}

// pick finds the steps that were chosen, or guessed when nothing was.
func pick(routings []parts.Routing, chosen, guessed string, kind parts.Kind) (parts.Routing, error) {
	key := chosen
	if key == "" {
		key = guessed
	}
	for _, r := range routings {
		if r.Key == key && r.For == kind {
			return r, nil
		}
	}
	for _, r := range routings {
		if r.For == kind && chosen == "" {
			return r, nil
		}
	}
	return parts.Routing{}, parts.Problemf(parts.Invalid, "steps-unknown", "There are no steps %q for this.", key).Next("Choose steps from the list.")
}
