package store_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/url"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/shoptest"
	"benchtally/parts/store"
)

// lossy stands between a server and its database. When it is armed it breaks
// the next connection on which a commit is answered, and swallows the answer.
type lossy struct {
	armed atomic.Bool
	lost  atomic.Int64
}

func (l *lossy) listen(t *testing.T, to string) (at string) {
	door, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { door.Close() })
	go func() {
		for {
			in, err := door.Accept()
			if err != nil {
				return
			}
			out, err := net.Dial("tcp", to)
			if err != nil {
				in.Close()
				continue
			}
			go func() { io.Copy(out, in); out.Close() }()
			go func() { l.answer(in, out); in.Close(); out.Close() }()
		}
	}()
	return door.Addr().String()
}

// answer passes on what the database says. The tag of a commit is that of
// CommandComplete: https://www.postgresql.org/docs/15/protocol-message-formats.html
func (l *lossy) answer(in, out net.Conn) {
	buf := make([]byte, 64<<10)
	for {
		n, err := out.Read(buf)
		if bytes.Contains(buf[:n], []byte("COMMIT\x00")) && l.armed.CompareAndSwap(true, false) {
			l.lost.Add(1)
			return
		}
		if _, failed := in.Write(buf[:n]); failed != nil || err != nil {
			return
		}
	}
}

func TestACommitWithoutAnAnswerIsDoneOnce(t *testing.T) {
	needPostgres(t)
	dsn := shoptest.DSN(t)
	address, err := url.Parse(dsn)
	require.NoError(t, err)
	var wire lossy
	address.Host = wire.listen(t, address.Host)
	s := openShopIn(t, address.String())
	for i := range 10 {
		wire.armed.Store(true)
		require.NoError(t, s.AddReadings(ctx, "Ann", []store.Reading{{At: noon, Celsius: 19, Humidity: 40, Source: "sensor"}}))
		wire.armed.Store(true)
		a, err := s.bore(s.marks[i])
		require.NoError(t, err)
		assert.False(t, a.Repeat, "it gets the answer that was lost")
		assert.Equal(t, "1", fmt.Sprint(string(a.Said)))
	}
	assert.EqualValues(t, 20, wire.lost.Load())
	readings, err := s.LastReadings(ctx, 100)
	require.NoError(t, err)
	assert.Len(t, readings, 10)
	assert.Len(t, s.events(), 10+10)
	s.balanced()
}
