package bench_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// scan scans the next part that people work on, each step of all of them in
// turn.
func (l *large) scan(b *testing.B, turn int) {
	_, err := l.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: l.marks[turn%len(l.marks)],
		Station: "plane", Step: 1 + turn/len(l.marks), By: "Ann"})
	if err != nil && parts.AsProblem(err) == nil {
		b.Error(err)
	}
}

// BenchmarkReplay folds a log of a million events, of a hundred thousand parts,
// and compares each result with the saved state.
func BenchmarkReplay(b *testing.B) {
	const past = 100_000
	l := openLarge(b, past, 100)
	var books store.Books
	for b.Loop() {
		var err error
		books, err = l.Check(context.Background())
		require.NoError(b, err)
		require.Empty(b, books.Differences, "the made-up past is one that the program could have written")
	}
	require.Greater(b, books.Events, past*oldEvents)
	b.ReportMetric(float64(books.Events)*float64(b.N)/b.Elapsed().Seconds(), "events/s")
}

// BenchmarkScanRateLarge scans the same work in a shop with a million parts of
// ten events each and in one whose log is empty, two thousand parts under way
// in both, by turns. "large/empty" is the rate of scans in the large one by that
// in the empty one. Making up ten million events takes minutes and a few
// gigabytes, so it waits for a folder to keep them in. -benchtime must not ask
// for more scans than the work has steps: 32,000 in all.
func BenchmarkScanRateLarge(b *testing.B) {
	needKept(b)
	const active = 2000
	shops := map[string]*large{"empty": openLarge(b, 0, active), "large": openLarge(b, 1_000_000, active)}
	for _, callers := range []int{1, 64} {
		b.Run(fmt.Sprintf("callers=%d", callers), func(b *testing.B) { byTurns(b, shops, callers) })
	}
	b.Run("first page", func(b *testing.B) {
		for name, l := range shops {
			const times = 20
			start := time.Now()
			for range times {
				_, err := l.Floor(context.Background())
				require.NoError(b, err)
			}
			b.ReportMetric(time.Since(start).Seconds()*1000/times, name+"-ms")
		}
		b.ReportMetric(0, "ns/op")
	})
}

// needKept skips what takes minutes to make up.
func needKept(b *testing.B) {
	if os.Getenv("BENCHTALLY_BENCH_DIR") == "" {
		b.Skip("BENCHTALLY_BENCH_DIR names the folder for a shop of a million parts: 4 GB, made up once in some minutes")
	}
}

// BenchmarkOpenLarge opens a shop with a million parts and ten million events,
// and beside it an empty one. The file is in the memory of the machine if it
// was used just before.
func BenchmarkOpenLarge(b *testing.B) {
	needKept(b)
	for name, past := range map[string]int{"empty": 0, "large": 1_000_000} {
		b.Run(name, func(b *testing.B) {
			file := pastFile(b, past)
			for b.Loop() {
				s, err := bench.Open(context.Background(), file, bench.Options{})
				require.NoError(b, err)
				require.NoError(b, s.Close())
			}
			b.ReportMetric(float64(fileSize(b, file))/(1<<20), "MB")
		})
	}
}

// byTurns gives each shop the same scans, some hundred at a time, so that a
// disk that is busy with something else is as slow for both.
func byTurns(b *testing.B, shops map[string]*large, callers int) {
	const together = 256
	commit := shoptest.Commits(b)
	floor := shoptest.Each(commit, 300)
	took := map[string]time.Duration{}
	for left := b.N; left > 0; left -= together {
		for name, l := range shops {
			start := time.Now()
			l.work(b, callers, min(left, together))
			took[name] += time.Since(start)
		}
	}
	floor = (floor + shoptest.Each(commit, 300)) / 2
	for name, t := range took {
		b.ReportMetric(float64(b.N)/t.Seconds(), name+"-scans/s")
	}
	b.ReportMetric(0, "ns/op") // the sum of both says nothing
	b.ReportMetric(float64(floor), "floor-ns")
	b.ReportMetric(float64(floor)*float64(b.N)/float64(took["large"]), "large-x-floor")
	b.ReportMetric(took["empty"].Seconds()/took["large"].Seconds(), "large/empty")
}

// work scans the next n steps by so many callers at once.
func (l *large) work(b *testing.B, callers, n int) {
	if steps := len(manySteps().Steps); l.turns+n > steps*len(l.marks) {
		b.Fatalf("the work has only %d steps: ask for less with -benchtime", steps*len(l.marks))
	}
	scanTogether(callers, l.turns, l.turns+n, func(i int) { l.scan(b, i) })
	l.turns += n
}

// BenchmarkGrowth is how much larger the file is after an event: of a scan of
// one part, and of a ticket that moves a hundred. The request and the answer
// of each command are kept too, so the second is much less.
func BenchmarkGrowth(b *testing.B) {
	shoptest.NeedSQLite(b, "the size of a file")
	for name, each := range map[string]int{"one part a scan": 1, "a ticket of a hundred": 100} {
		b.Run(name, func(b *testing.B) {
			dsn := shoptest.DSN(b)
			s, err := bench.Open(context.Background(), dsn, bench.Options{})
			require.NoError(b, err)
			defer func() { require.NoError(b, s.Close()) }()
			r, err := s.SaveRouting(context.Background(), manySteps())
			require.NoError(b, err)
			steps := len(r.Steps)
			job := importList(b, s, listOf((b.N/steps+1)*each), r.Key)
			marks := marksOf(job)
			if each > 1 {
				marks = ticketsOf(job)
			}
			before := fileSize(b, dsn)
			b.ResetTimer()
			for i := range b.N {
				_, err := s.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: marks[i%len(marks)],
					Station: "plane", Step: 1 + i/len(marks), By: "Ann"})
				require.NoError(b, err)
			}
			b.StopTimer()
			b.ReportMetric(float64(fileSize(b, dsn)-before)/float64(b.N*each), "bytes/event")
		})
	}
}

func ticketsOf(job bench.JobPieces) []string {
	var marks []string
	for _, l := range job.Lines {
		marks = append(marks, string(l.Ticket))
	}
	return marks
}

// fileSize is the size of a shop's file with all that waits to be moved there.
func fileSize(b *testing.B, dsn string) int64 {
	db, err := sql.Open("sqlite3", "file:"+dsn+"?vfs=pagesum&_busy_timeout=5000")
	require.NoError(b, err)
	defer db.Close()
	var busy, frames, moved, size int64
	require.NoError(b, db.QueryRow("PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &frames, &moved))
	require.Zero(b, busy)
	require.NoError(b, db.QueryRow("SELECT page_count * page_size FROM pragma_page_count, pragma_page_size").Scan(&size))
	return size
}
