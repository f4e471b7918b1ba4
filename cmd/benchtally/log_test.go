package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestTheFormsOfTheLog(t *testing.T) {
	var out bytes.Buffer
	log := (&logging{form: "json"}).open(&out)
	log.Debug("a request")
	assert.Empty(t, out.String(), "a line for each request is for those who ask for it")
	log.Warn("slow request", "ms", 1200)
	var line map[string]any
	require.NoError(t, json.Unmarshal(out.Bytes(), &line))
	assert.Equal(t, 1200.0, line["ms"])

	out.Reset()
	log = (&logging{form: "text", all: true}).open(&out)
	log.Debug("a request")
	assert.Contains(t, out.String(), `level=DEBUG msg="a request"`)
	said := runs(t, "demo", "-log", "xml")
	assert.Equal(t, exitUsage, said.code)
	assert.Contains(t, said.err, "neither text nor json")
}

// listened is a server of the kind that serve runs, with a handler that must
// not be reached.
func listened(t *testing.T, patience time.Duration) string {
	t.Helper()
	web := newWeb(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { t.Error("answered") }), (&logging{form: "text"}).open(io.Discard), nil)
	if patience != 0 {
		web.ReadHeaderTimeout = patience
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go web.Serve(l)
	t.Cleanup(func() { web.Close() })
	return l.Addr().String()
}

// Whoever sends the head of a request a byte at a time does not keep a
// connection.
func TestAHeadThatNeverEnds(t *testing.T) {
	require.Equal(t, 10*time.Second, newWeb(nil, (&logging{form: "text"}).open(io.Discard), nil).ReadHeaderTimeout)
	conn, err := net.Dial("tcp", listened(t, 200*time.Millisecond))
	require.NoError(t, err)
	defer conn.Close()
	stop := make(chan struct{})
	defer close(stop)
	go func() {
		fmt.Fprint(conn, "GET / HTTP/1.1\r\nHost: x\r\n")
		for {
			select {
			case <-stop:
				return
			case <-time.After(20 * time.Millisecond):
				if _, err := fmt.Fprint(conn, "a"); err != nil {
					return
				}
			}
		}
	}()
	conn.SetReadDeadline(time.Now().Add(20 * time.Second))
	_, err = io.ReadAll(conn)
	assert.NotErrorIs(t, err, os.ErrDeadlineExceeded, "the server closes the connection")
}

func TestAHeadThatIsTooLarge(t *testing.T) {
	conn, err := net.Dial("tcp", listened(t, 0))
	require.NoError(t, err)
	defer conn.Close()
	go fmt.Fprintf(conn, "GET / HTTP/1.1\r\nHost: x\r\nCookie: %s\r\n\r\n", strings.Repeat("x", 128<<10))
	conn.SetReadDeadline(time.Now().Add(20 * time.Second))
	head := make([]byte, 12)
	_, err = io.ReadFull(conn, head)
	require.NoError(t, err)
	assert.Equal(t, "HTTP/1.1 431", string(head))
}
