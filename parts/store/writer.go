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
	alone bool     // a large one: it commits by itself
	about *Command // what is asked, for reading ahead; nil for what is no command
	done  chan error
}

// tx is the writer's transaction.
type tx struct {
	s    *Store
	ctx  context.Context
	conn *sql.Conn     // what the transaction is on
	db   gorm.ConnPool // the same, for statements; nil while there is no transaction
	now  time.Time     // of the command that is being decided

	wrote  bool // something was changed, so the commit reaches the disk
	office bool // more than the history of parts was changed

	pen pen // of SQLite

	committed bool
	began     time.Time // the writer on this, for what is decided ahead

	// On PostgreSQL: what is sent together.
	pipe    *pipeline
	number  int64 // of this server's commits so far
	group   []*work
	ahead   bool  // it begins when something is asked, or in the end: see flight
	version int64 // the number that the next writing transaction gets
}

// run hands do to the writer and waits for its commit. It may write whatever
// it likes, so the writer remembers nothing of what was before.
func (s *Store) run(ctx context.Context, alone bool, do func(*tx) error) error {
	return s.hand(ctx, &work{alone: alone, do: func(t *tx) error {
		defer s.memory.forget()
		return do(t)
	}})
}

// hand hands w to the writer and waits for its commit. A caller who goes away
// does not stop it: the phone that hung up gets its answer on the next try.
func (s *Store) hand(ctx context.Context, w *work) error {
	w.done = make(chan error, 1)
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

// runWriter is the one goroutine that decides what is written. It takes what
// waits, decides each on the state the one before left, commits once, and
// answers all.
func (s *Store) runWriter(ctx context.Context) {
	defer close(s.stopped)
	if s.postgres {
		s.runTogether(ctx)
		return
	}
	again := time.NewTicker(probeEvery)
	defer again.Stop()
	var held *work
	for {
		var first *work
		if first, held = held, nil; first == nil {
			select {
			case first = <-s.jobs:
			case <-s.under.arrived():
				s.landed(ctx)
				continue
			case <-again.C:
				s.landed(ctx)
				s.probe(ctx)
				continue
			case <-s.quit:
				s.landed(ctx)
				s.drain(ctx)
				return
			}
		}
		if s.goesAhead(first) {
			held = s.decideAhead(ctx, first)
			continue
		}
		s.landed(ctx)
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
	began := time.Now()
	errs, err := s.persist(ctx, group)
	if err == nil {
		s.answer(group, errs, began)
		return
	}
	if len(group) == 1 {
		if parts.AsProblem(err) == nil {
			err = s.Explain(err)
		}
		group[0].done <- err
		return
	}
	for _, w := range group {
		s.commitGroup(ctx, []*work{w})
	}
}

// answer gives each work of a group, on which the writer began at a time, its
// own answer.
func (s *Store) answer(group []*work, errs []error, began time.Time) {
	s.tally.group(len(group), time.Since(began))
	for i, w := range group {
		w.done <- errs[i]
	}
}

// attempt runs the group in one transaction. The returned error means that
// nothing was written; errs are each command's own answer.
func (s *Store) attempt(ctx context.Context, group []*work) (errs []error, err error) {
	if p := s.stoppedBy(); p != nil && p.Code == "file-damaged" {
		return slices.Repeat([]error{error(p)}, len(group)), nil // what is written into a damaged file may damage more
	}
	t, err := s.begin(ctx, group...)
	if s.postgres && passing(err) {
		return nil, err
	}
	if err != nil {
		return slices.Repeat([]error{s.Explain(err)}, len(group)), nil // trying each alone would only wait longer
	}
	committed := false
	defer func() {
		t.end()
		if !committed {
			s.memory.forget()
		}
	}()
	if errs, err = t.decide(group); err != nil {
		return nil, err
	}
	if err := t.commit(errs); err != nil {
		if err = fmt.Errorf("commit: %w", err); s.postgres {
			return nil, err // it is looked up: see persist
		}
		return nil, s.notCommitted(err)
	}
	committed = true
	t.tell()
	return errs, nil
}

// tell tells of a commit.
func (t *tx) tell() {
	t.s.watchers.told(t.office)
	if t.wrote || t.office {
		t.s.wrote()
	}
}

// decide runs the works of a group and gives each one's answer. What already
// arrived with a commit that got no answer is not done again.
func (t *tx) decide(group []*work) (errs []error, err error) {
	if errs, arrived := t.arrived(); arrived {
		return errs, nil
	}
	for _, w := range group {
		err := guarded(w.do, t)
		if err != nil && parts.AsProblem(err) == nil {
			return nil, err
		}
		errs = append(errs, err)
	}
	return errs, t.down()
}

// notCommitted says what became of a group whose commit failed. A full disk
// takes no last frame, and a file that was locked or read-only took none; of
// any other failure only the next start knows.
func (s *Store) notCommitted(err error) error {
	switch p := parts.AsProblem(s.Explain(err)); {
	case p != nil && (p.Code == "disk-full" || p.Code == "disk-read-only" || p.Code == "file-locked"):
		return p
	}
	return outcomeUnknown().Next("Sending it again is safe.").Because(err)
}

// begin opens the writer's transaction. On PostgreSQL a lock makes the
// writers of several servers take turns, as the file's lock does on SQLite.
func (s *Store) begin(ctx context.Context, group ...*work) (*tx, error) {
	t := &tx{s: s, ctx: ctx}
	if err := t.open(group); err != nil {
		t.end()
		return nil, fmt.Errorf("begin: %w", err)
	}
	return t, nil
}

func (t *tx) open(group []*work) (err error) {
	if t.s.postgres {
		return t.openTogether(group)
	}
	if err := t.openFile(); err != nil {
		return err
	}
	return t.refresh()
}

// openFile opens the transaction on SQLite.
func (t *tx) openFile() (err error) {
	if t.conn = t.s.pencil; t.conn == nil {
		if t.conn, err = t.s.write.Conn(t.ctx); err != nil {
			return err
		}
	}
	if err := t.turn(beginFile); err != nil {
		return err
	}
	t.db = t.conn
	return nil
}

// How a transaction on SQLite begins and ends: at the driver, like the scan
// path. Nobody else may write from its begin on.
const (
	beginFile    = "BEGIN IMMEDIATE"
	commitFile   = "COMMIT"
	rollBackFile = "ROLLBACK"
)

// turn begins or ends a transaction on SQLite.
func (t *tx) turn(how string) (err error) {
	if p := t.s.raw[how]; p != nil {
		return p.exec(t.ctx, nil)
	}
	_, err = t.conn.ExecContext(t.ctx, how)
	return err
}

// commit commits. errs are the answers that the group gets then.
func (t *tx) commit(errs []error) error {
	if t.pipe != nil {
		return t.commitTogether(errs)
	}
	if err := t.down(); err != nil {
		return err
	}
	if err := t.turn(commitFile); err != nil {
		return err
	}
	t.committed = true
	return nil
}

// end releases what a transaction holds, and takes back what was not committed.
func (t *tx) end() {
	switch {
	case t.conn == nil:
		return
	case t.pipe != nil:
		t.endTogether()
		return
	case t.db != nil && !t.committed:
		t.turn(rollBackFile) // after some faults SQLite has done it already
	}
	if t.conn != t.s.pencil {
		t.conn.Close()
	}
}

// guarded turns a panic into an error of the command that caused it.
func guarded(do func(*tx) error, t *tx) (err error) {
	defer caught(&err)
	return do(t)
}

func caught(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("panic in a command: %v\n%s", r, debug.Stack())
	}
}

// exec runs a statement.
func (t *tx) exec(query string, args ...any) error {
	if err := t.ready(); err != nil {
		return err
	}
	gathered, err := t.gather(query, args)
	if gathered || err != nil {
		return err
	}
	t.changes(query)
	_, err = t.db.ExecContext(t.ctx, t.s.bind(query), args...)
	t.wrote = t.wrote || err == nil
	return err
}

// row runs a query for one row. It gives sql.ErrNoRows when there is none.
func (t *tx) row(query string, args []any, dest ...any) error {
	if err := t.ready(); err != nil {
		return err
	}
	if p := t.s.raw[query]; p != nil {
		return p.scan(t.ctx, args, dest)
	}
	if found, err := t.known(query, args, dest); found || err != nil {
		return err
	}
	t.changes(query)
	return t.db.QueryRowContext(t.ctx, t.s.bind(query), args...).Scan(dest...)
}

// query runs a query.
func (t *tx) query(query string, args ...any) (*sql.Rows, error) {
	if err := errors.Join(t.ready(), t.flush()); err != nil {
		return nil, err
	}
	if st := t.s.stmts[query]; st != nil {
		return st.QueryContext(t.ctx, args...)
	}
	return t.db.QueryContext(t.ctx, t.s.bind(query), args...)
}

// prepareHot takes the connection for good, on SQLite, and prepares the
// statements of the scan path on it.
func (s *Store) prepareHot(ctx context.Context) (err error) {
	if s.postgres {
		return nil // its driver keeps what it prepared, for each connection
	}
	if s.pencil, err = s.write.Conn(ctx); err != nil {
		return fmt.Errorf("prepare the scan path: %w", err)
	}
	once := []string{beginFile, commitFile, rollBackFile, readVersion, readNewest, findCommand, findPerson, insertCommand, insertEvent, insertState, updateState, moveState}
	if err := s.prepareRaw(ctx, once); err != nil {
		return err
	}
	for _, q := range []string{readState, readSpares, readLine, readKit, readCart, readInside} {
		st, err := s.pencil.PrepareContext(ctx, q)
		if err != nil {
			return fmt.Errorf("prepare %q: %w", q, err)
		}
		s.stmts[q] = st
	}
	return nil
}

// gorm gives gorm on this transaction, for what the office edits.
func (t *tx) gorm() *gorm.DB {
	t.office = true
	err := t.ready()
	db := t.s.gorm.Session(&gorm.Session{NewDB: true, Context: t.ctx, SkipDefaultTransaction: true})
	db.Statement.ConnPool = t.db
	_ = db.AddError(err) // it runs nothing then
	return db
}
