package server

import (
	"context"
	"fmt"
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// BenchmarkTicketOf500HTTP scans a ticket that stands for 500 parts, through
// HTTP into a real file: one answer, 500 events, one commit. "x-floor" is how
// many such scans are saved in the time of one bare durable commit.
func BenchmarkTicketOf500HTTP(b *testing.B) {
	const each = 500
	shop := shoptest.Open(b, shoptest.NewClock())
	token, err := shop.AddToken(context.Background(), "tests", access.Scopes...)
	require.NoError(b, err)
	_, web := serve(b, shop, false)
	commit := shoptest.Commits(b)
	floor := shoptest.Each(commit, 300)
	var mark parts.ID
	var steps []int
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		if len(steps) == 0 {
			b.StopTimer()
			mark, steps = ticketOf(b, shop, each)
			b.StartTimer()
		}
		scan := map[string]any{"id": shoptest.NewID(), "mark": mark, "step": steps[0], "count": each, "override": true}
		require.NoError(b, scanOverHTTP(http.DefaultClient, web.URL, token, scan))
		steps = steps[1:]
	}
	b.StopTimer()
	http.DefaultClient.CloseIdleConnections()
	floor = (floor + shoptest.Each(commit, 300)) / 2
	b.ReportMetric(float64(b.N*each)/b.Elapsed().Seconds(), "parts/s")
	b.ReportMetric(float64(floor), "floor-ns")
	b.ReportMetric(float64(floor)*float64(b.N)/float64(b.Elapsed()), "x-floor")
}

// ticketOf makes a job of n equal parts; it gives the mark of their ticket and
// the numbers of their steps of work.
func ticketOf(b *testing.B, shop *bench.Bench, n int) (parts.ID, []int) {
	job := shoptest.ListJob(b, shop, "Tern Point shelves", fmt.Sprintf("qty,part,length,width,thickness,material\n%d,Shelf,30,10,3/4,white oak\n", n), nil)
	var steps []int
	for i, step := range job.Routings[job.Lines[0].Steps].Steps {
		if !step.Wait() {
			steps = append(steps, parts.StepNumber(i, false))
		}
	}
	return job.Lines[0].Ticket, steps
}
