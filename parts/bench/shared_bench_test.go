package bench_test

import (
	"context"
	"fmt"
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

// What a scan costs where every row has its lock and every phone its
// transaction: an event, a state and a counter that a floor could be shown by.
type (
	lockedEvent struct {
		ID     int64
		Part   int64
		Seq    int
		Kind   string
		Detail string
	}
	lockedState struct {
		Part  int64 `gorm:"primaryKey;autoIncrement:false"`
		Seq   int
		State string
	}
	lockedCount struct {
		Line  int64 `gorm:"primaryKey;autoIncrement:false"`
		Count int
	}
)

// mostLocked is how many connections the row-locking transactions share. More
// is not faster on a machine of few cores.
const mostLocked = 16

// rowLocking gives a function that saves one scan of one of so many parts by a
// row-locking transaction through gorm.
func rowLocking(b *testing.B, pieces int) func(i int) {
	db, err := gorm.Open(postgres.Open(shoptest.DSN(b)), &gorm.Config{SkipDefaultTransaction: true, Logger: logger.Discard})
	require.NoError(b, err)
	pool, err := db.DB()
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, pool.Close()) })
	pool.SetMaxOpenConns(mostLocked)
	pool.SetMaxIdleConns(mostLocked)
	require.NoError(b, db.AutoMigrate(&lockedEvent{}, &lockedState{}, &lockedCount{}))
	for i := range pieces {
		require.NoError(b, db.Create(&lockedState{Part: int64(i + 1), State: "{}"}).Error)
		if i%100 == 0 { // a line of the list
			require.NoError(b, db.Create(&lockedCount{Line: int64(i/100 + 1)}).Error)
		}
	}
	const detail = `{"next":4,"waits":[{"clock":"resting","step":2}]}`
	return func(i int) {
		part := int64(i*61%pieces + 1) // phones at a time are not all at one line's counter
		err := db.Transaction(func(tx *gorm.DB) error {
			var s lockedState
			if err := tx.Clauses(clause.Locking{Strength: "UPDATE"}).Take(&s, "part = ?", part).Error; err != nil {
				return err
			}
			s.Seq, s.State = s.Seq+1, detail
			if err := tx.Create(&lockedEvent{Part: part, Seq: s.Seq, Kind: "done", Detail: detail}).Error; err != nil {
				return err
			}
			if err := tx.Save(&s).Error; err != nil {
				return err
			}
			return tx.Model(&lockedCount{}).Where("line = ?", (part-1)/100+1).Update("count", gorm.Expr("count + 1")).Error
		})
		if err != nil {
			b.Error(err)
		}
	}
}

// BenchmarkSharedScans scans on PostgreSQL through the whole bench, and by
// turns with that, some hundred scans at a time, saves as many by row-locking
// transactions. "x-rows" is how many times as many scans are saved in a time.
// Every commit tells the other servers, of which there is one; it only listens,
// or half of the phones are its own.
func BenchmarkSharedScans(b *testing.B) {
	if !shoptest.OnPostgres() {
		b.Skip("PostgreSQL only: a file has one server")
	}
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
			locked := rowLocking(b, len(marks))
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
				scanTogether(callers, from, to, locked)
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
