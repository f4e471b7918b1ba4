package store

import (
	"context"
	"database/sql"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"
)

// How many connections a server may hold to a PostgreSQL. The writer has its
// own, so that it never waits for pages; one more serves the start.
const (
	writing = 2
	reading = 6
)

// connectWithin bounds how long a host that does not answer is waited for,
// when the address does not say.
const connectWithin = 3 * time.Second

// pool is where pages read. A reading that failed because its connection broke
// is tried again.
type pool struct{ *sql.DB }

// QueryContext runs a query that reads.
func (p *pool) QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error) {
	var rows *sql.Rows
	err := again(ctx, func() (err error) {
		rows, err = p.DB.QueryContext(ctx, query, args...)
		return err
	})
	return rows, err
}

// QueryRowContext runs a query that reads one row.
func (p *pool) QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row {
	var row *sql.Row
	again(ctx, func() error {
		row = p.DB.QueryRowContext(ctx, query, args...)
		return row.Err()
	})
	return row
}

// config reads a postgres:// address. It may name several hosts, of which the
// one that takes writes is used: a primary and its standby.
func config(dsn string) (*pgx.ConnConfig, error) {
	c, err := pgx.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("read the address of the database: %w", err)
	}
	if c.ConnectTimeout == 0 {
		c.ConnectTimeout = connectWithin
	}
	return c, nil
}

// byIndex has the writer's statements find their few rows by an index. They
// are planned once, on a table that may be empty then, and are used when it has
// grown.
func byIndex(c *pgx.ConnConfig) *pgx.ConnConfig {
	c = c.Copy()
	for _, whole := range []string{"enable_seqscan", "enable_hashjoin", "enable_mergejoin", "jit"} {
		c.RuntimeParams[whole] = "off"
	}
	c.RuntimeParams["plan_cache_mode"] = "force_generic_plan"
	return c
}

// connectPostgres opens the pools of the writer and of the pages.
func (s *Store) connectPostgres(dsn string) error {
	c, err := config(dsn)
	if err != nil {
		return err
	}
	s.notices = newNotices(c)
	s.write = stdlib.OpenDB(*byIndex(c))
	s.write.SetMaxOpenConns(writing)
	s.write.SetMaxIdleConns(writing)
	s.read = &pool{stdlib.OpenDB(*c)}
	s.read.SetMaxOpenConns(reading)
	s.read.SetMaxIdleConns(reading)
	return nil
}

// hangUp throws the idle connections away, after they turned out to be broken
// or to lead to a server that takes no writes any more.
func (s *Store) hangUp() {
	for db, most := range map[*sql.DB]int{s.write: writing, s.read.DB: reading} {
		db.SetMaxIdleConns(-1)
		db.SetMaxIdleConns(most)
	}
}
