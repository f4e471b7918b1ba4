package store_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/url"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
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
	s, wire := openShopOverALossyWire(t)
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

func openShopOverALossyWire(t *testing.T) (*shop, *lossy) {
	t.Helper()
	needPostgres(t)
	address, err := url.Parse(shoptest.DSN(t))
	require.NoError(t, err)
	wire := new(lossy)
	address.Host = wire.listen(t, address.Host)
	return openShopIn(t, address.String()), wire
}

// The third scan in a row is decided before its transaction begins: see flight.
func TestAGroupOnItsWayIsDoneOnce(t *testing.T) {
	s, wire := openShopOverALossyWire(t)
	for _, mark := range s.marks {
		for hole := 1; hole <= 3; hole++ {
			wire.armed.Store(hole == 3)
			a, err := s.bore(mark)
			require.NoError(t, err)
			assert.False(t, a.Repeat, "it gets the answer that was lost")
			assert.Equal(t, fmt.Sprint(hole), string(a.Said))
		}
	}
	assert.EqualValues(t, 10, wire.lost.Load())
	assert.Len(t, s.events(), 10+30)
	s.balanced()
}

func TestManyGroupsOnTheirWayAreDoneOnce(t *testing.T) {
	s, wire := openShopOverALossyWire(t)
	var phones sync.WaitGroup
	for i, mark := range s.marks {
		phones.Go(func() {
			for hole := 1; hole <= 3; hole++ {
				if i%3 == hole-1 {
					wire.armed.Store(true)
				}
				a, err := s.bore(mark)
				assert.NoError(t, err)
				assert.False(t, a.Repeat)
				assert.Equal(t, fmt.Sprint(hole), string(a.Said))
			}
		})
	}
	phones.Wait()
	assert.Positive(t, wire.lost.Load())
	assert.Len(t, s.events(), 10+30)
	s.balanced()
}

func TestWhatWasDecidedAheadGivesWayToAnotherServer(t *testing.T) {
	needPostgres(t)
	s := openShop(t)
	other := &shop{t: t, dsn: s.dsn, clock: s.clock}
	other.Store = other.open()
	t.Cleanup(func() { require.NoError(t, other.Close()) })
	for _, mark := range s.marks[:6] {
		for _, with := range []*shop{s, s, other} { // the third is unseen by the first server
			_, err := with.bore(mark)
			require.NoError(t, err)
		}
		a, err := s.Change(ctx, seen(mark), func(v parts.View, _ int64) (store.Decision, error) {
			return store.Decision{Answer: func(store.After) any { return v.Subject.Next }}, nil
		})
		require.NoError(t, err)
		assert.Equal(t, "3", string(a.Said), "what the other server did counts")
	}
	s.balanced()
}

// seen is a command that only looks.
func seen(mark parts.ID) store.Command {
	c := command("look")
	c.Subject = mark
	return c
}
