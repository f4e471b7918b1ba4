package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"reflect"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/stdlib"

	"benchtally/parts"
)

// pipeline is how a group of commands is written on PostgreSQL, where each
// statement of its own would cost a round trip: what the commands will read is
// read ahead for all of them, and the rows of the scan path are gathered and
// sent together, before anything else is asked and before the commit.
type pipeline struct {
	answers map[parts.CommandID]*kept // of the group's commands; nil for one that is new
	rows    map[string][][]any        // arguments of the gathered statements, by statement
	moved   map[string]place          // where the row of a mark's state is among them
	sending chan error                // of a batch that is under way; nil when none is
}

func newPipeline() *pipeline {
	return &pipeline{answers: map[parts.CommandID]*kept{}, rows: map[string][][]any{}, moved: map[string]place{}}
}

// enough is how many gathered commands are sent while the next are decided.
const enough = 16

// kept is a row of commands: the answer that was given.
type kept struct {
	hash          []byte
	outcome, said string
}

type place struct {
	query string
	at    int
}

// gathered are the statements that are sent together, in the order in which
// that is done.
var gathered = []string{insertEvent, insertState, updateState, moveState, insertCommand}

// gather takes a statement of the scan path; it is false for all others.
func (p *pipeline) gather(query string, args []any) bool {
	switch query {
	case insertEvent:
	case insertCommand:
		var id parts.CommandID
		copy(id[:], args[0].([]byte))
		p.answers[id] = &kept{args[1].([]byte), args[4].(string), args[6].(string)}
	case insertState, updateState, moveState:
		return p.gatherState(query, args)
	default:
		return false
	}
	p.rows[query] = append(p.rows[query], args)
	return true
}

// gatherState keeps one row a mark, of the last state it gets in the group:
// the columns that moveState changes are the last ones of the others.
func (p *pipeline) gatherState(query string, args []any) bool {
	mark := args[len(args)-1].(string)
	was, again := p.moved[mark]
	switch {
	case !again:
	case query == moveState:
		before := p.rows[was.query][was.at]
		copy(before[len(before)-len(args):], args)
		return true
	case was.query != moveState:
		p.rows[was.query][was.at] = args
		return true
	default:
		p.rows[moveState][was.at] = nil
	}
	p.moved[mark] = place{query, len(p.rows[query])}
	p.rows[query] = append(p.rows[query], args)
	return true
}

// queue adds the gathered statements to a batch and is empty afterwards.
func (p *pipeline) queue(b *pgx.Batch) {
	for _, query := range gathered {
		rows := p.rows[query]
		live := rows[:0]
		for _, row := range rows {
			if row != nil {
				live = append(live, row)
			}
		}
		if len(live) > 0 {
			text, columns := ofMany(query, live)
			b.Queue(text, columns...)
		}
	}
	clear(p.rows)
	clear(p.moved)
}

// ofMany writes a statement for one row as one for many, with an array for
// each of its arguments.
func ofMany(query string, rows [][]any) (string, []any) {
	var columns []any
	var arrays, names []string
	for i, v := range rows[0] {
		column, kind := columnOf(rows, i, reflect.TypeOf(v))
		columns = append(columns, column)
		arrays = append(arrays, fmt.Sprintf("$%d::%s[]", i+1, kind))
		names = append(names, fmt.Sprintf("c%d", i+1))
	}
	for i := range names {
		query = strings.Replace(query, "?", "many.c"+fmt.Sprint(i+1), 1)
	}
	from := fmt.Sprintf(" FROM unnest(%s) AS many(%s)", strings.Join(arrays, ", "), strings.Join(names, ", "))
	if head, values, ok := strings.Cut(query, "VALUES ("); ok {
		return head + "SELECT " + strings.TrimSuffix(values, ")") + from, columns
	}
	head, condition, _ := strings.Cut(query, " WHERE ")
	return head + from + " WHERE " + condition, columns
}

// columnOf gathers one argument of every row, with the type of its column.
func columnOf(rows [][]any, i int, t reflect.Type) (column any, kind string) {
	switch t.Kind() {
	case reflect.String:
		texts := make([]string, len(rows))
		for n, row := range rows {
			texts[n] = reflect.ValueOf(row[i]).String()
		}
		return texts, "text"
	case reflect.Slice:
		data := make([][]byte, len(rows))
		for n, row := range rows {
			data[n] = row[i].([]byte)
		}
		return data, "bytea"
	}
	numbers := make([]int64, len(rows))
	for n, row := range rows {
		numbers[n] = reflect.ValueOf(row[i]).Int()
	}
	return numbers, "bigint"
}

// send sends a batch on the writer's connection and reads its results.
func (t *tx) send(b *pgx.Batch) error {
	if b.Len() == 0 {
		return nil
	}
	return sendOn(t.ctx, t.conn, b)
}

func sendOn(ctx context.Context, conn *sql.Conn, b *pgx.Batch) error {
	return conn.Raw(func(c any) error {
		return c.(*stdlib.Conn).Conn().SendBatch(ctx, b).Close()
	})
}

// gather takes a statement of the scan path, on PostgreSQL, and is false for
// all others; those come after what was gathered.
func (t *tx) gather(query string, args []any) (bool, error) {
	if t.pipe == nil {
		return false, nil
	}
	if !t.pipe.gather(query, args) {
		return false, t.flush()
	}
	t.wrote = true
	if query == insertCommand && t.conn != nil && len(t.pipe.rows[query]) >= enough {
		return true, t.sendMeanwhile()
	}
	return true, nil
}

// sendMeanwhile sends what was gathered and does not wait for it.
func (t *tx) sendMeanwhile() error {
	if err := t.sent(); err != nil {
		return err
	}
	b := &pgx.Batch{}
	t.pipe.queue(b)
	under := make(chan error, 1)
	t.pipe.sending = under
	go func() { under <- t.send(b) }()
	return nil
}

// sent waits for the batch that is under way.
func (t *tx) sent() error {
	if t.pipe == nil || t.pipe.sending == nil {
		return nil
	}
	err := <-t.pipe.sending
	t.pipe.sending = nil
	if err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	return nil
}

// known answers a query from what was read ahead, on PostgreSQL, and is false
// for all others; those are asked after what was gathered is sent.
func (t *tx) known(query string, args, dest []any) (bool, error) {
	if t.pipe == nil {
		return false, nil
	}
	if query == findCommand {
		if k, asked := t.pipe.answers[parts.CommandID(args[0].([]byte))]; asked {
			if k == nil {
				return true, sql.ErrNoRows
			}
			*dest[0].(*[]byte), *dest[1].(*string), *dest[2].(*string) = k.hash, k.outcome, k.said
			return true, nil
		}
	}
	return false, t.flush()
}

// changes notes that a statement changes more than the history of parts.
func (t *tx) changes(query string) {
	t.office = t.office || !strings.HasPrefix(query, "SELECT")
}

// flush sends what was gathered.
func (t *tx) flush() error {
	if err := errors.Join(t.begun(), t.sent()); err != nil || t.pipe == nil || len(t.pipe.rows) == 0 {
		return err
	}
	b := &pgx.Batch{}
	t.pipe.queue(b)
	if err := t.send(b); err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	return nil
}
