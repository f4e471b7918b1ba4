package bench

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// Mixes gives the shop's mixes.
func (b *Bench) Mixes(ctx context.Context) ([]finish.Mix, error) { return b.store.Mixes(ctx) }

// Mix gives one mix by its key.
func (b *Bench) Mix(ctx context.Context, key string) (finish.Mix, error) {
	all, err := b.store.Mixes(ctx)
	if err != nil {
		return finish.Mix{}, err
	}
	i := slices.IndexFunc(all, func(m finish.Mix) bool { return m.Key == key })
	if i < 0 {
		return finish.Mix{}, parts.Problemf(parts.Missing, "mix-unknown", "The shop has no mix %q.", key).Next("Choose one of those on the page of mixes.")
	}
	return all[i], nil
}

// SaveMix adds a mix, which gets a key from its name, or changes the one that
// has its key. What a client approved stays as it was: who changes the shares
// has to show a new sample. seen refuses a change of what somebody else
// changed meanwhile; nil for no matter.
func (b *Bench) SaveMix(ctx context.Context, m finish.Mix, seen func(was finish.Mix) bool) (finish.Mix, error) {
	all, err := b.store.Mixes(ctx)
	if err != nil {
		return m, err
	}
	m.Name, m.Coat = line(m.Name), strings.ToLower(line(m.Coat))
	if i := slices.IndexFunc(all, func(o finish.Mix) bool { return strings.EqualFold(o.Name, m.Name) && o.Key != m.Key }); i >= 0 {
		m.Approved = all[i].Approved
		if same := all[i]; m.Key == "" && same.Recipe() == m.Recipe() && same.Coat == m.Coat {
			return same, nil // sent twice
		}
		return m, parts.Problemf(parts.Refused, "mix-there", "There is a mix called %q already.", all[i].Name).Next("Change that one, or choose another name.")
	}
	fresh := m.Key == ""
	if fresh && m.Name != "" {
		m.Key = mixKey(m.Name, all)
	}
	if p := finish.Check(m); p != nil {
		return m, p
	}
	return b.store.ChangeMix(ctx, m.Key, func(was finish.Mix) (finish.Mix, error) {
		switch {
		case was.Key == "" && !fresh:
			return m, parts.Problemf(parts.Missing, "mix-unknown", "The shop has no mix %q.", m.Key).Next("Choose one of those on the page of mixes.")
		case was.Key != "" && seen != nil && !seen(was):
			return m, parts.Problemf(parts.Stale, "mix-stale", "Somebody changed %s while you were writing.", was.Name).
				Next("Open it again and look at what it is now.")
		case was.Coat != "" && was.Coat != m.Coat:
			return m, parts.Problemf(parts.Refused, "mix-coat", "%s is for the coat %s, and steps count on that.", was.Name, was.Coat).Next("Add another mix for %s.", m.Coat)
		}
		m.Approved = was.Approved
		return m, nil
	})
}

// Unused reports whether no step of the shop gives the coat that a mix is for.
func (b *Bench) Unused(ctx context.Context, m finish.Mix) (bool, error) {
	all, err := b.Routings(ctx)
	if err != nil {
		return false, err
	}
	return !slices.ContainsFunc(all, func(r parts.Routing) bool {
		return slices.ContainsFunc(r.Steps, func(s parts.Step) bool { return m.For(s.Coat) })
	}), nil
}

// line is text with single spaces.
func line(s string) string { return strings.Join(strings.Fields(s), " ") }

// mixKey makes a key of a name that no mix has.
func mixKey(name string, all []finish.Mix) string {
	short := strings.ToLower(codeOf(name))
	key := short
	for n := 2; slices.ContainsFunc(all, func(o finish.Mix) bool { return o.Key == key }); n++ {
		key = fmt.Sprintf("%s-%d", short, n)
	}
	return key
}

