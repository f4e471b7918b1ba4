package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"benchtally/parts"
)

// jobRow is a row of jobs.
type jobRow struct {
	ID      int64 `gorm:"primaryKey"`
	Code    string
	Name    string
	Created int64
}

func (jobRow) TableName() string { return "jobs" }

func (r jobRow) job() parts.Job {
	return parts.Job{ID: r.ID, Code: r.Code, Name: r.Name, Made: time.UnixMilli(r.Created).UTC()}
}

const selectJobs = "SELECT id, code, name, created FROM jobs "

// scan reads the columns of selectJobs.
func (r *jobRow) scan(row interface{ Scan(...any) error }) error {
	return row.Scan(&r.ID, &r.Code, &r.Name, &r.Created)
}

// NewJob is a job to be made. Into of a line, which may be an assembly's too,
// is the index of the line of the assembly it goes into, plus one; 0 for none.
type NewJob struct {
	Name  string
	Code  string // wished for; a number is added when it is taken
	Lines []parts.Line
}

// CreateJob makes a job with its lines and, as their first events, its parts,
// assemblies and tickets: all or nothing. build gets the job with its ids and
// the marks, one for each piece in the order of the lines, and gives the first
// events. The mark of a line's ticket is in the line.
func (s *Store) CreateJob(ctx context.Context, c Command, job NewJob, build func(lines []parts.Line, marks []parts.ID) []parts.Event) (parts.Job, error) {
	var made parts.Job
	a, err := s.command(ctx, c, true, func(t *tx, _ int64) (Decision, error) {
		var err error
		if made, err = t.addJob(job); err != nil {
			return Decision{}, err
		}
		lines, marks, err := t.addLines(made.ID, job.Lines)
		if err != nil {
			return Decision{}, err
		}
		return Decision{Events: build(lines, marks), Answer: func(After) any { return made.Code }}, nil
	})
	if err != nil {
		return parts.Job{}, err
	}
	if a.Problem != nil {
		return parts.Job{}, a.Problem
	}
	if a.Repeat {
		var code string
		if err := decodeAnswer(a, &code); err != nil {
			return parts.Job{}, err
		}
		return s.Job(ctx, code)
	}
	return made, nil
}

func (t *tx) addJob(job NewJob) (parts.Job, error) {
	for n := 1; ; n++ {
		code := job.Code
		if n > 1 {
			code = fmt.Sprintf("%s-%d", job.Code, n)
		}
		var taken int
		if err := t.row("SELECT count(*) FROM jobs WHERE code = ?", []any{code}, &taken); err != nil {
			return parts.Job{}, fmt.Errorf("look for job %s: %w", code, err)
		}
		if taken == 0 {
			row := jobRow{Code: code, Name: job.Name, Created: t.s.clock().UnixMilli()}
			if err := t.gorm().Create(&row).Error; err != nil {
				return parts.Job{}, fmt.Errorf("make job %s: %w", code, err)
			}
			return row.job(), nil
		}
	}
}

// addLines writes the lines with their tickets and takes the marks they need.
func (t *tx) addLines(job int64, lines []parts.Line) (out []parts.Line, marks []parts.ID, err error) {
	serial, err := t.serial()
	if err != nil {
		return nil, nil, err
	}
	next := func() (id parts.ID) {
		id, serial = parts.NextMark(serial)
		return id
	}
	rows := make([]lineRow, len(lines))
	for i, l := range lines {
		l.Job, l.Number, l.Ticket = job, i+1, next()
		rows[i] = toLineRow(l)
		rows[i].IntoLine = 0
	}
	if err := t.gorm().CreateInBatches(&rows, 200).Error; err != nil {
		return nil, nil, fmt.Errorf("write the lines: %w", err)
	}
	for i, l := range lines {
		if l.Into > 0 {
			rows[i].IntoLine = rows[l.Into-1].ID
			if err := t.exec("UPDATE lines SET into_line = ? WHERE id = ?", rows[i].IntoLine, rows[i].ID); err != nil {
				return nil, nil, fmt.Errorf("write what goes into what: %w", err)
			}
		}
		out = append(out, rows[i].line())
		for range l.Pieces() {
			marks = append(marks, next())
		}
	}
	return out, marks, t.saveSerial(serial)
}

// serial reads the serial from which the next mark is made.
func (t *tx) serial() (int64, error) {
	var n int64
	err := t.row("SELECT value FROM counters WHERE name = 'mark'", nil, &n)
	if errors.Is(err, sql.ErrNoRows) {
		return parts.FirstSerial, t.exec("INSERT INTO counters (name, value) VALUES ('mark', ?)", int64(parts.FirstSerial))
	}
	if err != nil {
		return 0, fmt.Errorf("read the last mark: %w", err)
	}
	return n, nil
}

func (t *tx) saveSerial(n int64) error {
	if err := t.exec("UPDATE counters SET value = ? WHERE name = 'mark'", n); err != nil {
		return fmt.Errorf("keep the last mark: %w", err)
	}
	return nil
}

// openJobs are the jobs that something is still to be done for.
const openJobs = "SELECT job FROM part_states WHERE open = 1"

// OpenJobs gives the jobs that are not done, newest first.
func (s *Store) OpenJobs(ctx context.Context) ([]parts.Job, error) {
	return s.readJobs(ctx, "WHERE id IN ("+openJobs+")")
}

// Jobs gives every job, newest first.
func (s *Store) Jobs(ctx context.Context) ([]parts.Job, error) { return s.readJobs(ctx, "") }

func (s *Store) readJobs(ctx context.Context, condition string) ([]parts.Job, error) {
	rows, err := s.read.QueryContext(ctx, selectJobs+condition+" ORDER BY id DESC")
	if err != nil {
		return nil, fmt.Errorf("read jobs: %w", err)
	}
	defer rows.Close()
	var jobs []parts.Job
	for rows.Next() {
		var j jobRow
		if err := j.scan(rows); err != nil {
			return nil, fmt.Errorf("read a job: %w", err)
		}
		jobs = append(jobs, j.job())
	}
	return jobs, rows.Err()
}

// Job gives one job by its code.
func (s *Store) Job(ctx context.Context, code string) (parts.Job, error) {
	var j jobRow
	err := j.scan(s.read.QueryRowContext(ctx, s.bind(selectJobs+"WHERE upper(code) = upper(?)"), code))
	if errors.Is(err, sql.ErrNoRows) {
		return parts.Job{}, parts.Problemf(parts.Missing, "job-unknown", "There is no job %s.", code).Next("Choose one from the list of jobs.")
	}
	if err != nil {
		return parts.Job{}, fmt.Errorf("read job %s: %w", code, err)
	}
	return j.job(), nil
}

// JobByID gives one job by its id.
func (s *Store) JobByID(ctx context.Context, id int64) (parts.Job, error) {
	var j jobRow
	if err := j.scan(s.read.QueryRowContext(ctx, s.bind(selectJobs+"WHERE id = ?"), id)); err != nil {
		return parts.Job{}, fmt.Errorf("read job %d: %w", id, err)
	}
	return j.job(), nil
}
