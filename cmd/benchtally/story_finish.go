package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/finish"
)

// storyMixes are those of a story's shop: a stain of three parts to one, and a
// clear coat in two parts that sets in its pot.
func storyMixes() []finish.Mix {
	const one = finish.One
	return []finish.Mix{
		{Name: "Locker brown", Coat: "stain", Method: finish.Wipe, Loss: 10 * one, Coverage: 12 * one, Reserve: 10 * one, Oily: true,
			Components: []finish.Component{{Name: "Stain base", Parts: 4 * one}, {Name: "Oak brown", Parts: one, Colour: true}},
			Additives:  []finish.Additive{{Name: "Flow additive", Percent: 15 * one, Of: finish.OfWhole, Most: 15 * one}}},
		{Name: "Hard clear", Coat: "topcoat", Method: finish.Spray, Loss: 50 * one, Coverage: 10 * one, Solids: 35 * one, Reserve: 10 * one,
			Solvent: true, PotLife: 480,
			Components: []finish.Component{{Name: "Clear", Parts: 2 * one}, {Name: "Hardener", Parts: one, NeedsLot: true}},
			Thinner:    finish.Additive{Name: "Thinner", Percent: 5 * one, Most: 10 * one}},
	}
}

// saveMixes gives a story's shop its mixes, and names them in its steps.
func saveMixes(ctx context.Context, b *bench.Bench) error {
	key := map[string]string{}
	for _, m := range storyMixes() {
		m, err := b.SaveMix(ctx, m, nil)
		if err != nil {
			return err
		}
		key[m.Coat] = m.Key
	}
	all, err := b.Routings(ctx)
	if err != nil {
		return err
	}
	for _, r := range all {
		if !slices.ContainsFunc(r.Steps, func(s parts.Step) bool { return key[s.Coat] != "" }) {
			continue
		}
		r.Steps = slices.Clone(r.Steps)
		for i, s := range r.Steps {
			r.Steps[i].Mix = key[s.Coat]
		}
		if _, err := b.SaveRouting(ctx, r); err != nil {
			return err
		}
	}
	return nil
}

// finishes does the deeds of a story that are about finish; done is false for
// any other.
func (t *teller) finishes(ctx context.Context, d deed) (done bool, err error) {
	switch d.verb {
	case "board":
		return true, t.board(ctx, d)
	case "approve":
		number, err := strconv.Atoi(d.what)
		if err == nil {
			_, err = t.Approve(ctx, number, d.why)
		}
		return true, err
	case "mix":
		return true, t.mixOf(ctx, d)
	case "shut":
		number, err := strconv.ParseInt(d.what, 10, 64)
		open := false
		if err == nil {
			err = t.ChangeBatch(ctx, number, bench.BatchChange{Open: &open})
		}
		return true, err
	case "can":
		return true, t.can(ctx, d)
	case "wall":
		return true, t.wall(ctx, d)
	}
	return false, nil
}

// mixNamed finds a mix by its name.
func (t *teller) mixNamed(ctx context.Context, name string) (finish.Mix, error) {
	all, err := t.Mixes(ctx)
	if err != nil {
		return finish.Mix{}, err
	}
	for _, m := range all {
		if m.Name == name {
			return m, nil
		}
	}
	return finish.Mix{}, fmt.Errorf("the story has no mix %q", name)
}

// volume reads what is said after a word; none is zero.
func (d deed) volume(word string) (finish.Volume, error) {
	text, ok := d.said(word)
	if !ok {
		return 0, nil
	}
	v, p := finish.ParseVolume(text)
	if p != nil {
		return 0, p
	}
	return v, nil
}

// mixOf mixes a batch.
func (t *teller) mixOf(ctx context.Context, d deed) error {
	m, err := t.mixNamed(ctx, d.what)
	if err != nil {
		return err
	}
	r := bench.BatchRequest{ID: newID(), Mix: m.Key, By: d.who, Lots: map[string]string{}}
	if r.Size, err = d.volume("size"); err != nil {
		return err
	}
	if r.Jar, err = d.volume("jar"); err != nil {
		return err
	}
	if lot, ok := d.said("lot"); ok {
		for _, c := range m.Components {
			if c.NeedsLot {
				r.Lots[c.Name] = lot
			}
		}
	}
	_, err = t.MixIt(ctx, r)
	return err
}

// board makes sample boards of a mix in the usual ratios.
func (t *teller) board(ctx context.Context, d deed) error {
	m, err := t.mixNamed(ctx, d.what)
	if err != nil {
		return err
	}
	r := bench.SampleRequest{Mix: m.Key, Grit: 180, Coats: 2, Ratios: finish.UsualRatios()}
	r.Wood, _ = d.said("wood")
	r.Over, _ = d.said("over")
	_, err = t.AddSamples(ctx, r)
	return err
}

// can puts a can on the shelf that was opened when the story says.
func (t *teller) can(ctx context.Context, d deed) error {
	left, err := d.volume("left")
	if err != nil {
		return err
	}
	lot, _ := d.said("lot")
	return t.SaveCan(ctx, bench.Can{Can: finish.Can{Container: finish.Container{Name: d.what, Lot: lot, Opened: t.Now()}, Left: left}})
}

// wall says which lines stand side by side.
func (t *teller) wall(ctx context.Context, d deed) error {
	job, err := t.Job(ctx, t.job)
	if err != nil {
		return err
	}
	names, _ := d.said("of")
	var lines []int64
	for _, l := range job.Lines {
		if slices.Contains(strings.Split(names, " & "), l.Name) {
			lines = append(lines, l.ID)
		}
	}
	return t.SaveColourGroup(ctx, t.job, d.what, lines)
}
