package server

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/access"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// BenchmarkScanHTTP scans through real HTTP into a real file, every answer
// durable. Beside it, in the same run, one small row a transaction goes into
// a bare file with the same pragmas: scans per durable commit says how much
// of what the disk can do is used.
func BenchmarkScanHTTP(b *testing.B) {
	for _, clients := range []int{1, 64} {
		b.Run(fmt.Sprintf("clients=%d", clients), func(b *testing.B) { benchmarkScans(b, clients) })
	}
}

func benchmarkScans(b *testing.B, clients int) {
	shop := shoptest.Open(b, shoptest.NewClock())
	shelves, steps := makeShelves(b, shop, max(1000, b.N/10))
	token, err := shop.AddToken(context.Background(), "tests", access.Scopes...)
	require.NoError(b, err)
	_, web := serve(b, shop, false)
	client := &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: clients}}
	defer client.CloseIdleConnections()

	commits := commitRate(b)
	var next atomic.Int64
	var wg sync.WaitGroup
	b.ResetTimer()
	for range clients {
		wg.Go(func() {
			for i := int(next.Add(1)) - 1; i < b.N; i = int(next.Add(1)) - 1 {
				scan := map[string]any{"id": shoptest.NewID(), "mark": shelves[i%len(shelves)].Part, "step": steps[i/len(shelves)], "override": true}
				if err := scanOverHTTP(client, web.URL, token, scan); err != nil {
					b.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
	b.StopTimer()
	scans := float64(b.N) / b.Elapsed().Seconds()
	b.ReportMetric(scans, "scans/s")
	b.ReportMetric(commits, "commits/s")
	b.ReportMetric(scans/commits, "scans/commit")
}

// scanOverHTTP sends a scan that must be recorded.
func scanOverHTTP(client *http.Client, address, token string, scan map[string]any) error {
	body, err := json.Marshal(scan)
	if err != nil {
		return err
	}
	req, err := http.NewRequest("POST", address+"/api/v1/scans", bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header.Set("Authorization", "Bearer "+token)
	resp, err := client.Do(req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	said, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK || !bytes.Contains(said, []byte(`"recorded"`)) {
		return fmt.Errorf("%d %s %w", resp.StatusCode, said, err)
	}
	return nil
}

// makeShelves gives n loose parts and the numbers of their steps of work.
func makeShelves(b *testing.B, shop *bench.Bench, n int) (shelves []parts.State, steps []int) {
	var list strings.Builder
	list.WriteString("qty,part,length,width,thickness,material\n")
	for line := 0; line*500 < n; line++ {
		fmt.Fprintf(&list, "%d,Shelf %d,30,10,3/4,white oak\n", min(500, n-line*500), line+1)
	}
	job := shoptest.ListJob(b, shop, "Tern Point shelves", list.String(), nil)
	for _, s := range job.States {
		if s.Kind == parts.Single {
			shelves = append(shelves, s)
		}
	}
	for i, step := range job.Routings[shelves[0].Steps].Steps {
		if !step.Wait() {
			steps = append(steps, parts.StepNumber(i, false))
		}
	}
	return shelves, steps
}

// commitRate is how many small durable transactions a second the disk takes,
// one after the other.
func commitRate(b *testing.B) float64 {
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(b.TempDir(), "bare.db")+"?_journal_mode=WAL&_synchronous=FULL&_txlock=immediate")
	require.NoError(b, err)
	defer db.Close()
	db.SetMaxOpenConns(1)
	_, err = db.Exec("CREATE TABLE rows (id INTEGER PRIMARY KEY, what TEXT NOT NULL)")
	require.NoError(b, err)
	n := 0
	start := time.Now()
	for time.Since(start) < time.Second {
		tx, err := db.Begin()
		require.NoError(b, err)
		_, err = tx.Exec("INSERT INTO rows (what) VALUES ('one small row')")
		require.NoError(b, err)
		require.NoError(b, tx.Commit())
		n++
	}
	return float64(n) / time.Since(start).Seconds()
}

// BenchmarkFirstPage draws the floor of a shop with 10,000 open parts.
func BenchmarkFirstPage(b *testing.B) {
	shop := shoptest.Open(b, shoptest.NewClock())
	shelves, _ := makeShelves(b, shop, 10_000)
	require.Len(b, shelves, 10_000)
	s, _ := serve(b, shop, false)
	for b.Loop() {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest("GET", "/", nil))
		require.Equal(b, 200, w.Code)
	}
}
