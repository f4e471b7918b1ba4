package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"time"

	"gorm.io/gorm"

	"benchtally/parts"
)

// mostTogether bounds a group of commands in one commit.
const mostTogether = 256

// work is something that waits for the writer. do may run twice: in its group
// and, when the group fails, alone; so it keeps nothing between runs.
type work struct {
	do    func(*tx) error
	alone bool // a large one: it commits by itself
	done  chan error
}

// tx is the writer's transaction.
type tx struct {
	s   *Store
	ctx context.Context
	sql *sql.Tx
	// Of the command that is being decided: its time, and the states that its
	// view has read.
	now  time.Time
	seen map[parts.ID]parts.State
}

// run hands do to the writer and waits for its commit. A caller who goes away
// does not stop it: the phone that hung up gets its answer on the next try.
func (s *Store) run(ctx context.Context, alone bool, do func(*tx) error) error {
	w := &work{do: do, alone: alone, done: make(chan error, 1)}
	select {
	case <-s.quit:
		return closedProblem()
	case <-ctx.Done():
		return ctx.Err()
	case s.jobs <- w:
	}
	select {
	case err := <-w.done:
		return err
	case <-s.stopped:
		select {
		case err := <-w.done:
			return err
		default:
			return closedProblem()
		}
	}
}

func closedProblem() error {
	return parts.Problemf(parts.Busy, "closing", "The server is stopping.").Next("Send it again when it is back.")
}

// runWriter is the one goroutine that writes. It takes what waits, decides
// each on the state the one before left, commits once, and answers all.
func (s *Store) runWriter(ctx context.Context) {
	defer close(s.stopped)
	var held *work
	for {
		var first *work
		if first, held = held, nil; first == nil {
			select {
			case first = <-s.jobs:
			case <-s.quit:
				s.drain(ctx)
				return
			}
		}
		group := []*work{first}
		if !first.alone {
			runtime.Gosched() // lets those who are about to ask ask
			group, held = s.gather(group)
		}
		s.commitGroup(ctx, group)
	}
}

// gather adds what waits to the group; a large one is held for its own turn.
func (s *Store) gather(group []*work) ([]*work, *work) {
	for len(group) < mostTogether {
		select {
		case w := <-s.jobs:
			if w.alone {
				return group, w
			}
			group = append(group, w)
		default:
			return group, nil
		}
	}
	return group, nil
}

// drain finishes what was handed in before the store closed.
func (s *Store) drain(ctx context.Context) {
	for {
		select {
		case w := <-s.jobs:
			s.commitGroup(ctx, []*work{w})
		default:
			return
		}
	}
}

// commitGroup commits the group together; when anything in it fails for a
// reason of the program or the disk, each is tried alone, so that one faulty
// command does not hurt its neighbours.
func (s *Store) commitGroup(ctx context.Context, group []*work) {
	errs, err := s.attempt(ctx, group)
	if err == nil {
		s.watchers.changed()
		for i, w := range group {
			w.done <- errs[i]
		}
		return
	}
	if len(group) == 1 {
		group[0].done <- err
		return
	}
	for _, w := range group {
		s.commitGroup(ctx, []*work{w})
	}
}

// attempt runs the group in one transaction. The returned error means that
// nothing was written; errs are each command's own answer.
func (s *Store) attempt(ctx context.Context, group []*work) (errs []error, err error) {
	t, err := s.begin(ctx)
	if err != nil {
		return slices.Repeat([]error{err}, len(group)), nil // trying each alone would only wait longer
	}
	defer t.sql.Rollback()
	for _, w := range group {
		err := guarded(w.do, t)
		if err != nil && parts.AsProblem(err) == nil {
			return nil, err
		}
		errs = append(errs, err)
	}
	if err := t.sql.Commit(); err != nil {
		return nil, parts.Problemf(parts.Busy, "outcome-unknown", "It is not known whether this was saved.").
			Next("Sending it again is safe.").Because(fmt.Errorf("commit: %w", err))
	}
	return errs, nil
}

// begin opens the writer's transaction. On PostgreSQL a lock makes the
// writers of several servers take turns, as the file's lock does on SQLite.
func (s *Store) begin(ctx context.Context) (*tx, error) {
	t, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return nil, fmt.Errorf("begin: %w", err)
	}
	if s.postgres {
		err := s.takeTurn(ctx, t)
		if err == nil {
			err = s.lookAtAir(ctx, t)
		}
		if err != nil {
			return nil, errors.Join(fmt.Errorf("take the writer's turn: %w", err), t.Rollback())
		}
	}
	return &tx{s: s, ctx: ctx, sql: t}, nil
}

// takeTurn waits for the other servers of a PostgreSQL shop and then reads
// what they recorded last: no clock among them may go back.
func (s *Store) takeTurn(ctx context.Context, t *sql.Tx) error {
	if _, err := t.ExecContext(ctx, "SELECT pg_advisory_xact_lock(7214)"); err != nil {
		return err
	}
	var latest int64
	err := t.QueryRowContext(ctx, "SELECT recorded FROM events ORDER BY id DESC LIMIT 1").Scan(&latest)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	s.latest.Store(max(s.latest.Load(), latest))
	return err
}

// lookAtAir reads whether another server has put in readings or products since.
func (s *Store) lookAtAir(ctx context.Context, t *sql.Tx) error {
	var v AirVersion
	if err := t.QueryRowContext(ctx, findAirVersion).Scan(&v.Readings, &v.Products, &v.Usual); err != nil {
		return err
	}
	s.air.Store(&v)
	return nil
}

// guarded turns a panic into an error of the command that caused it.
func guarded(do func(*tx) error, t *tx) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("panic in a command: %v\n%s", r, debug.Stack())
		}
	}()
	return do(t)
}

// exec runs a statement.
func (t *tx) exec(query string, args ...any) error {
	var err error
	if st := t.s.stmts[query]; st != nil {
		_, err = t.sql.StmtContext(t.ctx, st).ExecContext(t.ctx, args...)
	} else {
		_, err = t.sql.ExecContext(t.ctx, t.s.bind(query), args...)
	}
	return err
}

// row runs a query for one row. It gives sql.ErrNoRows when there is none.
func (t *tx) row(query string, args []any, dest ...any) error {
	if st := t.s.stmts[query]; st != nil {
		return t.sql.StmtContext(t.ctx, st).QueryRowContext(t.ctx, args...).Scan(dest...)
	}
	return t.sql.QueryRowContext(t.ctx, t.s.bind(query), args...).Scan(dest...)
}

// query runs a query.
func (t *tx) query(query string, args ...any) (*sql.Rows, error) {
	if st := t.s.stmts[query]; st != nil {
		return t.sql.StmtContext(t.ctx, st).QueryContext(t.ctx, args...)
	}
	return t.sql.QueryContext(t.ctx, t.s.bind(query), args...)
}

// prepareHot prepares the statements of the scan path once.
func (s *Store) prepareHot(ctx context.Context) error {
	for _, q := range []string{findCommand, insertCommand, insertEvent, readState, insertState, updateState, moveState,
		readSpares, readLine, readKit, readCart, readInside, findPerson} {
		st, err := s.write.PrepareContext(ctx, s.bind(q))
		if err != nil {
			return fmt.Errorf("prepare %q: %w", q, err)
		}
		s.stmts[q] = st
	}
	return nil
}

// gorm gives gorm on this transaction, for what the office edits.
func (t *tx) gorm() *gorm.DB {
	db := t.s.gorm.Session(&gorm.Session{NewDB: true, Context: t.ctx, SkipDefaultTransaction: true})
	db.Statement.ConnPool = t.sql
	return db
}
