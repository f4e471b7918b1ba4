// Package store keeps the shop in SQL: an embedded SQLite file, or PostgreSQL
// when several servers share one shop. It owns the log, the states that cache
// it, the rows the office edits, and the one writer. It does not decide
// anything: what may happen comes in as a function.
package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/gofrs/flock"
	_ "github.com/jackc/pgx/v5/stdlib" // the PostgreSQL driver
	_ "github.com/mattn/go-sqlite3"    // the SQLite driver
	"gorm.io/driver/postgres"
	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"

	"benchtally/parts"
	"benchtally/parts/store/pagesum"
)

// Store is an open shop. It is safe for concurrent use.
type Store struct {
	write    *sql.DB // one connection
	read     *pool   // few; on SQLite it cannot write
	gorm     *gorm.DB
	postgres bool
	file     string // of SQLite
	backups  string // the folder that was planned; "" for none
	copies   bool   // the file is copied before an upgrade
	lock     *flock.Flock

	pencil  *sql.Conn            // that one, when the writer has it for good: on SQLite, from the end of the opening on
	stmts   map[string]*sql.Stmt // prepared for the writer
	raw     map[string]*prepared // the same, of the scan path on SQLite
	desk    sync.Mutex           // held by who writes on SQLite: the writer, or a caller who finds it free
	memory  memory
	under   *underway  // for the writer: the group on its way to the disk
	last    int        // how many works the last group had
	half    int        // of the works in the last two groups
	jobs    chan *work // what waits for the writer
	stopped chan struct{}
	closing sync.Once
	quit    chan struct{}

	clock  func() time.Time
	latest atomic.Int64 // the last recorded time, in milliseconds

	known       known // lines and routings, which never change
	watchers    watchers
	health      health
	notices     *notices  // of PostgreSQL: what the servers tell each other
	away        time.Time // for the writer: since when PostgreSQL is away; zero when it is not
	sent        *sent     // for the writer: the commit that got no answer
	number      int64     // for the writer: of this server's commits so far
	flights     flights   // for the writer
	floor       floorCache
	tally       tally
	checkpoints checkpoints
	mixless     atomic.Bool // the shop is known to have no mix

	judge func(now time.Time) func(parts.ID, parts.Wait) parts.Wait
	air   atomic.Pointer[AirVersion]
}

// Options are how a store is opened.
type Options struct {
	// Alone takes the lock by which one server holds a SQLite file. Without
	// it the file may be open elsewhere too.
	Alone bool
	// Furniture is what a new shop starts with.
	Furniture Furniture
	// Clock gives the time; nil for the machine's.
	Clock func() time.Time
	// Dry gives what judges the waits for products at a moment; see
	// parts.View. nil leaves all waits to the clock.
	Dry func(now time.Time) func(cart parts.ID, w parts.Wait) parts.Wait

	// Backups is the folder that backups go to; "" when none are planned.
	Backups string

	keepsNoCopy bool // the file is a copy itself
}

// Open opens the shop in dsn, a file's path or a postgres:// address, makes
// it when it is not there, and brings it up to date.
func Open(ctx context.Context, dsn string, o Options) (*Store, error) {
	s := &Store{
		postgres: IsPostgres(dsn), file: dsn, copies: !o.keepsNoCopy, backups: o.Backups, clock: o.Clock, judge: o.Dry, stmts: map[string]*sql.Stmt{},
		jobs: make(chan *work, 1024), stopped: make(chan struct{}), quit: make(chan struct{}),
	}
	if s.clock == nil {
		s.clock = time.Now
	}
	if err := s.start(ctx, dsn, o); err != nil {
		s.closeAll()
		return nil, s.explainOpen(err)
	}
	// The writer's own context is never cancelled: what was handed in is
	// finished, and the SQLite driver starts a goroutine for every statement
	// whose context could be.
	go s.runWriter(context.WithoutCancel(ctx))
	return s, nil
}

// IsPostgres reports whether dsn names a PostgreSQL database.
func IsPostgres(dsn string) bool {
	return strings.HasPrefix(dsn, "postgres://") || strings.HasPrefix(dsn, "postgresql://")
}

// OnPostgres reports whether the shop is in a PostgreSQL database.
func (s *Store) OnPostgres() bool { return s.postgres }

// start connects, looks over the file that one server will serve, and brings
// it up to date.
func (s *Store) start(ctx context.Context, dsn string, o Options) error {
	if err := s.lookOverLog(); err != nil {
		return err
	}
	if err := s.connect(dsn, o); err != nil {
		return err
	}
	if o.Alone && !s.postgres {
		if err := s.lookOver(ctx); err != nil {
			return err
		}
	}
	if err := s.startListening(ctx); err != nil {
		return err
	}
	return s.prepare(ctx, o.Furniture)
}

