package store_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/finish"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// plainMix is a mix of one component.
func plainMix() finish.Mix {
	return finish.Mix{Key: "clear", Name: "Clear", Coat: "topcoat", Method: finish.Brush, Components: []finish.Component{{Name: "Clear", Parts: finish.One}}}
}

// openEmpty opens an empty store of its own.
func openEmpty(t *testing.T, clock *shoptest.Clock) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), shoptest.DSN(t), store.Options{Clock: clock.Now})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func keepMix(t *testing.T, s *store.Store, m finish.Mix) {
	t.Helper()
	_, err := s.ChangeMix(context.Background(), m.Key, func(finish.Mix) (finish.Mix, error) { return m, nil })
	require.NoError(t, err)
}

func TestMixesAreKept(t *testing.T) {
	ctx := context.Background()
	s := openEmpty(t, shoptest.NewClock())
	m := plainMix()
	keepMix(t, s, m)
	all, err := s.Mixes(ctx)
	require.NoError(t, err)
	require.Equal(t, []finish.Mix{m}, all)
	no := errors.New("no")
	_, err = s.ChangeMix(ctx, m.Key, func(was finish.Mix) (finish.Mix, error) {
		require.Equal(t, m, was)
		return finish.Mix{}, no
	})
	require.ErrorIs(t, err, no)
	all, err = s.Mixes(ctx)
	require.NoError(t, err)
	require.Equal(t, []finish.Mix{m}, all, "what was refused changed nothing")
}

func TestBatchesAreKeptOpenedAndClosed(t *testing.T) {
	ctx := context.Background()
	clock := shoptest.NewClock()
	s := openEmpty(t, clock)
	m := plainMix()
	keepMix(t, s, m)
	command := store.Command{ID: shoptest.NewID(), Kind: "mix", By: "Ben"}
	add := func() store.Answer {
		a, err := s.AddBatch(ctx, command, m.Key, func(got finish.Mix, shelf []store.Can, person int64, now time.Time) (finish.Batch, []store.Can, error) {
			require.Equal(t, m, got)
			return finish.Batch{Mix: m.Key, Name: m.Name, Recipe: m.Recipe(), MixedAt: now, By: person, Volume: finish.Litre, Left: 970 * finish.Millilitre,
				Jar: 30 * finish.Millilitre, Open: true, From: []finish.Container{{Name: "Clear", Lot: "C-7"}}}, nil, nil
		})
		require.NoError(t, err)
		return a
	}
	require.False(t, add().Repeat)
	require.True(t, add().Repeat, "the same command is the same batch")
	b, err := s.Batch(ctx, 1)
	require.NoError(t, err)
	require.Equal(t, 970*finish.Millilitre, b.Left)
	require.Equal(t, "C-7", b.From[0].Lot)
	require.Equal(t, shoptest.Noon, b.MixedAt)
	require.True(t, b.Open)

	clock.Pass(time.Hour)
	change := func(to func(*finish.Batch)) finish.Batch {
		require.NoError(t, s.ChangeBatch(ctx, 1, func(b finish.Batch) (finish.Batch, error) { to(&b); return b, nil }))
		b, err := s.Batch(ctx, 1)
		require.NoError(t, err)
		return b
	}
	require.Equal(t, 500*finish.Millilitre, change(func(b *finish.Batch) { b.Left = 500 * finish.Millilitre }).Left)
	b = change(func(b *finish.Batch) { b.Left, b.Jar = 440*finish.Millilitre, 90*finish.Millilitre })
	require.Equal(t, 440*finish.Millilitre, b.Left, "the jar was filled out of what is left")
	require.Equal(t, 90*finish.Millilitre, b.Jar)
	require.False(t, change(func(b *finish.Batch) { b.Open = false }).Open)
	now, err := s.Batches(ctx, clock.Now())
	require.NoError(t, err)
	require.Empty(t, now)
	month, err := s.Batches(ctx, clock.Now().AddDate(0, -1, 0))
	require.NoError(t, err)
	require.Len(t, month, 1)
	require.True(t, change(func(b *finish.Batch) { b.Open = true }).Open)
	require.Equal(t, parts.Missing, parts.AsProblem(s.ChangeBatch(ctx, 9, func(b finish.Batch) (finish.Batch, error) { return b, nil })).Sort)
}

func TestSamplesGetNumbersAndAnApproval(t *testing.T) {
	ctx := context.Background()
	s := openEmpty(t, shoptest.NewClock())
	m := plainMix()
	keepMix(t, s, m)
	boards := []finish.Sample{{Mix: m, Wood: "white oak", Grit: 180, Coats: 2}, {Mix: m, Wood: "white oak", Grit: 180, Coats: 3}}
	require.NoError(t, s.AddSamples(ctx, m.Key, boards))
	require.Equal(t, "mix-unknown", parts.CodeOf(s.AddSamples(ctx, "none", boards)))
	all, err := s.Samples(ctx, m.Key)
	require.NoError(t, err)
	require.Len(t, all, 2)
	require.Equal(t, 2, all[0].Number, "the newest first")
	_, err = s.Approve(ctx, 1, func(sample finish.Sample, was finish.Mix) (finish.Sample, finish.Mix, error) {
		was.Approved = &finish.Approval{By: "the client", At: shoptest.Noon, Sample: sample.Number}
		sample.Approved = was.Approved
		return sample, was, nil
	})
	require.NoError(t, err)
	mixes, err := s.Mixes(ctx)
	require.NoError(t, err)
	require.Equal(t, 1, mixes[0].Approved.Sample)
	all, err = s.Samples(ctx, "")
	require.NoError(t, err)
	require.Nil(t, all[0].Approved)
	require.Equal(t, "the client", all[1].Approved.By)
}

func TestCansAndMeasuresAreKept(t *testing.T) {
	ctx := context.Background()
	s := openEmpty(t, shoptest.NewClock())
	can := store.Can{Can: finish.Can{Container: finish.Container{Name: "Clear", Lot: "C-7", Opened: shoptest.Noon}, Left: finish.Litre}}
	var err error
	can.ID, err = s.SaveCan(ctx, can)
	require.NoError(t, err)
	can.Left = finish.Millilitre
	_, err = s.SaveCan(ctx, can)
	require.NoError(t, err)
	all, err := s.Cans(ctx)
	require.NoError(t, err)
	require.Equal(t, []store.Can{can}, all)
	can.Left = 0
	_, err = s.SaveCan(ctx, can)
	require.NoError(t, err)
	all, err = s.Cans(ctx)
	require.NoError(t, err)
	require.Empty(t, all, "an empty can is gone")
	none, err := s.Measures(ctx)
	require.NoError(t, err)
	require.Empty(t, none)
	require.NoError(t, s.SaveMeasures(ctx, finish.UsualMeasures()))
	require.NoError(t, s.SaveMeasures(ctx, finish.UsualMeasures()))
	kept, err := s.Measures(ctx)
	require.NoError(t, err)
	require.ElementsMatch(t, finish.UsualMeasures(), kept)
}
