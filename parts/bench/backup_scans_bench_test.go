package bench_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkScanDuringBackup scans two hundred parts a second, one after the
// other, in a shop with a million events: while nothing else goes on, and while
// it is backed up, by turns. "backup/quiet" is how many times as long the
// slowest hundredth of the scans took then. A turn takes some ten seconds: ask
// for -benchtime 3x.
func BenchmarkScanDuringBackup(b *testing.B) {
	l := openLarge(b, 100_000, 2000)
	var quiet, busy []time.Duration
	var lasted time.Duration
	for i := range b.N {
		done := make(chan struct{})
		start := time.Now()
		go func() {
			defer close(done)
			_, err := l.Backup(context.Background(), filepath.Join(b.TempDir(), fmt.Sprintf("copy-%d.db", i)))
			if err != nil {
				b.Error(err)
			}
		}()
		busy = append(busy, l.pacedUntil(b, done)...)
		took := time.Since(start)
		lasted += took
		over := make(chan struct{})
		time.AfterFunc(took, func() { close(over) })
		quiet = append(quiet, l.pacedUntil(b, over)...)
	}
	ms := func(all []time.Duration, hundredth int) float64 {
		slices.Sort(all)
		return all[len(all)*hundredth/100].Seconds() * 1e3
	}
	require.NotEmpty(b, quiet)
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(ms(quiet, 50), "quiet-p50-ms")
	b.ReportMetric(ms(quiet, 99), "quiet-p99-ms")
	b.ReportMetric(ms(busy, 50), "backup-p50-ms")
	b.ReportMetric(ms(busy, 99), "backup-p99-ms")
	b.ReportMetric(ms(busy, 99)/ms(quiet, 99), "backup/quiet")
	b.ReportMetric(lasted.Seconds()/float64(b.N), "backup-s")
}

// pacedUntil scans two hundred times a second until done, and gives how long
// each took.
func (l *large) pacedUntil(b *testing.B, done <-chan struct{}) (took []time.Duration) {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for {
		select {
		case <-done:
			return took
		case <-tick.C:
			start := time.Now()
			l.work(b, 1, 1)
			took = append(took, time.Since(start))
		}
	}
}
