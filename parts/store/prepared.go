package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"io"
)

// prepared is a statement of the scan path on SQLite. It is run at the driver:
// what database/sql puts around a statement costs more than the statement.
// Only the writer runs it, in its transaction, which holds the one connection
// that the statement was prepared on.
type prepared struct {
	stmt driver.StmtQueryContext
	args []driver.NamedValue // of the run before; used again
	row  []driver.Value
}

// prepareRaw prepares the statements on the writer's connection.
func (s *Store) prepareRaw(ctx context.Context, queries []string) error {
	conn, err := s.write.Conn(ctx)
	if err != nil {
		return fmt.Errorf("prepare the scan path: %w", err)
	}
	defer conn.Close()
	s.raw = map[string]*prepared{}
	return conn.Raw(func(c any) error {
		for _, q := range queries {
			st, err := c.(driver.ConnPrepareContext).PrepareContext(ctx, q)
			if err != nil {
				return fmt.Errorf("prepare %q: %w", q, err)
			}
			s.raw[q] = &prepared{stmt: st.(driver.StmtQueryContext)}
		}
		return nil
	})
}

// closeRaw gives the statements back; the driver does not close them with the
// connection.
func (s *Store) closeRaw() {
	for _, p := range s.raw {
		p.stmt.(driver.Stmt).Close()
	}
}

// run binds the arguments and takes the first step, which is all of a
// statement that writes: the driver does both in one call.
func (p *prepared) run(ctx context.Context, args []any) (driver.Rows, error) {
	p.args = p.args[:0]
	for i, a := range args {
		if n, ok := a.(int); ok {
			a = int64(n)
		}
		p.args = append(p.args, driver.NamedValue{Ordinal: i + 1, Value: a})
	}
	return p.stmt.QueryContext(ctx, p.args)
}

func (p *prepared) exec(ctx context.Context, args []any) error {
	rows, err := p.run(ctx, args)
	if err != nil {
		return err
	}
	return rows.Close()
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
