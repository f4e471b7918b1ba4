package bench_test

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
)

// BenchmarkBackup backs up a shop with a million events, again and again, while
// a scan comes every five milliseconds, and between two backups for three
// seconds without one. "p99/quiet" is how long the slowest of a hundred scans
// takes while the backup runs, by what it takes in the quiet before it;
// "worst-ms" is the slowest scan of all. Each is the median of the backups.
func BenchmarkBackup(b *testing.B) {
	l := openLarge(b, 100_000, 2000)
	folder, turn := b.TempDir(), 0
	paced := func(until <-chan struct{}) (took []time.Duration) {
		tick := time.NewTicker(5 * time.Millisecond)
		defer tick.Stop()
		for {
			select {
			case <-until:
				slices.Sort(took)
				return took
			case <-tick.C:
			}
			start := time.Now()
			l.scan(b, turn)
			took, turn = append(took, time.Since(start)), turn+1
		}
	}
	p99 := func(took []time.Duration) float64 { return float64(took[len(took)*99/100].Microseconds()) / 1000 }
	all := map[string][]float64{}
	for b.Loop() {
		quiet := make(chan struct{})
		time.AfterFunc(3*time.Second, func() { close(quiet) })
		before := paced(quiet)
		done, start := make(chan struct{}), time.Now()
		go func() {
			defer close(done)
			to := filepath.Join(folder, "copy.db")
			_, err := l.Backup(b.Context(), to)
			assert.NoError(b, errors.Join(err, os.Remove(to)))
		}()
		during := paced(done)
		for unit, v := range map[string]float64{
			"s/backup": time.Since(start).Seconds(), "ms-p99-quiet": p99(before), "ms-p99": p99(during), "p99/quiet": p99(during) / p99(before),
			"worst-ms": float64(during[len(during)-1].Milliseconds()),
		} {
			all[unit] = append(all[unit], v)
		}
	}
	for unit, of := range all {
		slices.Sort(of)
		b.ReportMetric(of[len(of)/2], unit)
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
