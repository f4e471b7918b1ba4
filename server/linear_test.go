package server

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/anishathalye/porcupine"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
	"benchtally/parts/shoptest"
)

// How many phones quarrel about how many parts, and how often each asks. With
// one reading of every part at the end that is less than 500 requests.
const (
	phones   = 16
	boards   = 8
	requests = 30
)

// Many phones at once must hear what they would have heard had they asked one
// after the other, in an order that agrees with the time: linearizability, as
// Herlihy and Wing define it (ACM TOPLAS 12(3), 1990). The judge is the
// porcupine checker.
func TestManyPhonesAreLikeOneAfterTheOther(t *testing.T) {
	floor := openFloor(t)
	var all sync.WaitGroup
	for n := range phones {
		all.Go(func() { floor.phone(n).quarrel() })
	}
	all.Wait()
	last := floor.phone(phones)
	for _, mark := range floor.marks {
		last.ask(asked{verb: "log", mark: mark}, false)
	}
	require.False(t, t.Failed(), "a phone heard what no model knows")
	require.LessOrEqual(t, len(floor.history), 500)
	cut := 0
	for _, op := range floor.history {
		if op.Output.(heard).unknown {
			cut++
		}
	}
	t.Logf("%d requests, %d of them cut off for good", len(floor.history), cut)
	result, info := linear(floor.history)
	if result != porcupine.Ok {
		picture := filepath.Join(t.ArtifactDir(), "history.html")
		require.NoError(t, porcupine.VisualizePath(boardModel, info, picture))
		t.Logf("the history is drawn in %s; keep it with -artifacts", picture)
	}
	require.Equal(t, porcupine.Ok, result)
}

// quarrelled is a shop with parts that all phones are about.
type quarrelled struct {
	*testing.T
	url   string
	start time.Time
	marks []string
	http  *http.Client

	mu      sync.Mutex
	history []porcupine.Operation
	ids     map[string][]string // of each part: requests that were recorded, or may have been
}

func openFloor(t *testing.T) *quarrelled {
	shop := shoptest.Open(t, shoptest.NewClock())
	s, err := New(Config{Bench: shop, Log: slog.New(slog.NewTextHandler(hangUps{t}, &slog.HandlerOptions{Level: slog.LevelError})), Demo: true})
	require.NoError(t, err)
	web := httptest.NewServer(s)
	f := &quarrelled{T: t, url: web.URL + "/api/v1/", start: time.Now(), ids: map[string][]string{},
		http: &http.Client{Transport: &http.Transport{MaxIdleConnsPerHost: phones}}}
	t.Cleanup(func() { f.http.CloseIdleConnections(); s.Close(); web.Close() })
	f.marks = boardMarks(t, shop)
	return f
}

// hangUps fails a test whose server logs a fault; a phone that hung up is none.
type hangUps struct{ testing.TB }

func (h hangUps) Write(line []byte) (int, error) {
	if !bytes.Contains(line, []byte(context.Canceled.Error())) {
		h.Errorf("the server logged: %s", line)
	}
	return len(line), nil
}

// boardMarks makes a job of parts that follow boardSteps.
func boardMarks(t *testing.T, shop *bench.Bench) (marks []string) {
	ctx := context.Background()
	r, err := shop.SaveRouting(ctx, boardSteps)
	require.NoError(t, err)
	table, err := cutlist.ReadText(fmt.Sprintf("qty,part,length,width,thickness\n%d,Bench slat,48,3,1\n", boards))
	require.NoError(t, err)
	p, err := shop.Preview(ctx, table, cutlist.Choices{}, bench.Picks{Steps: map[int]string{2: r.Key}})
	require.NoError(t, err)
	job, err := shop.MakeJob(ctx, shoptest.NewID(), "Tern Point benches", p)
	require.NoError(t, err)
	pieces, err := shop.Job(ctx, job.Code)
	require.NoError(t, err)
	for _, s := range pieces.States {
		if s.Kind == parts.Single {
			marks = append(marks, string(s.Part))
		}
	}
	require.Len(t, marks, boards)
	return marks
}
