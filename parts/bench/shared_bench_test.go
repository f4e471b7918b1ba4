package bench_test

import (
	"context"
	"fmt"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gorm.io/driver/postgres"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"
	"gorm.io/gorm/logger"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// What a scan writes where every row has its lock and every phone its
// transaction: the rows that the shop writes, into the shop's own tables, with
// their indexes and triggers.
type (
	lockedEvent struct {
		ID       int64
		Part     string
		Seq      int
		Kind     string
		Command  []byte
		Station  string
		ByPerson int64
		At       int64
		Recorded int64
		Step     int
		Detail   string
		Batch    int64
		Used     int64
	}
	lockedCommand struct {
		ID       []byte `gorm:"primaryKey"`
		Hash     []byte
		Kind     string
		Subject  string
		Outcome  string
		Code     string
		Answer   string
		Request  string
		ByPerson int64
		At       int64
		Recorded int64
		Settled  int
	}
	lockedState struct {
		Part  string `gorm:"primaryKey"`
		Seq   int
		Fold  int
		State string
	}
)

func (lockedEvent) TableName() string   { return "events" }
func (lockedCommand) TableName() string { return "commands" }
func (lockedState) TableName() string   { return "part_states" }

// mostLocked is how many connections the row-locking transactions share. More
// is not faster on a machine of few cores.
const mostLocked = 16

// locked is a shop of its own in which scans are saved by row-locking
// transactions through gorm.
type locked struct {
	db    *gorm.DB
	marks []string
}

// openLocked makes the shop, with the same job as the one it is compared with.
func openLocked(b *testing.B, pieces int) *locked {
	dsn := shoptest.DSN(b)
	s, err := bench.Open(context.Background(), dsn, bench.Options{})
	require.NoError(b, err)
	r, err := s.SaveRouting(context.Background(), manySteps())
	require.NoError(b, err)
	l := &locked{marks: marksOf(importList(b, s, listOf(pieces), r.Key))}
	require.NoError(b, s.Close())
	l.db, err = gorm.Open(postgres.Open(dsn), &gorm.Config{SkipDefaultTransaction: true, Logger: logger.Discard})
	require.NoError(b, err)
	pool, err := l.db.DB()
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, pool.Close()) })
	pool.SetMaxOpenConns(mostLocked)
	pool.SetMaxIdleConns(mostLocked)
	return l
}

// scan saves the i-th scan: it locks the row of the part's state, appends the
// event, keeps the command with its answer and saves the state, as large as
// those of a scan of the shop are. It decides nothing and tells nobody.
func (l *locked) scan(i int) error {
	mark, id, now := l.marks[i%len(l.marks)], shoptest.NewID(), time.Now().UnixMilli()
	return l.db.Transaction(func(tx *gorm.DB) error {
		var s lockedState
		if err := tx.Clauses(clause.Locking{Strength: "UPDATE"}).Take(&s, "part = ?", mark).Error; err != nil {
			return err
		}
		step := s.Seq - 1
		event := lockedEvent{Part: mark, Seq: s.Seq + 1, Kind: "done", Command: id[:], Station: "plane", ByPerson: 1,
			At: now, Recorded: now, Step: step, Detail: `{"next":3}`}
		if err := tx.Create(&event).Error; err != nil {
			return err
		}
		command := lockedCommand{ID: id[:], Hash: append(id[:], id[:]...), Kind: "scan", Subject: mark, Outcome: "recorded",
			Answer: lockedAnswer, Request: lockedRequest, ByPerson: 1, At: now, Recorded: now}
		if err := tx.Create(&command).Error; err != nil {
			return err
		}
		s.State = lockedHead + strings.Repeat(lockedPast, step) + lockedTail
		return tx.Model(&s).Updates(map[string]any{"seq": s.Seq + 1, "fold": s.Fold, "state": s.State}).Error
	})
}

// What the columns of text hold after the third scan of a part.
const (
	lockedRequest = `{"mark":"109C","station":"plane","step":3,"by":"Ann"}`
	lockedAnswer  = `{"outcome":"recorded","command":"01a218f1-c95c-788e-871d-81b8d70169e8","mark":"109C","name":"Rail 1 6","kind":"done",` +
		`"did":"pass 3","station":"plane","count":1,"at":"2026-11-26T17:40:28.636Z","state":"ready","next":{"step":4,"name":"pass 4","station":"plane"}}`
	lockedHead = `{"part":"109C","seq":4,"kind":"part","job":1,"line":1,"number":6,"steps":9,"next":3,"past":[{"how":"d","at":"2026-11-26T17:40:28.63Z","by":1}`
	lockedPast = `,{"how":"d","at":"2026-11-26T17:40:28.636Z","by":1}`
	lockedTail = `],"last_at":"2026-11-26T17:40:28.636Z"}`
)

// BenchmarkSharedScans scans on PostgreSQL through the whole bench, and by
// turns with that, some hundred scans at a time, saves as many by row-locking
// transactions. "x-rows" is how many times as many scans are saved in a time.
// Both write the same rows; the shop also decides, and every commit of its tells
// the other servers, of which there is one: it only listens, or half of the
// phones are its own. Garbage is collected as seldom as the server does.
func BenchmarkSharedScans(b *testing.B) {
	if !shoptest.OnPostgres() {
		b.Skip("PostgreSQL only: a file has one server")
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	for _, how := range []struct{ callers, servers int }{{1, 1}, {64, 1}, {64, 2}} {
		callers := how.callers
		b.Run(fmt.Sprintf("callers=%d/servers=%d", callers, how.servers), func(b *testing.B) {
			ctx := context.Background()
			dsn := shoptest.DSN(b)
			s := openOn(b, dsn)
			servers := []*bench.Bench{s, openOn(b, dsn)}[:how.servers]
			r, err := s.SaveRouting(ctx, manySteps())
			require.NoError(b, err)
			marks := marksOf(importList(b, s, listOf(b.N/16+1), r.Key))
			floor := openLocked(b, len(marks))
			require.Len(b, floor.marks, len(marks))
			var scans, rows time.Duration
			b.ResetTimer()
			for from, each := 0, 32*callers; from < b.N; from += each {
				to := min(from+each, b.N)
				start := time.Now()
				scanTogether(callers, from, to, func(i int) {
					_, err := servers[i%how.servers].Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: marks[i%len(marks)], Station: "plane", Step: 1 + i/len(marks), By: "Ann"})
					if parts.AsProblem(err) == nil && err != nil {
						b.Error(err)
					}
				})
				scans += time.Since(start)
				b.StopTimer()
				start = time.Now()
				scanTogether(callers, from, to, func(i int) {
					if err := floor.scan(i); err != nil {
						b.Error(err)
					}
				})
				rows += time.Since(start)
				b.StartTimer()
			}
			b.ReportMetric(float64(rows)/float64(b.N), "rows-ns")
			b.ReportMetric(float64(rows)/float64(scans), "x-rows")
		})
	}
}

func openOn(b *testing.B, dsn string) *bench.Bench {
	s, err := bench.Open(context.Background(), dsn, bench.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	return s
}
