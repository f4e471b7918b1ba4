package store

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"io"
	"net"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5/pgconn"

	"benchtally/parts"
)

// patience is how long the writer tries a group again while the database is
// away, counted from when it went; longer than a standby takes to be promoted.
// A reading tries for less: a page can be asked for again.
const (
	patience      = 10 * time.Second
	pagePatience  = 3 * time.Second
	firstPause    = 20 * time.Millisecond
	longestPause  = time.Second
	groupDeadline = 15 * time.Second // a connection that says nothing for so long is broken
)

// passing reports whether err is one of those that pass by themselves: a
// broken connection, a server that stops, starts or hands over to its standby,
// transactions that got into each other's way. Codes are those of
// https://www.postgresql.org/docs/15/errcodes-appendix.html
func passing(err error) bool {
	var pg *pgconn.PgError
	if errors.As(err, &pg) {
		switch pg.Code {
		case "40001", "40P01", "25006", "53300": // serialization, deadlock, a standby, too many connections
			return true
		}
		return strings.HasPrefix(pg.Code, "08") || strings.HasPrefix(pg.Code, "57P")
	}
	return broken(err)
}

// broken reports whether err says that there is no connection any more.
func broken(err error) bool {
	var network net.Error
	var connect *pgconn.ConnectError
	return errors.Is(err, driver.ErrBadConn) || errors.Is(err, sql.ErrConnDone) || errors.Is(err, net.ErrClosed) ||
		errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, context.DeadlineExceeded) ||
		errors.As(err, &network) || errors.As(err, &connect) || pgconn.SafeToRetry(err)
}

// again runs a reading, and again while it fails for a reason that passes.
func again(ctx context.Context, read func() error) error {
	until := time.Now().Add(pagePatience)
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		err := read()
		if err == nil || ctx.Err() != nil || !passing(err) || time.Now().Add(pause).After(until) {
			return err
		}
		select {
		case <-ctx.Done():
			return err
		case <-time.After(pause):
		}
	}
}

// persist attempts a group until the database takes it. Nothing is done twice:
// whether a commit that got no answer arrived is looked up before the next
// attempt, and commands are answered from their stored ids besides. Faults of
// the group itself are returned as they are. On SQLite there is one attempt.
func (s *Store) persist(ctx context.Context, group []*work) ([]error, error) {
	if !s.postgres {
		return s.attempt(ctx, group)
	}
	if s.sent != nil && !slices.Equal(s.sent.group, group) {
		s.sent = nil
	}
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		errs, err := s.attemptWithin(ctx, group)
		if err == nil || !passing(err) {
			s.away = time.Time{}
			return errs, err
		}
		s.hangUp()
		if s.away.IsZero() {
			s.away = time.Now()
		}
		if time.Since(s.away)+pause > patience {
			return slices.Repeat([]error{gaveUp(s.sent != nil, err)}, len(group)), nil
		}
		time.Sleep(pause)
	}
}

// attemptWithin attempts a group with a deadline: a server that vanished from
// the network never answers. A large work may take as long as it takes.
func (s *Store) attemptWithin(ctx context.Context, group []*work) ([]error, error) {
	if group[0].alone {
		return s.attempt(ctx, group)
	}
	ctx, cancel := context.WithTimeout(ctx, groupDeadline)
	defer cancel()
	return s.attempt(ctx, group)
}

// gaveUp is the answer when patience is over.
func gaveUp(unknown bool, err error) error {
	p := parts.Problemf(parts.Busy, "database-away", "The database does not answer, so this was not saved.")
	if unknown {
		p = outcomeUnknown()
	}
	return p.Next("Sending it again is safe.").Because(err)
}

func outcomeUnknown() *parts.Problem {
	return parts.Problemf(parts.Busy, "outcome-unknown", "It is not known whether this was saved.")
}
