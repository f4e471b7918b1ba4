package store

import (
	"context"
	"database/sql"
	"fmt"
	"sync/atomic"
)

// checkpoints bring what stands in SQLite's log into the file, on a connection
// of their own while the writer goes on: SQLite would do it inside the commit
// that makes the log long enough, and everybody would wait for it. Only the
// last piece is the writer's, for a log that has been brought over whole is
// begun again.
type checkpoints struct {
	db    *sql.DB
	since int           // for who is at the desk: works in the log since the last one was asked for
	due   chan struct{} // asks for one
	rest  atomic.Bool   // the last piece is left
	ended chan struct{}
}

const (
	// worksInLog are brought over together: what is changed again and again is
	// written once.
	worksInLog = 2000
	// longestLog is where SQLite does it by itself after all, in pages: while a
	// long reading keeps the log from being brought over it only grows.
	longestLog = 20_000
	// shortRest are so few pages of the log that the writer brings them over in
	// the time of a few commits.
	shortRest = 256
	// mostPasses are tried to come to so few.
	mostPasses = 5
)

const checkpointFile = `PRAGMA wal_checkpoint(PASSIVE)`

// startCheckpoints begins to look after the log.
func (s *Store) startCheckpoints(ctx context.Context) (err error) {
	c := &s.checkpoints
	if s.postgres {
		return nil
	}
	if c.db, err = openFile(s.file, "_synchronous=FULL&_cache_size=-100"); err != nil {
		return err
	}
	c.due, c.ended = make(chan struct{}, 1), make(chan struct{})
	go func() {
		defer close(c.ended)
		for range c.due {
			if left, err := c.pass(ctx); err == nil && left {
				c.rest.Store(true)
			}
		}
	}()
	return nil
}

// pass brings over what is in the log, and then what came meanwhile, until
// little comes. It reports whether that little is all that is left. What a
// reader holds back waits for the next time.
func (c *checkpoints) pass(ctx context.Context) (left bool, err error) {
	was := 0
	for range mostPasses {
		var busy, pages, over int
		if err := c.db.QueryRowContext(ctx, checkpointFile).Scan(&busy, &pages, &over); err != nil {
			return false, fmt.Errorf("bring the log into the file: %w", err)
		}
		if busy != 0 || over < pages {
			return false, nil
		}
		if pages-was < shortRest {
			return true, nil
		}
		was = pages
	}
	return false, nil
}

// logged counts works that were committed and answered, and does the writer's
// piece of a checkpoint.
func (s *Store) logged(ctx context.Context, works []*work) {
	c := &s.checkpoints
	if c.due == nil {
		return
	}
	if c.rest.CompareAndSwap(true, false) {
		_ = s.raw[checkpointFile].exec(ctx, nil) // what it does not bring over, the next one does
	}
	c.since += len(works)
	if works[0].alone {
		c.since = worksInLog // as large as many
	}
	if c.since < worksInLog {
		return
	}
	select {
	case c.due <- struct{}{}:
		c.since = 0
	default:
	}
}

// stop ends it, after the writer.
func (c *checkpoints) stop() {
	if c.due == nil {
		return
	}
	close(c.due)
	<-c.ended
	c.db.Close()
}
