package localname

import (
	"context"
	"net"
	"net/netip"
	"testing"
	"time"

	"github.com/pion/mdns/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"

	"benchtally/parts"
)

func TestRead(t *testing.T) {
	for text, want := range map[string]string{"benchtally.local": "benchtally.local", "Bench-2": "bench-2.local", " SHOP.LOCAL. ": "shop.local"} {
		got, err := Read(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got)
	}
	for _, text := range []string{"", ".", "shop.lan", "a.b.local", "under_score", "-x", "x-", "bänke", "two words", ".local"} {
		got, err := Read(text)
		assert.Equal(t, "local-name", parts.CodeOf(err), "%q: %q", text, got)
	}
}

// loopback is the interface that reaches this computer only.
func loopback(t *testing.T) net.Interface {
	all, err := net.Interfaces()
	require.NoError(t, err)
	for _, i := range all {
		if i.Flags&net.FlagLoopback != 0 && i.Flags&net.FlagUp != 0 {
			return i
		}
	}
	t.Skip("this machine has no loopback interface")
	return net.Interface{}
}

// query asks as a simple resolver does (RFC 6762, 6.7): from a port of its own,
// so that the answer comes back to it alone.
func query(t *testing.T, on net.Interface, name string, kind dnsmessage.Type) (dnsmessage.Message, bool) {
	t.Helper()
	c, err := net.ListenPacket("udp4", "127.0.0.1:0")
	require.NoError(t, err)
	defer c.Close()
	p := ipv4.NewPacketConn(c)
	require.NoError(t, p.SetMulticastInterface(&on))
	require.NoError(t, p.SetMulticastLoopback(true))
	ask := dnsmessage.Message{Header: dnsmessage.Header{ID: 4711}, Questions: []dnsmessage.Question{
		{Name: dnsmessage.MustNewName(name + "."), Type: kind, Class: dnsmessage.ClassINET}}}
	packed, err := ask.Pack()
	require.NoError(t, err)
	buf := make([]byte, 1500)
	for range 3 {
		if _, err := p.WriteTo(packed, nil, &net.UDPAddr{IP: net.IPv4(224, 0, 0, 251), Port: 5353}); err != nil {
			t.Skipf("this machine sends no multicast: %v", err)
		}
		require.NoError(t, c.SetReadDeadline(time.Now().Add(300*time.Millisecond)))
		n, _, err := c.ReadFrom(buf)
		if err != nil {
			continue
		}
		var answer dnsmessage.Message
		require.NoError(t, answer.Unpack(buf[:n]))
		return answer, true
	}
	return dnsmessage.Message{}, false
}

// A real question over the loopback interface gets the number of this computer.
func TestTheNameIsAnswered(t *testing.T) {
	lo := loopback(t)
	a, err := Open(t.Context(), "benchtally-test.local", []net.Interface{lo})
	if err != nil {
		t.Skipf("this machine has no multicast: %v", err)
	}
	answer, ok := query(t, lo, "BENCHTALLY-test.local", dnsmessage.TypeA)
	require.True(t, ok, "nobody answered")
	assert.True(t, answer.Response)
	assert.True(t, answer.Authoritative)
	assert.EqualValues(t, 4711, answer.ID, "a simple resolver knows its question by the number")
	require.Len(t, answer.Answers, 1)
	number, isA := answer.Answers[0].Body.(*dnsmessage.AResource)
	require.True(t, isA)
	assert.Equal(t, netip.MustParseAddr("127.0.0.1"), netip.AddrFrom4(number.A))
	_, ok = query(t, lo, "other-test.local", dnsmessage.TypeA)
	assert.False(t, ok, "a name that is not ours")
	_, ok = query(t, lo, "benchtally-test.local", dnsmessage.TypeTXT)
	assert.False(t, ok, "nothing but numbers")

	second, err := Open(t.Context(), "benchtally-test.local", []net.Interface{lo})
	require.NoError(t, err, "two servers on one computer may share a name")
	require.NoError(t, second.Close())
	require.NoError(t, a.Close())
	_, ok = query(t, lo, "benchtally-test.local", dnsmessage.TypeA)
	assert.False(t, ok, "it was closed")
}

// A name that somebody else has is not taken.
func TestANameThatIsTaken(t *testing.T) {
	lo := loopback(t)
	other, err := rival(lo)
	if err != nil {
		t.Skipf("this machine has no multicast: %v", err)
	}
	defer other.Close()
	if _, ok := query(t, lo, "taken-test.local", dnsmessage.TypeA); !ok {
		t.Skip("this machine carries no multicast")
	}
	_, err = Open(t.Context(), "taken-test.local", []net.Interface{lo})
	require.ErrorContains(t, err, "at 192.0.2.77, has the name taken-test.local")
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = Open(ended, "free-test.local", []net.Interface{lo})
	require.ErrorIs(t, err, context.Canceled)
}

func TestNoMulticast(t *testing.T) {
	_, err := Open(t.Context(), "benchtally-test.local", []net.Interface{})
	require.Error(t, err, "an interface is needed")
}

// rival is another computer with the name, at a number that is not ours.
func rival(on net.Interface) (*mdns.Conn, error) {
	return open([]net.Interface{on}, mdns.WithLocalNames("taken-test.local"), mdns.WithLocalAddress(net.IPv4(192, 0, 2, 77)))
}
