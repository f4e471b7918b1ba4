package server

import (
	"crypto/rand"
	"log/slog"
	"net"
	"net/http"
	"regexp"
	"strings"
	"time"

	"github.com/gin-gonic/gin"
)

// slow is after how long an answer is a thing to look at.
const slow = time.Second

// followed gives a request the number by which the log, the answer and the
// person who saw it name it, and writes down how it went. Only what stands
// here and in the faults is ever logged: no query, no form, no name.
func (s *Server) followed(c *gin.Context) {
	id := requestID(c.Request)
	c.Header(numberHeader, id)
	start := time.Now()
	c.Next()
	took := time.Since(start)
	s.metrics.answered(c, took)
	level, what := slog.LevelDebug, "request"
	if took > slow && !isStream(c) {
		level, what = slog.LevelWarn, "slow request"
	}
	if !s.log.Enabled(c.Request.Context(), level) {
		return
	}
	s.logOf(c).Log(c.Request.Context(), level, what, "status", c.Writer.Status(), "bytes", max(0, c.Writer.Size()), "ms", took.Milliseconds())
}

// numberHeader has the number of a request, in its answer too.
const numberHeader = "X-Request-Id"

// numberOf is the number of a request.
func numberOf(c *gin.Context) string { return c.Writer.Header().Get(numberHeader) }

// proxyNumber is a number that another server on this computer may have given
// the request: anything else could write what it likes into the log.
var proxyNumber = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]{7,63}$`)

// requestID makes the number of a request. Ten letters and digits are told
// apart by ear, and 50 bits are enough for a log.
func requestID(r *http.Request) string {
	if sent := r.Header.Get(numberHeader); proxyNumber.MatchString(sent) {
		if host, _, _ := net.SplitHostPort(r.RemoteAddr); net.ParseIP(host).IsLoopback() {
			return sent
		}
	}
	return rand.Text()[:10]
}

// logOf is the log of one request.
func (s *Server) logOf(c *gin.Context) *slog.Logger {
	return s.log.With("request", numberOf(c), "method", c.Request.Method, "at", loggedPath(c))
}

// shownValues are the parts of addresses that say what a request was about,
// and are neither names nor keys to anything. A job has a code; what lets a
// phone in is called that too, and is a secret.
var shownValues = []string{":mark", ":second", "/jobs/:code", ":order", ":number", ":station", ":command"}

// loggedPath is the pattern of the address with the values that may be seen.
func loggedPath(c *gin.Context) string {
	path := c.FullPath()
	for _, shown := range shownValues {
		before, name, _ := strings.Cut(shown, ":")
		if v := c.Param(name); v != "" {
			path = strings.Replace(path, shown, before+v[:min(len(v), 80)], 1)
		}
	}
	return path
}

// limits are how long things may take.
type limits struct {
	usual  time.Duration // most answers
	long   time.Duration // lists, sheets and pictures
	moment time.Duration // one message of a live page
	after  time.Duration // for the answer to arrive
}

var usualLimits = limits{usual: 30 * time.Second, long: 2 * time.Minute, moment: 30 * time.Second, after: time.Minute}

// longOnes are the ends of addresses whose answer takes longer on a small
// computer, or whose request does on a weak network.
var longOnes = []string{".pdf", "/list", "/list/preview", "/lists", "/photos", "/scan/photo", "/samples/:number"}

// bounded gives a request its time: to arrive, to be answered, and for the
// answer to be taken. A live page ends when nobody takes its messages.
func (s *Server) bounded(c *gin.Context) {
	c.Request.Body = http.MaxBytesReader(c.Writer, c.Request.Body, mostUpload)
	if isStream(c) {
		c.Next()
		return
	}
	takes := s.limits.usual
	for _, end := range longOnes {
		if strings.HasSuffix(c.FullPath(), end) {
			takes = s.limits.long
		}
	}
	s.allow(c, takes)
	ctx := newDeadline(c.Request.Context(), time.Now().Add(takes))
	defer ctx.end()
	c.Request = c.Request.WithContext(ctx)
	c.Next()
}

// allow sets the deadlines of the connection. Those who speak through
// something without deadlines, as tests do, have none.
func (s *Server) allow(c *gin.Context, d time.Duration) {
	conn, now := http.NewResponseController(c.Writer), time.Now()
	if c.Request.ContentLength != 0 { // without a body it would cut the watch for the phone's hanging up
		conn.SetReadDeadline(now.Add(d))
	}
	conn.SetWriteDeadline(now.Add(d + s.limits.after))
}

func isStream(c *gin.Context) bool { return strings.HasSuffix(c.FullPath(), "/stream") }
