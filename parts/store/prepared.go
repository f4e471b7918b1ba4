package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
	"strings"
)

// prepared is a statement of the scan path on SQLite. It is run at the driver:
// what database/sql puts around a statement costs more than the statement.
// Only the writer runs it, in its transaction, which holds the one connection
// that the statement was prepared on.
type prepared struct {
	stmt driver.StmtQueryContext
	args []driver.NamedValue // of the run before; used again
	row  []driver.Value

	// Of a statement whose rows nothing reads before all are written: the one
	// that adds rowsTogether of them, and the rows that wait for it.
	many *prepared
	rows [][]any
}

// rowsTogether is how many rows of a table one statement adds: it costs less
// than a statement for each.
const rowsTogether = 8

// prepareHot takes the connection for good, on SQLite, and prepares the
// statements of the scan path on it.
func (s *Store) prepareHot(ctx context.Context) (err error) {
	if s.postgres {
		return nil // its driver keeps what it prepared, for each connection
	}
	if s.pencil, err = s.write.Conn(ctx); err != nil {
		return fmt.Errorf("prepare the scan path: %w", err)
	}
	once := []string{beginFile, commitFile, rollBackFile, readVersion, readNewest, findCommand, findPerson, insertCommand, insertEvent, insertState, updateState, moveState, checkpointFile}
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

// prepareRaw prepares the statements on the writer's connection.
func (s *Store) prepareRaw(ctx context.Context, queries []string) error {
	s.raw = map[string]*prepared{}
	return s.pencil.Raw(func(c any) error {
		for _, q := range queries {
			p, err := prepareOne(ctx, c, q)
			if err != nil {
				return err
			}
			s.raw[q] = p
			if q != insertCommand && q != insertEvent {
				continue
			}
			before, row, _ := strings.Cut(q, "VALUES ")
			if p.many, err = prepareOne(ctx, c, before+"VALUES "+strings.Repeat(row+", ", rowsTogether-1)+row); err != nil {
				return err
			}
		}
		return nil
	})
}

func prepareOne(ctx context.Context, conn any, query string) (*prepared, error) {
	st, err := conn.(driver.ConnPrepareContext).PrepareContext(ctx, query)
	if err != nil {
		return nil, fmt.Errorf("prepare %q: %w", query, err)
	}
	return &prepared{stmt: st.(driver.StmtQueryContext)}, nil
}

// closeRaw gives the statements back; the driver does not close them with the
// connection.
func (s *Store) closeRaw() {
	for _, p := range s.raw {
		p.stmt.(driver.Stmt).Close()
		if p.many != nil {
			p.many.stmt.(driver.Stmt).Close()
		}
	}
}

// run binds the arguments and takes the first step, which is all of a
// statement that writes: the driver does both in one call.
func (p *prepared) run(ctx context.Context, rows ...[]any) (driver.Rows, error) {
	p.args = p.args[:0]
	for _, args := range rows {
		for _, a := range args {
			if n, ok := a.(int); ok {
				a = int64(n)
			}
			p.args = append(p.args, driver.NamedValue{Ordinal: len(p.args) + 1, Value: a})
		}
	}
	return p.stmt.QueryContext(ctx, p.args)
}

// exec runs a statement that writes. A row that is added may wait until settle.
func (p *prepared) exec(ctx context.Context, args []any) error {
	if p.many == nil {
		return p.finish(ctx, args)
	}
	if p.rows = append(p.rows, args); len(p.rows) < rowsTogether {
		return nil
	}
	defer p.drop()
	return p.many.finish(ctx, p.rows...)
}

// settle adds the rows that wait.
func (p *prepared) settle(ctx context.Context) error {
	if p.many == nil {
		return nil
	}
	defer p.drop()
	for _, args := range p.rows {
		if err := p.finish(ctx, args); err != nil {
			return err
		}
	}
	return nil
}

// drop forgets the rows that wait.
func (p *prepared) drop() { p.rows = p.rows[:0] }

func (p *prepared) finish(ctx context.Context, rows ...[]any) error {
	done, err := p.run(ctx, rows...)
	if err != nil {
		return err
	}
	return done.Close()
}

// scan reads the one row of a query; sql.ErrNoRows when there is none.
func (p *prepared) scan(ctx context.Context, args, dest []any) error {
	rows, err := p.run(ctx, args)
	if err != nil {
		return err
	}
	defer rows.Close()
	p.row = append(p.row[:0], make([]driver.Value, len(dest))...)
	if err := rows.Next(p.row); errors.Is(err, io.EOF) {
		return sql.ErrNoRows
	} else if err != nil {
		return err
	}
	for i, to := range dest {
		if err := put(to, p.row[i]); err != nil {
			return fmt.Errorf("read column %d: %w", i, err)
		}
	}
	return rows.Close()
}

// put gives a column's value to what wants it.
func put(to any, v driver.Value) error {
	switch to := to.(type) {
	case *string:
		if s, ok := v.(string); ok {
			*to = s
			return nil
		}
	case *[]byte:
		if b, ok := v.([]byte); ok {
			*to = b
			return nil
		}
	case *int64:
		if n, ok := v.(int64); ok {
			*to = n
			return nil
		}
	}
	return fmt.Errorf("%T is no %T", v, to)
}
