package store

import (
	"database/sql"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"benchtally/parts"
)

// column is a column of the table that is written.
type column struct{ name, kind string }

func quoted(name string) string { return pgx.Identifier{name}.Sanitize() }

// list reads a query for columns of text.
func (d *side) list(n int, query string, args ...any) ([][]string, error) {
	rows, err := d.query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var out [][]string
	for rows.Next() {
		row := make([]string, n)
		to := make([]any, n)
		for i := range row {
			to[i] = &row[i]
		}
		if err := rows.Scan(to...); err != nil {
			return nil, err
		}
		out = append(out, row)
	}
	return out, rows.Err()
}

// tables lists what a shop's database holds, each table after those that it
// refers to.
func (d *side) tables() ([]string, error) {
	names := `SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\_%' ESCAPE '\' AND name <> 'goose_db_version' ORDER BY name`
	refer := `SELECT m.name, f."table" FROM sqlite_master m, pragma_foreign_key_list(m.name) f WHERE m.type = 'table'`
	if d.postgres {
		names = `SELECT table_name FROM information_schema.tables
WHERE table_schema = current_schema() AND table_type = 'BASE TABLE' AND table_name <> 'goose_db_version' ORDER BY table_name`
		refer = `SELECT t.relname, f.relname FROM pg_constraint c JOIN pg_class t ON t.oid = c.conrelid JOIN pg_class f ON f.oid = c.confrelid
WHERE c.contype = 'f' AND t.relnamespace = current_schema()::regnamespace`
	}
	all, err := d.list(1, names)
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	refers, err := d.list(2, refer)
	if err != nil {
		return nil, fmt.Errorf("list what refers to what: %w", err)
	}
	var order []string
	var put func(table string)
	put = func(table string) {
		if slices.Contains(order, table) {
			return
		}
		for _, r := range refers {
			if r[0] == table && r[1] != table {
				put(r[1])
			}
		}
		order = append(order, table)
	}
	for _, t := range all {
		put(t[0])
	}
	return order, nil
}

// columns lists the columns of a table by name, since those that were added
// later need not stand in the same order on both sides.
func (d *side) columns(table string) ([]column, error) {
	query := `SELECT name, type FROM pragma_table_info(?) ORDER BY cid`
	if d.postgres {
		query = `SELECT column_name, data_type FROM information_schema.columns
WHERE table_schema = current_schema() AND table_name = ? ORDER BY ordinal_position`
	}
	rows, err := d.list(2, query, table)
	if err != nil {
		return nil, fmt.Errorf("list the columns of %s: %w", table, err)
	}
	var out []column
	for _, r := range rows {
		out = append(out, column{r[0], strings.ToLower(r[1])})
	}
	return out, nil
}

func selecting(table string, columns []column) string {
	var names []string
	for _, c := range columns {
		names = append(names, quoted(c.name))
	}
	return "SELECT " + strings.Join(names, ", ") + " FROM " + quoted(table)
}

// eachRow calls do with each row of a table.
func (d *side) eachRow(table string, columns []column, do func([]any) error) error {
	rows, err := d.query(selecting(table, columns))
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		row := make([]any, len(columns))
		to := make([]any, len(columns))
		for i := range row {
			to[i] = &row[i]
		}
		if err := rows.Scan(to...); err != nil {
			return err
		}
		if err := do(row); err != nil {
			return err
		}
	}
	return rows.Err()
}

// copyRows copies the rows of a table and adds them up.
func copyRows(from, into *side, table string, columns []column, sum *digest) error {
	take := func(row []any) error {
		if into.postgres {
			if err := fits(table, columns, row); err != nil {
				return err
			}
		}
		return sum.add(row)
	}
	if into.postgres {
		return into.copyIn(table, columns, func(yield func([]any, error) bool) {
			err := from.eachRow(table, columns, func(row []any) error {
				if err := take(row); err != nil {
					return err
				}
				if !yield(row, nil) {
					return errors.New("the copy was broken off")
				}
				return nil
			})
			if err != nil {
				yield(nil, err)
			}
		})
	}
	insert := strings.Replace(selecting(table, columns), "SELECT ", "INSERT INTO "+quoted(table)+" (", 1)
	insert = strings.TrimSuffix(insert, " FROM "+quoted(table)) + ") VALUES (?" + strings.Repeat(", ?", len(columns)-1) + ")"
	st, err := into.tx.PrepareContext(into.ctx, insert)
	if err != nil {
		return err
	}
	defer st.Close()
	return from.eachRow(table, columns, func(row []any) error {
		if err := take(row); err != nil {
			return err
		}
		_, err := st.ExecContext(into.ctx, row...)
		return err
	})
}

