package bench_test

import (
	"context"
	"fmt"
	"runtime/debug"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// openBench opens a shop on the machine's own clock.
func openBench(b *testing.B) *bench.Bench {
	s, err := bench.Open(context.Background(), shoptest.DSN(b), bench.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, s.Close()) })
	return s
}

// listOf is a list of n parts in lines of a hundred.
func listOf(n int) string {
	var list strings.Builder
	list.WriteString("qty,part,length,width,thickness,material\n")
	for i := 1; n > 0; i++ {
		fmt.Fprintf(&list, "%d,Rail %d,11 3/4,2 1/4,3/4,white oak\n", min(n, 100), i)
		n -= 100
	}
	return list.String()
}

// importList makes a job of a list. key is the one of the steps of every
// line, "" for those that are guessed.
func importList(b *testing.B, s *bench.Bench, list, key string) bench.JobPieces {
	ctx := context.Background()
	table, err := cutlist.ReadText(list)
	require.NoError(b, err)
	picks := bench.Picks{Steps: map[int]string{}}
	for row := 2; key != "" && row <= strings.Count(list, "\n"); row++ {
		picks.Steps[row] = key
	}
	p, err := s.Preview(ctx, table, cutlist.Choices{}, picks)
	require.NoError(b, err)
	require.Empty(b, p.List.Troubles)
	job, err := s.MakeJob(ctx, shoptest.NewID(), "Benchmark", p)
	require.NoError(b, err)
	pieces, err := s.Job(ctx, job.Code)
	require.NoError(b, err)
	return pieces
}

// manySteps are sixteen steps without a wait.
func manySteps() parts.Routing {
	r := parts.Routing{Name: "Sixteen passes", For: parts.Single}
	for i := range 16 {
		r.Steps = append(r.Steps, parts.Step{Name: fmt.Sprintf("pass %d", i+1), Station: "plane"})
	}
	return r
}

// BenchmarkScanStore scans single parts, one step after the other, through
// the whole bench, with the garbage collected as seldom as the server does. The
// ids are made before, as phones make them.
func BenchmarkScanStore(b *testing.B) {
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	for _, callers := range []int{1, 64, 256} {
		b.Run(fmt.Sprintf("callers=%d", callers), func(b *testing.B) {
			s := openBench(b)
			r, err := s.SaveRouting(context.Background(), manySteps())
			require.NoError(b, err)
			marks := marksOf(importList(b, s, listOf(b.N/16+1), r.Key))
			ids := make([]parts.CommandID, b.N)
			for i := range ids {
				ids[i] = shoptest.NewID()
			}
			againstTheFloor(b, callers, func(i int) {
				_, err := s.Scan(context.Background(), bench.Request{ID: ids[i], Mark: marks[i%len(marks)], Station: "plane", Step: 1 + i/len(marks), By: "Ann"})
				if parts.AsProblem(err) == nil && err != nil { // two steps of one part may overtake each other
					b.Error(err)
				}
			})
		})
	}
}

// BenchmarkScanInALongLine scans parts of one line of 10,000: what a scan
// costs must not grow with the line.
func BenchmarkScanInALongLine(b *testing.B) {
	s := openBench(b)
	list := "qty,part,length,width,thickness,material\n" + "10000,Rail,11 3/4,2 1/4,3/4,white oak\n"
	r, err := s.SaveRouting(context.Background(), manySteps())
	require.NoError(b, err)
	marks := marksOf(importList(b, s, list, r.Key))
	againstTheFloor(b, 1, func(i int) {
		_, err := s.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: marks[i%len(marks)], Station: "plane", By: "Ann"})
		if parts.AsProblem(err) == nil && err != nil {
			b.Error(err)
		}
	})
}

// againstTheFloor calls scan b.N times, with 0, 1, 2 ..., from so many callers
// at once. By turns with that, some hundred scans at a time, it measures two
// floors, because a disk that is busy with something else is then as slow for
// all: "F-ns" is two frames written and synced, "commit-ns" one durable small
// row by one goroutine. "x-F" and "x-commit" are how many scans are saved in
// the time of one.
func againstTheFloor(b *testing.B, callers int, scan func(i int)) {
	floors := map[string]func(){"F": shoptest.Frames(b)}
	if shoptest.OnPostgres() {
		delete(floors, "F") // its log is elsewhere
	}
	floors["commit"] = shoptest.Commits(b)
	took := map[string]time.Duration{}
	const times = 50 // of each floor, each turn
	turns := 0
	floor := func() {
		turns++
		for name, once := range floors {
			took[name] += times * shoptest.Each(once, times)
		}
	}
	floor()
	b.ReportAllocs()
	b.ResetTimer()
	for from, each := 0, max(500, 32*callers); from < b.N; from += each {
		scanTogether(callers, from, min(from+each, b.N), scan)
		b.StopTimer()
		floor()
		b.StartTimer()
	}
	b.StopTimer()
	for name, t := range took {
		each := float64(t) / float64(times*turns)
		b.ReportMetric(each, name+"-ns")
		b.ReportMetric(each*float64(b.N)/float64(b.Elapsed()), "x-"+name)
	}
}

// scanTogether lets so many callers scan from, from+1 ... up to but not to.
func scanTogether(callers, from, to int, scan func(i int)) {
	var turn atomic.Int64
	turn.Store(int64(from))
	var all sync.WaitGroup
	for range callers {
		all.Go(func() {
			for i := int(turn.Add(1)) - 1; i < to; i = int(turn.Add(1)) - 1 {
				scan(i)
			}
		})
	}
	all.Wait()
}

func marksOf(job bench.JobPieces) []string {
	var marks []string
	for _, st := range job.States {
		if st.Kind == parts.Single {
			marks = append(marks, string(st.Part))
		}
	}
	return marks
}

// BenchmarkImport10000 makes a job of a list of 10,000 parts in a new file,
// opening it included. "rows/s" counts the parts.
func BenchmarkImport10000(b *testing.B) {
	list := listOf(10_000)
	b.ReportAllocs()
	for range b.N {
		importList(b, openBench(b), list, "")
	}
	b.ReportMetric(10_000*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkFloor10000 adds up a floor of 10,000 open parts.
func BenchmarkFloor10000(b *testing.B) {
	s := openBench(b)
	job := importList(b, s, listOf(10_000), "")
	for i, l := range job.Lines {
		if i%2 == 0 { // half of them have come some way and rest
			_, err := s.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: string(l.Ticket), Station: "rip", By: "Ann"})
			require.NoError(b, err)
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		board, err := s.Floor(context.Background())
		if err != nil || board.Jobs[0].Pieces != 10_000 {
			b.Fatal(err, board.Jobs)
		}
	}
}