// checkMixes refuses steps that name a mix which the shop does not have, or
// one that is for another coat, or that would scuff bare colour.
func (b *Bench) checkMixes(ctx context.Context, steps []parts.Step) error {
	all, err := b.store.Mixes(ctx)
	if err != nil {
		return err
	}
	for i, s := range steps {
		if s.Mix == "" {
			continue
		}
		at := slices.IndexFunc(all, func(m finish.Mix) bool { return m.Key == s.Mix })
		switch {
		case at < 0:
			return parts.Problemf(parts.Invalid, "step-mix", "Step %d, %s, is of a mix that the shop does not have.", i+1, s.Name).
				Next("Choose one of the list.").Fact("step", i+1)
		case !strings.EqualFold(all[at].Coat, strings.TrimSpace(s.Coat)):
			return parts.Problemf(parts.Invalid, "step-mix", "Step %d, %s, is the coat %q, and %s is for %q.", i+1, s.Name, s.Coat, all[at].Name, all[at].Coat).
				Next("Choose a mix for that coat, or name the coat as the mix has it.").Fact("step", i+1)
		}
	}
	colours := func(coat string) bool {
		return slices.ContainsFunc(all, func(m finish.Mix) bool { return m.For(coat) && m.Colours() })
	}
	if p := finish.CheckScuff(steps, colours); p != nil {
		return p
	}
	return nil
}

// Measures gives what finish is dosed with.
func (b *Bench) Measures(ctx context.Context) ([]finish.Measure, error) {
	kept, err := b.store.Measures(ctx)
	if err == nil && len(kept) == 0 {
		return finish.UsualMeasures(), nil
	}
	return kept, err
}

// AddMeasure adds a measure to those of the shop. The ones a shop starts with
// stay.
func (b *Bench) AddMeasure(ctx context.Context, ms finish.Measure) error {
	all, err := b.Measures(ctx)
	if err != nil {
		return err
	}
	if ms.Name = line(ms.Name); ms.Name == "" {
		return parts.Problemf(parts.Invalid, finish.CodeMeasure, "The measure has no name.").Next("Write what people call it, such as syringe of 10 ml.")
	}
	if p := finish.CheckMeasure(ms); p != nil {
		return p
	}
	if i := slices.IndexFunc(all, func(o finish.Measure) bool { return strings.EqualFold(o.Name, ms.Name) }); i >= 0 {
		ms.Key = all[i].Key
		all[i] = ms
		return b.store.SaveMeasures(ctx, all)
	}
	ms.Key = strings.ToLower(codeOf(ms.Name))
	for n := 2; slices.ContainsFunc(all, func(o finish.Measure) bool { return o.Key == ms.Key }); n++ {
		ms.Key = fmt.Sprintf("%s-%d", strings.ToLower(codeOf(ms.Name)), n)
	}
	return b.store.SaveMeasures(ctx, append(all, ms))
}

// measureFor finds a measure by its key; one that is handy for a size for "".
func (b *Bench) measureFor(ctx context.Context, key string, size finish.Volume) (finish.Measure, error) {
	all, err := b.Measures(ctx)
	if err != nil {
		return finish.Measure{}, err
	}
	if key == "" {
		return finish.Handy(all, size), nil
	}
	for _, ms := range all {
		if ms.Key == key {
			return ms, nil
		}
	}
	return finish.Measure{}, parts.Problemf(parts.Invalid, finish.CodeMeasure, "The shop has no measure %q.", key).Next("Choose one of the list.")
}

// Dose gives the dosing list of a mix for a size: the batch from there up to a
// tenth or ten marks more that keeps best to the shares.
func (b *Bench) Dose(ctx context.Context, key string, size finish.Volume, measure string) (finish.Mix, finish.Dosing, error) {
	return b.dose(ctx, key, size, measure, false)
}

// DoseAgain gives the list that came to exactly a size before.
func (b *Bench) DoseAgain(ctx context.Context, key string, size finish.Volume, measure string) (finish.Mix, finish.Dosing, error) {
	return b.dose(ctx, key, size, measure, true)
}

// doseOf doses a batch of about a size, or of exactly what a list came to. A
// list that was made with another measure comes to another size.
func doseOf(m finish.Mix, ms finish.Measure, size finish.Volume, exact bool) (finish.Dosing, *parts.Problem) {
	if exact {
		if d, p := finish.DoseAgain(m, ms, size); p == nil {
			return d, nil
		}
	}
	return finish.DoseAbout(m, ms, size)
}

func (b *Bench) dose(ctx context.Context, key string, size finish.Volume, measure string, exact bool) (finish.Mix, finish.Dosing, error) {
	m, err := b.Mix(ctx, key)
	if err != nil {
		return m, finish.Dosing{}, err
	}
	ms, err := b.measureFor(ctx, measure, size)
	if err != nil {
		return m, finish.Dosing{}, err
	}
	d, p := doseOf(m, ms, size, exact)
	if p != nil {
		return m, d, p
	}
	return m, d, nil
}
