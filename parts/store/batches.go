package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"benchtally/parts"
	"benchtally/parts/finish"
)

// What is left of a batch is what was mixed, less the jar and what the log
// says was taken, and by how much a person corrected that.
const readBatches = `SELECT b.id, b.mixed_at, b.by_person, b.volume, b.jar, b.closed, b.content,
b.volume - b.jar + b.adjusted - CAST(coalesce((SELECT sum(e.used) FROM events e WHERE e.batch = b.id AND e.batch <> 0), 0) AS BIGINT) FROM batches b `

// Batches gives the batches that are open, or were until since, the newest
// first.
func (s *Store) Batches(ctx context.Context, since time.Time) ([]finish.Batch, error) {
	return scanBatches(reader{s, ctx}, s.Now(), "WHERE closed = 0 OR closed > ? ORDER BY mixed_at DESC, id DESC", since.UnixMilli())
}

// BatchesByNumber gives the batches with these numbers, open or not.
func (s *Store) BatchesByNumber(ctx context.Context, numbers []int64) ([]finish.Batch, error) {
	return batchesByNumber(reader{s, ctx}, s.Now(), numbers)
}

func batchesByNumber(q querier, at time.Time, numbers []int64) ([]finish.Batch, error) {
	var out []finish.Batch
	for _, n := range numbers {
		one, err := scanBatches(q, at, "WHERE b.id = ?", n)
		if err != nil {
			return nil, err
		}
		out = append(out, one...)
	}
	return out, nil
}

// Batch gives one batch.
func (s *Store) Batch(ctx context.Context, number int64) (finish.Batch, error) {
	all, err := s.BatchesByNumber(ctx, []int64{number})
	if err == nil && len(all) == 0 {
		err = batchMissing(number)
	}
	if err != nil {
		return finish.Batch{}, err
	}
	return all[0], nil
}

func batchMissing(number int64) error {
	return parts.Problemf(parts.Missing, finish.CodeBatchUnknown, "There is no batch %d.", number).Next("Look at the batches on the page of finish.")
}

// scanBatches reads batches; what was closed by at is not open.
func scanBatches(q querier, at time.Time, condition string, args ...any) ([]finish.Batch, error) {
	rows, err := q.query(readBatches+condition, args...)
	if err != nil {
		return nil, fmt.Errorf("read the batches: %w", err)
	}
	defer rows.Close()
	var out []finish.Batch
	for rows.Next() {
		b, err := scanBatch(rows, at)
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, rows.Err()
}

func scanBatch(rows *sql.Rows, at time.Time) (finish.Batch, error) {
	var b finish.Batch
	var number, mixed, by, closed int64
	var volume, jar, left finish.Volume
	var content string
	if err := rows.Scan(&number, &mixed, &by, &volume, &jar, &closed, &content, &left); err != nil {
		return b, fmt.Errorf("read a batch: %w", err)
	}
	if err := json.Unmarshal([]byte(content), &b); err != nil {
		return b, fmt.Errorf("read batch %d: %w", number, err)
	}
	b.Number, b.MixedAt, b.By = number, time.UnixMilli(mixed).UTC(), by
	b.Volume, b.Jar, b.Left = volume, jar, left
	b.Open = closed == 0 || closed > at.UnixMilli()
	return b, nil
}

// AddBatch records that a mix was mixed, once for each command. decide gets
// the mix and the cans on the shelf, and gives the batch with what is left in
// the cans.
func (s *Store) AddBatch(ctx context.Context, c Command, mix string, decide func(m finish.Mix, shelf []Can, person int64, now time.Time) (finish.Batch, []Can, error)) (Answer, error) {
	return s.command(ctx, c, false, func(t *tx, person int64) (Decision, error) {
		m, found, err := t.mix(mix)
		if err != nil {
			return Decision{}, err
		}
		if !found {
			return Decision{}, mixUnknown(mix)
		}
		shelf, err := cans(t)
		if err != nil {
			return Decision{}, err
		}
		b, left, err := decide(m, shelf, person, t.now)
		if err != nil {
			return Decision{}, err
		}
		if b.Number, err = t.addBatch(b); err != nil {
			return Decision{}, err
		}
		for _, can := range left {
			if _, err := t.saveCan(can); err != nil {
				return Decision{}, err
			}
		}
		return Decision{Answer: func(After) any { return b.Number }}, nil
	})
}

func (t *tx) addBatch(b finish.Batch) (number int64, err error) {
	content, err := json.Marshal(b)
	if err == nil {
		err = t.row("INSERT INTO batches (mix, mixed_at, by_person, volume, jar, adjusted, closed, content) VALUES (?, ?, ?, ?, ?, 0, 0, ?) RETURNING id",
			[]any{b.Mix, b.MixedAt.UnixMilli(), b.By, int64(b.Volume), int64(b.Jar), string(content)}, &number)
	}
	if err != nil {
		return 0, fmt.Errorf("keep a batch of %s: %w", b.Mix, err)
	}
	return number, nil
}

// ChangeBatch corrects how much is left of a batch, or closes it or opens it
// again. change gets it as it is.
func (s *Store) ChangeBatch(ctx context.Context, number int64, change func(finish.Batch) (finish.Batch, error)) error {
	return s.run(ctx, true, func(t *tx) error {
		now := s.Now()
		all, err := batchesByNumber(t, now, []int64{number})
		if err != nil {
			return err
		}
		if len(all) == 0 {
			return batchMissing(number)
		}
		was := all[0]
		b, err := change(was)
		if err != nil {
			return err
		}
		if b.Open != was.Open {
			closed := now.UnixMilli()
			if b.Open {
				closed = 0
			}
			if err := t.exec("UPDATE batches SET closed = ? WHERE id = ?", closed, number); err != nil {
				return fmt.Errorf("close batch %d: %w", number, err)
			}
		}
		// What goes into a jar comes out of what is left.
		if err := t.exec("UPDATE batches SET jar = ?, adjusted = adjusted + ? WHERE id = ?",
			int64(b.Jar), int64(b.Left-was.Left+b.Jar-was.Jar), number); err != nil {
			return fmt.Errorf("correct batch %d: %w", number, err)
		}
		return nil
	})
}

// Got is a piece that got a batch.
type Got struct {
	State parts.State
	Used  finish.Volume // about
}

// WhatGot lists the pieces that got a batch, those that were taken back apart.
func (s *Store) WhatGot(ctx context.Context, batch int64) ([]Got, error) {
	rows, err := s.read.QueryContext(ctx, s.bind(`SELECT e.part, CAST(sum(e.used) AS BIGINT), p.state FROM events e JOIN part_states p ON p.part = e.part
WHERE e.batch = ? AND e.batch <> 0 GROUP BY e.part, p.state, p.job, p.line, p.number ORDER BY p.job, p.line, p.number, e.part`), batch)
	if err != nil {
		return nil, fmt.Errorf("read what got batch %d: %w", batch, err)
	}
	defer rows.Close()
	var out []Got
	for rows.Next() {
		var id, data string
		var g Got
		if err := rows.Scan(&id, &g.Used, &data); err != nil {
			return nil, fmt.Errorf("read what got batch %d: %w", batch, err)
		}
		if g.State, err = decodeState(data); err != nil {
			return nil, err
		}
		for _, l := range g.State.Laid {
			if l.Batch == batch {
				out = append(out, g)
				break
			}
		}
	}
	return out, rows.Err()
}
