package server

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"
	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"
)

// metrics counts what a server does, in the text format of Prometheus. Labels
// are patterns of addresses, methods, statuses and outcomes: never a mark, a
// name or anything else that a person wrote.
type metrics struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	seconds  *prometheus.HistogramVec
}

func newMetrics(s *Server) *metrics {
	m := &metrics{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{
			Name: "benchtally_requests_total", Help: "Requests that were answered, live pages when they ended."}, []string{"method", "address", "status"}),
		seconds: prometheus.NewHistogramVec(prometheus.HistogramOpts{
			Name: "benchtally_request_seconds", Help: "Time to answer a request, live pages left out.",
			Buckets: []float64{.005, .02, .1, .5, 1, 5, 30}}, []string{"address"}),
	}
	gauge := func(name, help string, value func() float64) {
		m.registry.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, value))
	}
	gauge("benchtally_live_pages", "Pages that are kept up to date now.", func() float64 { return float64(s.live.watching()) })
	gauge("benchtally_healthy", "1 while the shop can be read and saved, else 0.", func() float64 {
		if s.health(context.Background()) != nil {
			return 0
		}
		return 1
	})
	m.registry.MustRegister(m.requests, m.seconds, &tallied{s}, collectors.NewGoCollector(),
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// answered counts one request.
func (m *metrics) answered(c *gin.Context, took time.Duration) {
	address := c.FullPath()
	if address == "" {
		address = "none"
	}
	m.requests.WithLabelValues(method(c), address, strconv.Itoa(c.Writer.Status())).Inc()
	if !isStream(c) {
		m.seconds.WithLabelValues(address).Observe(took.Seconds())
	}
}

// method is the method of a request, if it is one that the server takes:
// anybody may invent others, and each would be kept.
func method(c *gin.Context) string {
	switch c.Request.Method {
	case http.MethodGet, http.MethodPost:
		return c.Request.Method
	}
	return "other"
}

// tallied gives what the shop's writer has counted.
type tallied struct{ server *Server }

var (
	commandsTotal = prometheus.NewDesc("benchtally_commands_total", "Scans and other deeds since the start, by what became of them.", []string{"outcome"}, nil)
	commitSize    = prometheus.NewDesc("benchtally_commit_size", "Scans and other deeds that were saved by one commit.", nil, nil)
	commitSeconds = prometheus.NewDesc("benchtally_commit_seconds", "Time to decide what is saved by one commit, and to save it.", nil, nil)
	waitingNow    = prometheus.NewDesc("benchtally_writer_waiting", "What waits to be saved now.", nil, nil)
)

func (t *tallied) Describe(out chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{commandsTotal, commitSize, commitSeconds, waitingNow} {
		out <- d
	}
}

func (t *tallied) Collect(out chan<- prometheus.Metric) {
	tally := t.server.bench.Tally()
	for outcome, n := range tally.Outcomes {
		out <- prometheus.MustNewConstMetric(commandsTotal, prometheus.CounterValue, float64(n), outcome)
	}
	out <- prometheus.MustNewConstHistogram(commitSize, tally.Groups.Count, tally.Groups.Sum, tally.Groups.UpTo)
	out <- prometheus.MustNewConstHistogram(commitSeconds, tally.Seconds.Count, tally.Seconds.Sum, tally.Seconds.UpTo)
	out <- prometheus.MustNewConstMetric(waitingNow, prometheus.GaugeValue, float64(tally.Waiting))
}

// showMetrics sends what was counted.
func (s *Server) showMetrics() gin.HandlerFunc {
	h := promhttp.HandlerFor(s.metrics.registry, promhttp.HandlerOpts{})
	return gin.WrapH(h)
}