func (s *Store) connect(dsn string, o Options) (err error) {
	if s.postgres {
		if err := s.connectPostgres(dsn); err != nil {
			return err
		}
		s.gorm, err = gorm.Open(postgres.New(postgres.Config{Conn: s.write}), gormConfig())
		return err
	}
	if o.Alone {
		if err := s.takeLock(dsn); err != nil {
			return err
		}
	}
	if dir := filepath.Dir(dsn); dir != "." {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return fmt.Errorf("make the folder of %s: %w", dsn, err)
		}
	}
	base := "file:" + (&url.URL{Path: dsn}).EscapedPath() + "?vfs=" + pagesum.VFS + "&_busy_timeout=5000&_foreign_keys=on"
	// One goroutine at a time uses the one connection that writes, so SQLite need
	// not see to that. Its cache has room for what a shop works on and no more:
	// after many a commit SQLite goes through all of it.
	if s.write, err = sql.Open("sqlite3", base+"&_cache_size=-8000&_journal_mode=WAL&_synchronous=FULL&_txlock=immediate&_mutex=no"); err != nil {
		return err
	}
	s.write.SetMaxOpenConns(1)
	if _, err := s.write.Exec(fmt.Sprintf("PRAGMA wal_autocheckpoint = %d", longestLog)); err != nil {
		return fmt.Errorf("open %s: %w", dsn, err)
	}
	pages, err := sql.Open("sqlite3", base+"&_cache_size=-64000&mode=ro&_query_only=1")
	if err != nil {
		return err
	}
	s.read = &pool{pages}
	s.read.SetMaxOpenConns(max(2, runtime.NumCPU()-1))
	s.read.SetMaxIdleConns(max(2, runtime.NumCPU()-1))
	s.gorm, err = gorm.Open(sqlite.New(sqlite.Config{Conn: s.write}), gormConfig())
	return err
}

func gormConfig() *gorm.Config {
	return &gorm.Config{
		SkipDefaultTransaction: true, TranslateError: true,
		Logger: logger.Discard, DisableAutomaticPing: true,
	}
}

func (s *Store) takeLock(dsn string) error {
	s.lock = flock.New(dsn + ".lock")
	got, err := s.lock.TryLock()
	if errors.Is(err, os.ErrNotExist) {
		if err = os.MkdirAll(filepath.Dir(dsn), 0o755); err == nil {
			got, err = s.lock.TryLock()
		}
	}
	if err != nil {
		s.lock = nil
		return fmt.Errorf("lock %s: %w", dsn, err)
	}
	if !got {
		s.lock = nil
		return parts.Problemf(parts.Busy, "server-running", "The server is running on %s.", dsn).
			Next("Use its page for this, or stop it first.")
	}
	return nil
}

// prepare brings the schema and the states up to date and reads the last
// recorded time, behind which the shop's clock never goes.
func (s *Store) prepare(ctx context.Context, f Furniture) error {
	done, err := s.oneAtATime(ctx)
	if err != nil {
		return err
	}
	defer done()
	if err := s.migrate(ctx); err != nil {
		return err
	}
	if err := s.furnish(ctx, f); err != nil {
		return err
	}
	var latest sql.NullInt64
	if err := s.write.QueryRowContext(ctx, "SELECT max(recorded) FROM events WHERE id > (SELECT coalesce(max(id), 0) - 1000 FROM events)").Scan(&latest); err != nil {
		return fmt.Errorf("read the last recorded time: %w", err)
	}
	s.latest.Store(latest.Int64)
	if err := s.refold(ctx); err != nil {
		return err
	}
	if _, err := s.AirVersion(ctx); err != nil {
		return err
	}
	if err := s.prepareHot(ctx); err != nil {
		return err
	}
	return s.startCheckpoints(context.WithoutCancel(ctx))
}

// Close lets the writer finish and closes the shop.
func (s *Store) Close() error {
	s.closing.Do(func() {
		close(s.quit)
		<-s.stopped
		s.notices.leave(s.write)
		s.closeAll()
	})
	return nil
}

func (s *Store) closeAll() {
	s.notices.stopListening()
	if s.read != nil {
		s.read.Close()
	}
	s.checkpoints.stop()
	s.closeRaw()
	for _, st := range s.stmts {
		st.Close()
	}
	if s.pencil != nil {
		s.pencil.Close()
	}
	if s.write != nil {
		s.write.Close()
	}
	if s.lock != nil {
		s.lock.Unlock()
	}
}

// Now is the shop's time: the machine's clock, but never before what was
// recorded last, so that a clock set back makes nothing wet again.
func (s *Store) Now() time.Time {
	return time.UnixMilli(max(s.clock().UnixMilli(), s.latest.Load())).UTC()
}

// bind writes the placeholders of query in the database's own form.
func (s *Store) bind(query string) string {
	if !s.postgres {
		return query
	}
	var out strings.Builder
	n := 0
	for _, r := range query {
		if r == '?' {
			n++
			fmt.Fprintf(&out, "$%d", n)
			continue
		}
		out.WriteRune(r)
	}
	return out.String()
}
