package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// notices are what the servers of a PostgreSQL shop tell each other: once for
// each committed group, in its transaction, which server wrote and whether
// more than the history of parts has changed. There is no more in it, so that
// one that is missed costs no more than a look.
type notices struct {
	config  *pgx.ConnConfig
	server  string // the name of this server among those of the shop
	channel string
	stop    context.CancelFunc
	stopped chan struct{}
}

// What a notice says after the name of the server.
const (
	onlyParts = "parts"
	alsoOther = "office"
)

func newNotices(c *pgx.ConnConfig) *notices {
	return &notices{config: c, server: rand.Text(), stopped: make(chan struct{})}
}

// tell gives the payload of a notice.
func (n *notices) tell(office bool) string {
	if office {
		return n.server + " " + alsoOther
	}
	return n.server + " " + onlyParts
}

// startListening finds the shop's channel and listens from then on. Channels
// belong to a database, and a database may hold several shops, each in its
// schema.
func (s *Store) startListening(ctx context.Context) error {
	n := s.notices
	if n == nil {
		return nil // a SQLite file has one server
	}
	if err := s.read.QueryRowContext(ctx, "SELECT 'benchtally_' || oid FROM pg_namespace WHERE nspname = current_schema()").Scan(&n.channel); err != nil {
		return fmt.Errorf("find the shop's channel: %w", err)
	}
	conn, err := n.connect(ctx) // from here on nothing is missed
	if err != nil {
		return err
	}
	listening, stop := context.WithCancel(context.WithoutCancel(ctx))
	n.stop = stop
	go s.listen(listening, conn)
	return nil
}

func (n *notices) connect(ctx context.Context) (*pgx.Conn, error) {
	conn, err := pgx.ConnectConfig(ctx, n.config)
	if err != nil {
		return nil, fmt.Errorf("listen to the other servers: %w", err)
	}
	if _, err := conn.Exec(ctx, "LISTEN "+pgx.Identifier{n.channel}.Sanitize()); err != nil {
		return nil, errors.Join(fmt.Errorf("listen to the other servers: %w", err), conn.Close(ctx))
	}
	return conn, nil
}

// listen hears the other servers until the store closes. After a connection
// was lost everything may have changed.
func (s *Store) listen(ctx context.Context, conn *pgx.Conn) {
	defer close(s.notices.stopped)
	pause := firstPause
	for ctx.Err() == nil {
		if conn == nil {
			var err error
			if conn, err = s.notices.connect(ctx); err != nil {
				select {
				case <-ctx.Done():
				case <-time.After(pause):
				}
				pause = min(2*pause, longestPause)
				continue
			}
			s.heard(ctx, true)
		}
		pause = firstPause
		if err := s.hear(ctx, conn); err != nil {
			conn.Close(context.WithoutCancel(ctx))
			conn = nil
		}
	}
	if conn != nil {
		conn.Close(context.WithoutCancel(ctx))
	}
}

// silence is how long nothing is heard before the connection is tried.
const silence = 10 * time.Second

// hear waits for one notice. A connection that leads nowhere any more says
// nothing either, so it is tried from time to time.
func (s *Store) hear(ctx context.Context, conn *pgx.Conn) error {
	waiting, cancel := context.WithTimeout(ctx, silence)
	defer cancel()
	notice, err := conn.WaitForNotification(waiting)
	if err == nil {
		if from, what, _ := strings.Cut(notice.Payload, " "); from != s.notices.server {
			s.heard(ctx, what == alsoOther)
		}
		return nil
	}
	if waiting.Err() == nil || ctx.Err() != nil {
		return err
	}
	trying, cancel := context.WithTimeout(ctx, connectWithin)
	defer cancel()
	return conn.Ping(trying)
}

// heard does what a commit of another server asks for.
func (s *Store) heard(ctx context.Context, office bool) {
	if office {
		s.floor.forget()
		s.AirVersion(ctx) // what fails is read again by the writer and by each page
	}
	s.watchers.told(office)
}

// stopListening ends listen and waits for it.
func (n *notices) stopListening() {
	if n != nil && n.stop != nil {
		n.stop()
		<-n.stopped
	}
}
