package bench

import (
	"context"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// Samples gives the sample boards of a mix, the newest first; of all for "".
func (b *Bench) Samples(ctx context.Context, mix string) ([]finish.Sample, error) {
	return b.store.Samples(ctx, mix)
}

// SampleRequest asks for sample boards of a mix, a board for each ratio; none
// for the mix as it is.
type SampleRequest struct {
	Mix    string
	Ratios [][2]finish.Decimal
	Wood   string
	Grit   int
	Coats  int
	Over   string
	Photo  string
}

// AddSamples records sample boards. They are alike in everything but the mix,
// so that it is the mix that the client sees.
func (b *Bench) AddSamples(ctx context.Context, r SampleRequest) ([]finish.Sample, error) {
	m, err := b.Mix(ctx, r.Mix)
	if err != nil {
		return nil, err
	}
	m.Approved = nil
	mixes := []finish.Mix{m}
	if len(r.Ratios) > 0 {
		var p *parts.Problem
		if mixes, p = finish.Samples(m, r.Ratios); p != nil {
			return nil, p
		}
	}
	if r.Photo != "" {
		if _, err := b.Photo(ctx, r.Photo); err != nil {
			return nil, err
		}
	}
	var list []finish.Sample
	for i, of := range mixes {
		list = append(list, finish.Sample{Number: i + 1, Mix: of, Wood: line(r.Wood), Grit: r.Grit, Coats: r.Coats, Over: line(r.Over), Photo: r.Photo})
	}
	if p := finish.Alike(list); p != nil {
		return nil, p
	}
	return list, b.store.AddSamples(ctx, m.Key, list)
}

// Approve records who chose a sample. Its mix is mixed by the shares of that
// board from then on.
func (b *Bench) Approve(ctx context.Context, number int, by string) (finish.Mix, error) {
	return b.store.Approve(ctx, number, func(s finish.Sample, was finish.Mix) (finish.Sample, finish.Mix, error) {
		m, p := finish.Approve(s, strings.TrimSpace(by), b.Now().Truncate(time.Millisecond))
		if p != nil {
			return s, was, p
		}
		s.Approved = m.Approved
		// What the board settles are the shares; the rest is said of the mix.
		was.Components, was.Additives, was.Thinner, was.Approved = m.Components, m.Additives, m.Thinner, m.Approved
		return s, was, nil
	})
}
