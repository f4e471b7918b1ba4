package server

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"math"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// wetShop is a shop with many parts that were coated at noon and readings, one
// a minute before and since.
func wetShop(b *testing.B, pieces, readings int) (*bench.Bench, *shoptest.Clock, *httptest.Server) {
	b.Helper()
	ctx, clock := context.Background(), shoptest.NewClock()
	shop, err := bench.Open(ctx, shoptest.DSN(b), bench.Options{Clock: clock.Now})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, shop.Close()) })
	var list strings.Builder
	list.WriteString("qty,part,length,width,thickness,material\n")
	for i := range pieces / 100 {
		fmt.Fprintf(&list, "100,Slat %d,11 3/4,2 1/4,3/4,white oak\n", i+1)
	}
	job := shoptest.ListJob(b, shop, "Benchmark", list.String(), nil)
	for sent := 0; sent < readings; sent += 10_000 {
		var some []bench.Reading
		for i := sent; i < min(readings, sent+10_000); i++ {
			day := float64(i) / 1440 * 2 * math.Pi
			some = append(some, bench.Reading{At: shoptest.Noon.Add(time.Duration(60-i) * time.Minute), Celsius: 18 + 4*math.Cos(day), Humidity: 55 + 10*math.Sin(day)})
		}
		clock.Set(shoptest.Noon.Add(time.Hour))
		_, err := shop.AddReadings(ctx, "", bench.FromSensor, some)
		require.NoError(b, err)
	}
	for i, l := range job.Lines {
		a, err := shop.Scan(ctx, bench.Request{ID: shoptest.NewID(), Mark: string(l.Ticket), Station: "topcoat", Count: l.Quantity, Override: true,
			At: shoptest.Noon.Add(time.Duration(i) * time.Minute)})
		require.NoError(b, err)
		require.Equal(b, "recorded", a.Outcome)
	}
	s, err := New(Config{Bench: shop, Log: slog.New(slog.NewTextHandler(io.Discard, nil)), Demo: true})
	require.NoError(b, err)
	h := httptest.NewServer(s)
	b.Cleanup(func() { s.Close(); h.Close() })
	return shop, clock, h
}

func fetched(b *testing.B, address string) int {
	b.Helper()
	res, err := http.Get(address)
	require.NoError(b, err)
	defer res.Body.Close()
	n, err := io.Copy(io.Discard, res.Body)
	require.NoError(b, err)
	require.Equal(b, 200, res.StatusCode)
	return int(n)
}

// BenchmarkDrying asks for what is wet, as a page and for a program, with ever
// more readings.
func BenchmarkDrying(b *testing.B) {
	for _, readings := range []int{100, 1_000, 10_000, 100_000} {
		_, _, h := wetShop(b, 5_000, readings)
		for _, path := range []string{"/drying", "/drying?by=place", "/api/v1/drying", "/drying.ics", "/"} {
			b.Run(fmt.Sprintf("%s/wet=5000/readings=%d", strings.ReplaceAll(path, "/", "_"), readings), func(b *testing.B) {
				fetched(b, h.URL+path)
				n := 0
				for b.Loop() {
					n = fetched(b, h.URL+path)
				}
				b.ReportMetric(float64(n), "bytes")
			})
		}
	}
}

// BenchmarkDryingLive puts in a reading and waits until each of 200 open pages
// has the new picture. A fifth of a second of it is what the server waits to
// gather changes.
func BenchmarkDryingLive(b *testing.B) {
	shop, clock, h := wetShop(b, 5_000, 10_000)
	var came sync.WaitGroup
	var all sync.WaitGroup
	ctx, stop := context.WithCancel(context.Background())
	came.Add(200)
	for range 200 {
		all.Add(1)
		go func() {
			defer all.Done()
			req, _ := http.NewRequestWithContext(ctx, "GET", h.URL+"/drying/stream", nil)
			res, err := http.DefaultClient.Do(req)
			if err != nil {
				return
			}
			defer res.Body.Close()
			buf, tail := make([]byte, 64<<10), ""
			for {
				n, err := res.Body.Read(buf)
				if err != nil {
					return
				}
				tail += string(buf[:n])
				for {
					i := strings.Index(tail, "\n\n")
					if i < 0 {
						break
					}
					tail = tail[i+2:]
					came.Done()
				}
			}
		}()
	}
	came.Wait()
	for b.Loop() {
		came.Add(200)
		clock.Pass(time.Minute)
		_, err := shop.AddReadings(context.Background(), "", bench.FromSensor, []bench.Reading{{Celsius: 17, Humidity: 55}})
		require.NoError(b, err)
		came.Wait()
	}
	stop()
	all.Wait()
}

// BenchmarkScanJudged scans what waited for a product, against many readings:
// the scan judges the wait of its own part only.
func BenchmarkScanJudged(b *testing.B) {
	for _, readings := range []int{100, 100_000} {
		b.Run(fmt.Sprintf("readings=%d", readings), func(b *testing.B) {
			shop, clock, _ := wetShop(b, 100, readings)
			clock.Set(shoptest.Noon.Add(2 * time.Hour))
			pieces, err := shop.Job(context.Background(), "BENCHMARK")
			require.NoError(b, err)
			mark := ""
			for _, st := range pieces.States {
				if st.Kind == parts.Single {
					mark = string(st.Part)
				}
			}
			for b.Loop() {
				_, err := shop.Scan(context.Background(), bench.Request{ID: shoptest.NewID(), Mark: mark, Station: "topcoat"})
				require.Equal(b, "waiting", parts.CodeOf(err))
			}
		})
	}
}
