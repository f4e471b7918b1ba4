package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"

	"benchtally/parts"
)

// tx is the writer's transaction.
type tx struct {
	s    *Store
	ctx  context.Context
	conn *sql.Conn     // what the transaction is on
	db   gorm.ConnPool // the same, for statements; nil while there is no transaction
	now  time.Time     // of the command that is being decided
	seen parts.View    // what that is decided on

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

// tell tells of a commit.
func (t *tx) tell() {
	t.s.watchers.told(t.office)
	if t.wrote || t.office {
		t.s.wrote()
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

// gorm gives gorm on this transaction, for what the office edits.
func (t *tx) gorm() *gorm.DB {
	t.office = true
	err := t.ready()
	db := t.s.gorm.Session(&gorm.Session{NewDB: true, Context: t.ctx, SkipDefaultTransaction: true})
	db.Statement.ConnPool = t.db
	_ = db.AddError(err) // it runs nothing then
	return db
}
