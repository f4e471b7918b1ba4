package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// Samples gives the sample boards of a mix, the newest first; of all mixes
// for "".
func (s *Store) Samples(ctx context.Context, mix string) ([]finish.Sample, error) {
	return contents[finish.Sample](reader{s, ctx}, "samples", "SELECT content FROM samples WHERE mix = ? OR ? = '' ORDER BY id DESC", mix, mix)
}

// AddSamples keeps sample boards of a mix, and gives them their numbers.
func (s *Store) AddSamples(ctx context.Context, mix string, list []finish.Sample) error {
	return s.run(ctx, true, func(t *tx) error {
		if _, found, err := t.mix(mix); err != nil || !found {
			return errors.Join(err, missingMix(found, mix))
		}
		for i := range list {
			if err := t.row("INSERT INTO samples (mix, content) VALUES (?, '') RETURNING id", []any{mix}, &list[i].Number); err != nil {
				return fmt.Errorf("keep a sample of %s: %w", mix, err)
			}
			if err := t.saveSample(list[i]); err != nil {
				return err
			}
		}
		return nil
	})
}

func missingMix(found bool, key string) error {
	if found {
		return nil
	}
	return mixUnknown(key)
}

func (t *tx) saveSample(sample finish.Sample) error {
	content, err := json.Marshal(sample)
	if err == nil {
		err = t.exec("UPDATE samples SET content = ? WHERE id = ?", string(content), sample.Number)
	}
	if err != nil {
		return fmt.Errorf("keep sample %d: %w", sample.Number, err)
	}
	return nil
}

// Approve records that a client chose a sample. decide gets the sample and
// the mix it is of, and gives both as they are then.
func (s *Store) Approve(ctx context.Context, number int, decide func(finish.Sample, finish.Mix) (finish.Sample, finish.Mix, error)) (finish.Mix, error) {
	var m finish.Mix
	err := s.run(ctx, true, func(t *tx) error {
		var key, content string
		var sample finish.Sample
		err := t.row("SELECT mix, content FROM samples WHERE id = ?", []any{number}, &key, &content)
		if errors.Is(err, sql.ErrNoRows) {
			return parts.Problemf(parts.Missing, "sample-unknown", "There is no sample %d.", number).Next("Choose one of those on the page of its mix.")
		}
		if err == nil {
			err = json.Unmarshal([]byte(content), &sample)
		}
		if err != nil {
			return fmt.Errorf("read sample %d: %w", number, err)
		}
		was, _, err := t.mix(key)
		if err != nil {
			return err
		}
		if sample, m, err = decide(sample, was); err != nil {
			return err
		}
		if err := t.saveSample(sample); err != nil {
			return err
		}
		return t.saveMix(m)
	})
	return m, err
}
