package store

import (
	"context"
	"database/sql"
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
}

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
	return t.conn.Raw(func(c any) error {
		return c.(*stdlib.Conn).Conn().SendBatch(t.ctx, b).Close()
	})
}

// gather takes a statement of the scan path, on PostgreSQL, and is false for
// all others; those come after what was gathered.
func (t *tx) gather(query string, args []any) (bool, error) {
	if t.pipe == nil {
		return false, nil
	}
	if t.pipe.gather(query, args) {
		t.wrote = true
		return true, nil
	}
	return false, t.flush()
}

// ahead answers a query from what was read ahead, on PostgreSQL, and is false
// for all others; those are asked after what was gathered is sent.
func (t *tx) ahead(query string, args, dest []any) (bool, error) {
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
	if t.pipe == nil || len(t.pipe.rows) == 0 {
		return nil
	}
	b := &pgx.Batch{}
	t.pipe.queue(b)
	if err := t.send(b); err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	return nil
}

const (
	findAnswers = `SELECT id, hash, outcome, answer FROM commands WHERE id = ANY($1)`
	findPeople  = `SELECT name, id FROM people WHERE name = ANY($1)`
	// What single parts are decided by: themselves and the spares of their lines.
	findStates = `SELECT state FROM part_states WHERE part = ANY($1)`
	findSpares = `SELECT state FROM part_states WHERE spare = 1 AND line IN (SELECT line FROM part_states WHERE part = ANY($1))
ORDER BY line, number, part`
)

// readAhead begins a batch that reads what a group of commands will ask for,
// and remembers it. It is used in the round trip that takes the turn.
func (t *tx) readAhead(b *pgx.Batch, group []*work) {
	t.pipe = &pipeline{answers: map[parts.CommandID]*kept{}, rows: map[string][][]any{}, moved: map[string]place{}}
	var ids [][]byte
	var names, marks []string
	for _, w := range group {
		if c := w.about; c != nil {
			t.pipe.answers[c.ID] = nil
			ids, names, marks = append(ids, c.ID[:]), append(names, strings.TrimSpace(c.By)), append(marks, string(c.Subject))
		}
	}
	if len(ids) == 0 {
		return
	}
	m := &t.s.memory
	b.Queue(findAnswers, ids).Query(func(rows pgx.Rows) error {
		var id []byte
		var k kept
		_, err := pgx.ForEachRow(rows, []any{&id, &k.hash, &k.outcome, &k.said}, func() error {
			before := kept{hash: append([]byte(nil), k.hash...), outcome: k.outcome, said: k.said}
			t.pipe.answers[parts.CommandID(id)] = &before
			return nil
		})
		return err
	})
	b.Queue(findPeople, names).Query(func(rows pgx.Rows) error {
		var name string
		var id int64
		_, err := pgx.ForEachRow(rows, []any{&name, &id}, func() error {
			m.people[name] = id
			return nil
		})
		return err
	})
	b.Queue(findStates, marks).Query(func(rows pgx.Rows) error {
		return eachState(rows, func(s parts.State) {
			m.keep(s)
			if s.Line != 0 {
				m.spares[s.Line] = nil // until they are read
			}
		})
	})
	b.Queue(findSpares, marks).Query(func(rows pgx.Rows) error {
		return eachState(rows, func(s parts.State) {
			m.keep(s)
			m.spares[s.Line] = append(m.spares[s.Line], s.Part)
		})
	})
}

func eachState(rows pgx.Rows, do func(parts.State)) error {
	var data string
	_, err := pgx.ForEachRow(rows, []any{&data}, func() error {
		s, err := decodeState(data)
		if err == nil {
			do(s)
		}
		return err
	})
	return err
}

// openTogether opens the transaction on PostgreSQL: in one round trip after
// its begin it takes the writer's turn, reads what the other servers recorded
// last, behind which no clock may go, and reads ahead for the group.
func (t *tx) openTogether(group []*work) (err error) {
	if t.conn, err = t.s.write.Conn(t.ctx); err != nil {
		return err
	}
	if t.sql, err = t.conn.BeginTx(t.ctx, nil); err != nil {
		return err
	}
	b := &pgx.Batch{}
	b.Queue("SELECT pg_advisory_xact_lock(7214)")
	var latest int64
	b.Queue("SELECT coalesce((SELECT recorded FROM events ORDER BY id DESC LIMIT 1), 0)").
		QueryRow(func(row pgx.Row) error { return row.Scan(&latest) })
	var v AirVersion
	b.Queue(findAirVersion).QueryRow(func(row pgx.Row) error { return row.Scan(&v.Readings, &v.Products, &v.Usual) })
	b.Queue("SELECT coalesce(max(value), 0) FROM counters WHERE name = $1", t.s.notices.commits()).
		QueryRow(func(row pgx.Row) error { return row.Scan(&t.number) })
	t.s.memory.forget()
	t.readAhead(b, group)
	if err := t.send(b); err != nil {
		return err
	}
	t.s.latest.Store(max(t.s.latest.Load(), latest))
	t.s.air.Store(&v)
	return nil
}

// sent is a commit that was sent and got no answer, with what its works will
// be answered if it arrived.
type sent struct {
	number int64 // of this server's commits
	errs   []error
	office bool
}

// arrived looks up the commit before this one, when that got no answer. What
// it counts is counted once more, so that this commit too waits for a standby
// that must have everything.
func (t *tx) arrived() (errs []error, arrived bool) {
	was := t.s.sent
	if was == nil || was.number != t.number {
		return nil, false
	}
	t.office = was.office
	return was.errs, true
}

// commits is the name of the counter of a server's commits.
func (n *notices) commits() string { return "commits of " + n.server }

const countCommit = `INSERT INTO counters (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value`

// leave takes the counter of a server that closes away.
func (n *notices) leave(db *sql.DB) {
	if n == nil {
		return
	}
	ctx, cancel := context.WithTimeout(context.Background(), connectWithin)
	defer cancel()
	db.ExecContext(ctx, "DELETE FROM counters WHERE name = $1", n.commits()) // when it stays, it does no harm
}

// commitTogether sends what was gathered, counts the commit, tells the other
// servers, and commits.
func (t *tx) commitTogether(errs []error) error {
	b := &pgx.Batch{}
	t.pipe.queue(b)
	b.Queue(countCommit, t.s.notices.commits(), t.number+1)
	b.Queue("SELECT pg_notify($1, $2)", t.s.notices.channel, t.s.notices.tell(t.office))
	if err := t.send(b); err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	t.s.sent = &sent{t.number + 1, errs, t.office}
	if err := t.sql.Commit(); err != nil {
		return err
	}
	t.s.sent = nil
	return nil
}
