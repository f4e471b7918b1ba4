package store

import (
	"context"
	"database/sql"
	"fmt"
	"reflect"
	"slices"
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
	if !t.pipe.gather(query, args) {
		return false, t.flush()
	}
	t.wrote = true
	if query == insertCommand && len(t.pipe.rows[query]) >= enough {
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
	if err := t.sent(); err != nil || t.pipe == nil || len(t.pipe.rows) == 0 {
		return err
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

// readAhead adds to a batch what a group of commands will ask for and the
// writer does not remember.
func (t *tx) readAhead(b *pgx.Batch, group []*work) {
	m := &t.s.memory
	var names, marks []string
	for _, w := range group {
		if w.about == nil {
			continue
		}
		if name := strings.TrimSpace(w.about.By); m.people[name] == 0 {
			names = append(names, name)
		}
		mark := w.about.Subject
		if _, known := m.spares[m.states[mark].Line]; !known {
			marks = append(marks, string(mark))
		}
	}
	if len(names) > 0 {
		b.Queue(findPeople, names).Query(func(rows pgx.Rows) error {
			var name string
			var id int64
			_, err := pgx.ForEachRow(rows, []any{&name, &id}, func() error {
				m.people[name] = id
				return nil
			})
			return err
		})
	}
	if len(marks) == 0 {
		return
	}
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

// readAnswers adds to a batch the looking up of a group's commands.
func (t *tx) readAnswers(b *pgx.Batch, group []*work) {
	var ids [][]byte
	for _, w := range group {
		if w.about != nil {
			t.pipe.answers[w.about.ID] = nil
			ids = append(ids, w.about.ID[:])
		}
	}
	if len(ids) == 0 {
		return
	}
	b.Queue(findAnswers, ids).Query(func(rows pgx.Rows) error {
		var id []byte
		var k kept
		_, err := pgx.ForEachRow(rows, []any{&id, &k.hash, &k.outcome, &k.said}, func() error {
			t.pipe.answers[parts.CommandID(id)] = &kept{slices.Clone(k.hash), k.outcome, k.said}
			return nil
		})
		return err
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

// openTogether opens the transaction on PostgreSQL, in one round trip: it takes
// the writer's turn, reads what the other servers recorded last, behind which
// no clock may go, and reads ahead for the group. When anybody else has written
// since, what the writer remembered is read again.
func (t *tx) openTogether(group []*work) (err error) {
	s := t.s
	if t.conn, err = s.write.Conn(t.ctx); err != nil {
		return err
	}
	t.db, t.pipe = t.conn, &pipeline{answers: map[parts.CommandID]*kept{}, rows: map[string][][]any{}, moved: map[string]place{}}
	b := &pgx.Batch{}
	b.Queue("BEGIN")
	b.Queue("SELECT pg_advisory_xact_lock(7214)")
	var latest int64
	b.Queue("SELECT coalesce((SELECT recorded FROM events ORDER BY id DESC LIMIT 1), 0)").
		QueryRow(func(row pgx.Row) error { return row.Scan(&latest) })
	var v AirVersion
	b.Queue(findAirVersion).QueryRow(func(row pgx.Row) error { return row.Scan(&v.Readings, &v.Products, &v.Usual) })
	var version int64
	b.Queue(findCommits, s.notices.commits()).QueryRow(func(row pgx.Row) error { return row.Scan(&t.number, &version) })
	if s.memory.states == nil {
		s.memory.forget()
	}
	t.readAnswers(b, group)
	t.readAhead(b, group)
	if err := t.send(b); err != nil {
		return err
	}
	s.latest.Store(max(s.latest.Load(), latest))
	s.air.Store(&v)
	if s.memory.version == version {
		return nil
	}
	s.memory.forget()
	b = &pgx.Batch{}
	t.readAhead(b, group)
	return t.send(b)
}

// endTogether gives the connection back. One whose transaction cannot be ended
// is not used again.
func (t *tx) endTogether() {
	t.sent()
	if !t.committed {
		t.conn.ExecContext(t.ctx, "ROLLBACK")
	}
	t.conn.Close()
}

// sent is a commit that was sent and got no answer, with what its works will
// be answered if it arrived.
type sent struct {
	number int64 // of the server's commits
	errs   []error
	office bool
}

// arrived looks up the commit before this one, when that got no answer. This
// one is counted all the same, so that it waits for a standby that must have
// everything.
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

const (
	// The second column is the number that the next writing transaction gets,
	// of anybody.
	findCommits = `SELECT (SELECT coalesce(max(value), 0) FROM counters WHERE name = $1), pg_snapshot_xmax(pg_current_snapshot())::text::bigint`
	countCommit = `INSERT INTO counters (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value`
	// It gives the same number as it will be if nobody else writes meanwhile, and
	// 0 when somebody has begun to.
	tellOthers = `SELECT CASE WHEN pg_snapshot_xmin(pg_current_snapshot()) = pg_current_xact_id() THEN pg_current_xact_id()::text::bigint + 1 ELSE 0 END
FROM pg_notify($1, $2)`
)

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
// servers, and commits, in one round trip.
func (t *tx) commitTogether(errs []error) error {
	if err := t.sent(); err != nil {
		return err
	}
	number := t.number + 1
	b := &pgx.Batch{}
	t.pipe.queue(b)
	b.Queue(countCommit, t.s.notices.commits(), number)
	var version int64
	b.Queue(tellOthers, t.s.notices.channel, t.s.notices.tell(t.office)).QueryRow(func(row pgx.Row) error { return row.Scan(&version) })
	b.Queue("COMMIT")
	t.s.sent = &sent{number, errs, t.office}
	if err := t.send(b); err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	t.s.sent, t.committed, t.s.memory.version = nil, true, version
	return nil
}
