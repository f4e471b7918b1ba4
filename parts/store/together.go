package store

import (
	"context"
	"database/sql"
	"fmt"
	"slices"

	"github.com/jackc/pgx/v5"

	"benchtally/parts"
)

// openTogether opens the transaction on PostgreSQL, in one round trip: it takes
// the writer's turn, reads what the other servers recorded last, behind which
// no clock may go, and reads ahead for the group. When anybody else has written
// since, what the writer remembered is read again.
func (t *tx) openTogether(group []*work) (err error) {
	s := t.s
	if t.conn, err = s.write.Conn(t.ctx); err != nil {
		return err
	}
	t.db, t.pipe, t.group = t.conn, newPipeline(), group
	b := &pgx.Batch{}
	b.Queue("BEGIN")
	b.Queue(takeTurn)
	var latest int64
	b.Queue("SELECT coalesce((SELECT recorded FROM events ORDER BY id DESC LIMIT 1), 0)").
		QueryRow(func(row pgx.Row) error { return row.Scan(&latest) })
	var v AirVersion
	b.Queue(findAirVersion).QueryRow(func(row pgx.Row) error { return row.Scan(&v.Readings, &v.Products, &v.Usual) })
	b.Queue(findCommits, s.notices.commits()).QueryRow(func(row pgx.Row) error { return row.Scan(&t.number, &t.version) })
	newest := parts.CommandID{}
	b.Queue(readNewest).Query(func(rows pgx.Rows) error {
		var id []byte
		_, err := pgx.ForEachRow(rows, []any{&id}, func() error { copy(newest[:], id); return nil })
		return err
	})
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
	s.flights.steady = s.memory.version == t.version
	if !s.flights.steady {
		s.memory.forget()
		b = &pgx.Batch{}
		t.readAhead(b, group)
		err = t.send(b)
	}
	s.memory.ahead = false
	s.memory.newest, s.memory.looked, s.memory.since = newest, true, map[parts.CommandID]bool{}
	return err
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
	group  []*work
	errs   []error
	office bool
}

// arrived looks up the commit before this one, when that got no answer. This
// one is counted all the same, so that it waits for a standby that must have
// everything.
func (t *tx) arrived() (errs []error, arrived bool) {
	was := t.s.sent
	if was == nil || was.number != t.number || !slices.Equal(was.group, t.group) {
		return nil, false
	}
	t.office = was.office
	return was.errs, true
}

// commits is the name of the counter of a server's commits.
func (n *notices) commits() string { return "commits of " + n.server }

const (
	takeTurn = `SELECT pg_advisory_xact_lock(7214, hashtext(current_schema()))`
	// The second column is the number that the next writing transaction gets,
	// of anybody.
	findCommits = `SELECT (SELECT coalesce(max(value), 0) FROM counters WHERE name = $1), pg_snapshot_xmax(pg_current_snapshot())::text::bigint`
	// It fails, by a division by zero, when that number is another one, and
	// nothing that was sent after it is done.
	onlyAfter   = `SELECT 1 / (pg_snapshot_xmax(pg_current_snapshot())::text::bigint = $1)::int`
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
	t.leave(errs)
	if err := t.sendCommit(&pgx.Batch{}); err != nil {
		return err
	}
	t.arrive()
	return nil
}

// leave notes that a commit is sent, in case that it gets no answer.
func (t *tx) leave(errs []error) { t.s.sent = &sent{t.number + 1, t.group, errs, t.office} }

// sendCommit sends the rest of a group after what is in b.
func (t *tx) sendCommit(b *pgx.Batch) error {
	if err := t.sent(); err != nil {
		return err
	}
	t.pipe.queue(b)
	b.Queue(countCommit, t.s.notices.commits(), t.number+1)
	began := t.version
	b.Queue(tellOthers, t.s.notices.channel, t.s.notices.tell(t.office)).QueryRow(func(row pgx.Row) error { return row.Scan(&t.version) })
	b.Queue("COMMIT")
	if err := t.send(b); err != nil {
		return fmt.Errorf("write the group: %w", err)
	}
	if t.version != began+1 {
		t.version = 0 // somebody else wrote in between, and is done
	}
	return nil
}

// arrive notes that the commit got its answer.
func (t *tx) arrive() {
	t.s.sent, t.committed = nil, true
	t.s.number, t.s.memory.version = t.number+1, t.version
}
