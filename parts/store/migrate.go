package store

import (
	"context"
	"database/sql"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"github.com/pressly/goose/v3"

	"benchtally/parts"
)

//go:embed migrations
var migrations embed.FS

// migrate runs the numbered SQL that the database does not have yet, each in
// a transaction of its own, and gives an older file its sums. A database newer
// than the program is refused.
func (s *Store) migrate(ctx context.Context) error {
	dialect, folder := goose.DialectSQLite3, "migrations/sqlite"
	if s.postgres {
		dialect, folder = goose.DialectPostgres, "migrations/postgres"
	}
	files, err := fs.Sub(migrations, folder)
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	p, err := goose.NewProvider(dialect, s.write, files)
	if err != nil {
		return fmt.Errorf("read the migrations: %w", err)
	}
	have, target, err := p.GetVersions(ctx)
	if err != nil {
		return fmt.Errorf("read the version of the database: %w", err)
	}
	if have > target {
		return parts.Problemf(parts.Refused, "database-newer", "This database is of version %d, and this program knows %d.", int(have), int(target)).
			Next("Use the newer program that wrote it.")
	}
	lacks, err := s.lacksSums(ctx)
	if err != nil {
		return err
	}
	why := "before-sums"
	if have < target {
		why = fmt.Sprintf("before-version-%d", target)
	}
	if have > 0 && (have < target || lacks) {
		if err := s.keepCopy(ctx, why); err != nil {
			return err
		}
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the database up to date: %w", err)
	}
	if lacks {
		return s.giveSums(ctx)
	}
	return nil
}

// oneAtATime lets only one server of a PostgreSQL shop bring it up to date;
// the others wait until done is called. A SQLite file has one server.
func (s *Store) oneAtATime(ctx context.Context) (done func(), err error) {
	if !s.postgres {
		return func() {}, nil
	}
	conn, err := s.write.Conn(ctx)
	if err != nil {
		return nil, fmt.Errorf("connect to the database: %w", err)
	}
	if _, err := conn.ExecContext(ctx, "SELECT pg_advisory_lock(7213, hashtext(current_schema()))"); err != nil {
		return nil, errors.Join(fmt.Errorf("wait for other servers to start: %w", err), conn.Close())
	}
	return func() {
		conn.ExecContext(context.WithoutCancel(ctx), "SELECT pg_advisory_unlock(7213, hashtext(current_schema()))")
		conn.Close()
	}, nil
}

// keepCopy copies a SQLite file beside itself before it is changed for good.
// PostgreSQL is backed up with its own tools.
func (s *Store) keepCopy(ctx context.Context, why string) error {
	if s.postgres || !s.copies {
		return nil
	}
	copyName := s.file + "." + why
	if _, err := os.Stat(copyName); err == nil {
		return nil // an upgrade that was broken off left it
	}
	defer os.Remove(copyName + partly)
	if err := s.copyTo(ctx, copyName+partly); err != nil {
		return err
	}
	return putInPlace(copyName+partly, copyName)
}

// Furniture is what an empty shop starts with.
type Furniture struct {
	Stations []parts.StationRow
	Routings []parts.Routing
	Defects  []parts.Defect
	Products []Product
}

// furnish gives an empty shop its furniture, and a shop from before there was
// a catalogue of defects, or there were products, the ready-made ones.
func (s *Store) furnish(ctx context.Context, f Furniture) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("furnish the shop: %w", err)
	}
	defer tx.Rollback()
	var stations, defects int
	if err := tx.QueryRowContext(ctx, "SELECT (SELECT count(*) FROM stations), (SELECT count(*) FROM defects)").Scan(&stations, &defects); err != nil {
		return fmt.Errorf("furnish the shop: %w", err)
	}
	if stations == 0 {
		if err := s.placeSteps(ctx, tx, f); err != nil {
			return err
		}
	}
	for i, d := range f.Defects {
		content, err := json.Marshal(d)
		if err != nil {
			return fmt.Errorf("furnish the defects: %w", err)
		}
		if defects > 0 {
			break
		}
		if _, err := tx.ExecContext(ctx, s.bind("INSERT INTO defects (key, place, content) VALUES (?, ?, ?)"), d.Key, i+1, string(content)); err != nil {
			return fmt.Errorf("furnish the defects: %w", err)
		}
	}
	if err := s.placeProducts(ctx, tx, f.Products); err != nil {
		return err
	}
	return tx.Commit()
}

// placeProducts writes the first versions of the products of a shop that has none.
func (s *Store) placeProducts(ctx context.Context, tx *sql.Tx, products []Product) error {
	var have int
	if err := tx.QueryRowContext(ctx, "SELECT count(*) FROM products").Scan(&have); err != nil {
		return fmt.Errorf("furnish the products: %w", err)
	}
	if have > 0 {
		return nil
	}
	for _, p := range products {
		if _, err := tx.ExecContext(ctx, s.bind(insertProduct), p.Key, 1, string(p.Body)); err != nil {
			return fmt.Errorf("furnish the products: %w", err)
		}
	}
	return nil
}

// placeSteps writes the stations and the steps of a new shop.
func (s *Store) placeSteps(ctx context.Context, tx *sql.Tx, f Furniture) error {
	for _, st := range f.Stations {
		if _, err := tx.ExecContext(ctx, s.bind("INSERT INTO stations (key, name, caution, place) VALUES (?, ?, ?, ?)"),
			string(st.Key), st.Name, st.Caution, st.Place); err != nil {
			return fmt.Errorf("furnish the stations: %w", err)
		}
	}
	for _, r := range f.Routings {
		steps, err := json.Marshal(r.Steps)
		if err != nil {
			return fmt.Errorf("furnish the steps: %w", err)
		}
		if _, err := tx.ExecContext(ctx, s.bind("INSERT INTO routings (key, version, name, for_kind, steps) VALUES (?, ?, ?, ?, ?)"),
			r.Key, r.Version, r.Name, string(r.For), string(steps)); err != nil {
			return fmt.Errorf("furnish the steps: %w", err)
		}
	}
	return nil
}