// copyIn writes rows by COPY, in the transaction of its connection.
func (d *side) copyIn(table string, columns []column, rows iter.Seq2[[]any, error]) error {
	var names []string
	for _, c := range columns {
		names = append(names, c.name)
	}
	next, stop := iter.Pull2(rows)
	defer stop()
	var broken error
	err := d.conn.Raw(func(c any) error {
		_, err := c.(*stdlib.Conn).Conn().CopyFrom(d.ctx, pgx.Identifier{table}, names, pgx.CopyFromFunc(func() ([]any, error) {
			row, err, more := next()
			if !more {
				return nil, nil
			}
			broken = err
			return row, err
		}))
		return err
	})
	if broken != nil {
		return broken
	}
	return err
}

// fits refuses what SQLite keeps in a column and PostgreSQL would not take.
func fits(table string, columns []column, row []any) error {
	for i, v := range row {
		why := ""
		switch v := v.(type) {
		case string:
			switch {
			case columns[i].kind != "text":
				why = "text in a column of " + columns[i].kind
			case strings.ContainsRune(v, 0):
				why = "a NUL character"
			case !utf8.ValidString(v):
				why = "bytes that are no UTF-8 text"
			}
		case int64:
			if columns[i].kind != "bigint" && columns[i].kind != "integer" {
				why = "a whole number in a column of " + columns[i].kind
			}
		case float64:
			if columns[i].kind != "double precision" {
				why = "a number in a column of " + columns[i].kind
			}
		case []byte:
			if columns[i].kind != "bytea" {
				why = "bytes in a column of " + columns[i].kind
			}
		}
		if why != "" {
			return parts.Problemf(parts.Refused, "row-not-taken", "PostgreSQL cannot take a row of the table %s: the column %s of the row with %s %s holds %s.",
				table, columns[i].name, columns[0].name, named(row[0]), why).
				Next("Put that text right in the file and move the shop again. Nothing was written.")
		}
	}
	return nil
}

// named is how a row is called by the value of its first column.
func named(key any) string {
	switch key := key.(type) {
	case []byte:
		return fmt.Sprintf("%x", key)
	case string:
		return fmt.Sprintf("%q", key)
	}
	return fmt.Sprint(key)
}

// highest is the last number that a table has given to a row; numbers of rows
// that are gone are not given again.
func (d *side) highest(table string) (int64, error) {
	query := "SELECT seq FROM sqlite_sequence WHERE name = ?"
	args := []any{table}
	if d.postgres {
		column, sequence, err := d.sequence(table)
		if err != nil || column == "" {
			return 0, err
		}
		query, args = "SELECT CASE WHEN is_called THEN last_value ELSE 0 END FROM "+sequence, nil
	}
	var n int64
	err := d.tx.QueryRowContext(d.ctx, d.bind(query), args...).Scan(&n)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return 0, fmt.Errorf("read the last number of %s: %w", table, err)
	}
	return n, nil
}

// sequence gives the column of a table that PostgreSQL numbers, "" for none,
// and what it numbers it by.
func (d *side) sequence(table string) (column, sequence string, err error) {
	found, err := d.list(2, `SELECT column_name, pg_get_serial_sequence(quote_ident(table_name), column_name) FROM information_schema.columns
WHERE table_schema = current_schema() AND table_name = ? AND is_identity = 'YES'`, table)
	if err != nil {
		return "", "", fmt.Errorf("look how %s is numbered: %w", table, err)
	}
	if len(found) == 0 {
		return "", "", nil
	}
	return found[0][0], found[0][1], nil
}

// numberFrom lets a table go on with numbers that were never given.
func (d *side) numberFrom(table string, highest int64) error {
	if !d.postgres {
		if _, err := d.tx.ExecContext(d.ctx, "UPDATE sqlite_sequence SET seq = max(seq, ?) WHERE name = ?", highest, table); err != nil {
			return fmt.Errorf("number the rows of %s: %w", table, err)
		}
		return nil
	}
	column, sequence, err := d.sequence(table)
	if err != nil || column == "" {
		return err
	}
	var last int64
	err = d.tx.QueryRowContext(d.ctx, fmt.Sprintf("SELECT greatest(coalesce(max(%s), 0), $1) FROM %s", quoted(column), quoted(table)), highest).Scan(&last)
	if err == nil && last > 0 {
		_, err = d.tx.ExecContext(d.ctx, "SELECT setval($1::regclass, $2)", sequence, last)
	}
	if err != nil {
		return fmt.Errorf("number the rows of %s: %w", table, err)
	}
	return nil
}
