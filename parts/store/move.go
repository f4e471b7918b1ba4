package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"slices"

	"benchtally/parts"
)

// Moved is what was moved, and what was compared.
type Moved struct {
	Tables int
	Rows   int
	Books  Books // of the copy
}

// Move copies the whole shop in from to the empty or new database to: a file
// to a PostgreSQL or back. It is done whole or not at all: every table is read
// again and compared, and the log of both sides is replayed, before the copy
// is committed. Nothing is written to from, whose servers must be stopped.
func Move(ctx context.Context, from, to string) (Moved, error) {
	source, err := Open(ctx, from, Options{Alone: true})
	if err != nil {
		return Moved{}, err
	}
	defer source.Close()
	books, err := source.Check(ctx)
	if err == nil {
		err = books.Sound(from)
	}
	if err != nil {
		return Moved{}, fmt.Errorf("check what is to be moved: %w", err)
	}
	made := isNewFile(to)
	target, err := Open(ctx, to, Options{Alone: true})
	if err != nil {
		return Moved{}, err
	}
	moved, err := source.moveTo(ctx, target)
	err = errors.Join(err, target.Close())
	if err == nil && (moved.Books.Parts != books.Parts || moved.Books.Events != books.Events) {
		err = fmt.Errorf("the log has %d marks with %d events, and its copy %d with %d", books.Parts, books.Events, moved.Books.Parts, moved.Books.Events)
	}
	if err != nil && made {
		for _, end := range []string{"", "-wal", "-shm", ".lock"} {
			os.Remove(to + end)
		}
	}
	return moved, err
}

func isNewFile(dsn string) bool {
	_, err := os.Stat(dsn)
	return !IsPostgres(dsn) && err != nil
}

// side is one end of a move: what is read in one transaction or written in one.
type side struct {
	*Store
	ctx  context.Context
	conn *sql.Conn
	tx   *sql.Tx
}

func (d *side) query(query string, args ...any) (*sql.Rows, error) {
	return d.tx.QueryContext(d.ctx, d.bind(query), args...)
}

func (d *side) end() {
	if d.tx != nil {
		d.tx.Rollback()
	}
	if d.conn != nil && d.conn != d.pencil {
		d.conn.Close()
	}
}

// moveFrom opens the side that is read. On PostgreSQL no server writes until
// it ends.
func (s *Store) moveFrom(ctx context.Context) (*side, error) {
	d := &side{Store: s, ctx: ctx}
	var err error
	if !s.postgres {
		d.tx, err = s.read.BeginTx(ctx, nil)
		return d, err
	}
	if d.conn, err = s.read.Conn(ctx); err != nil {
		return d, err
	}
	if _, err = d.conn.ExecContext(ctx, "SELECT pg_advisory_lock(7214, hashtext(current_schema()))"); err != nil {
		return d, err
	}
	d.tx, err = d.conn.BeginTx(ctx, &sql.TxOptions{Isolation: sql.LevelRepeatableRead, ReadOnly: true})
	return d, err
}

// moveInto opens the side that is written.
func (s *Store) moveInto(ctx context.Context) (*side, error) {
	d := &side{Store: s, ctx: ctx}
	var err error
	if d.conn = s.pencil; d.conn == nil {
		if d.conn, err = s.write.Conn(ctx); err != nil {
			return d, err
		}
	}
	d.tx, err = d.conn.BeginTx(ctx, nil)
	return d, err
}

func (s *Store) moveTo(ctx context.Context, target *Store) (Moved, error) {
	from, err := s.moveFrom(ctx)
	defer func() {
		if from.conn != nil && from.tx != nil {
			from.tx.Rollback()
			from.conn.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock(7214, hashtext(current_schema()))")
		}
		from.end()
	}()
	if err != nil {
		return Moved{}, fmt.Errorf("read the shop: %w", err)
	}
	into, err := target.moveInto(ctx)
	defer into.end()
	if err != nil {
		return Moved{}, fmt.Errorf("write the copy: %w", err)
	}
	tables, err := tablesToMove(from, into)
	if err != nil {
		return Moved{}, err
	}
	moved := Moved{Tables: len(tables)}
	for _, t := range tables {
		rows, err := moveTable(from, into, t)
		if err != nil {
			return moved, err
		}
		moved.Rows += rows
	}
	if moved.Books, err = target.books(into); err == nil {
		err = moved.Books.Sound("the copy")
	}
	if err != nil {
		return moved, fmt.Errorf("check the copy: %w", err)
	}
	if err := into.tx.Commit(); err != nil {
		return moved, fmt.Errorf("commit the copy: %w", err)
	}
	return moved, nil
}

// tablesToMove lists the tables, each after those that it refers to, when both
// sides have the same ones and the copy's are empty. What a database has of
// itself as soon as it is opened gives way.
func tablesToMove(from, into *side) ([]string, error) {
	tables, err := from.tables()
	if err != nil {
		return nil, err
	}
	there, err := into.tables()
	if err != nil {
		return nil, err
	}
	if !slices.Equal(slices.Sorted(slices.Values(tables)), slices.Sorted(slices.Values(there))) {
		return nil, fmt.Errorf("the shop has the tables %v, and its copy %v", tables, there)
	}
	for _, t := range there {
		if t == "counters" || t == "settings" {
			if _, err := into.tx.ExecContext(into.ctx, "DELETE FROM "+t); err != nil {
				return nil, fmt.Errorf("empty %s: %w", t, err)
			}
			continue
		}
		var used bool
		if err := into.tx.QueryRowContext(into.ctx, "SELECT EXISTS (SELECT 1 FROM "+quoted(t)+")").Scan(&used); err != nil {
			return nil, fmt.Errorf("look into %s: %w", t, err)
		}
		if used {
			return nil, parts.Problemf(parts.Refused, "target-not-empty", "There is a shop already where this one is to go: its table %s is not empty.", t).
				Next("Name a new file, or a database that was just made.")
		}
	}
	return tables, nil
}

// moveTable copies a table and compares the copy.
func moveTable(from, into *side, table string) (int, error) {
	columns, err := into.columns(table)
	if err != nil {
		return 0, err
	}
	var there digest
	if err := copyRows(from, into, table, columns, &there); err != nil {
		return 0, fmt.Errorf("copy the table %s: %w", table, err)
	}
	var here digest
	if err := into.eachRow(table, columns, func(row []any) error { return here.add(row) }); err != nil {
		return 0, fmt.Errorf("read the copy of %s: %w", table, err)
	}
	if here != there {
		return 0, fmt.Errorf("the copy of %s is not what was copied: %d rows of %d", table, here.rows, there.rows)
	}
	highest, err := from.highest(table)
	if err != nil {
		return 0, err
	}
	return here.rows, into.numberFrom(table, highest)
}
