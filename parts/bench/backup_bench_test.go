package bench_test

import (
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
)

// BenchmarkBackup backs up a shop with a million events while one scan comes
// every five milliseconds. "p99/quiet" is how long the slowest of a hundred
// scans takes meanwhile, by what it takes without a backup in the same run.
func BenchmarkBackup(b *testing.B) {
	l := openLarge(b, 100_000, 2000)
	folder, turn := b.TempDir(), 0
	paced := func(until <-chan struct{}) time.Duration {
		var took []time.Duration
		for tick := time.NewTicker(5 * time.Millisecond); ; {
			select {
			case <-until:
				slices.Sort(took)
				return took[len(took)*99/100]
			case <-tick.C:
			}
			start := time.Now()
			l.scan(b, turn)
			took, turn = append(took, time.Since(start)), turn+1
		}
	}
	for n := 0; b.Loop(); n++ {
		quiet := make(chan struct{})
		time.AfterFunc(3*time.Second, func() { close(quiet) })
		before := paced(quiet)
		done, start := make(chan struct{}), time.Now()
		go func() {
			_, err := l.Backup(b.Context(), filepath.Join(folder, time.Now().Format("150405.000")+".db"))
			require.NoError(b, err)
			close(done)
		}()
		during := paced(done)
		b.ReportMetric(time.Since(start).Seconds(), "s/backup")
		b.ReportMetric(float64(before.Microseconds()), "µs-p99-quiet")
		b.ReportMetric(float64(during)/float64(before), "p99/quiet")
	}
}

// BenchmarkLookOver opens a shop with a million events as a server does, which
// looks all of its file over first.
func BenchmarkLookOver(b *testing.B) {
	file := pastFile(b, 100_000)
	for b.Loop() {
		s, err := bench.Open(b.Context(), file, bench.Options{Alone: true})
		require.NoError(b, err)
		require.NoError(b, s.Close())
	}
}
