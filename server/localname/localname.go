// Package localname answers for a name on the shop's network by multicast DNS
// (RFC 6762), so that phones find the server whatever number the router gives
// it. It owns the sockets of that protocol and nothing else: whoever opens a
// name closes it, and opens it again when the numbers of this computer change.
package localname

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"slices"
	"strings"
	"time"

	"github.com/pion/logging"
	"github.com/pion/mdns/v2"
	"golang.org/x/net/dns/dnsmessage"
	"golang.org/x/net/ipv4"
	"golang.org/x/net/ipv6"

	"benchtally/parts"
)

// patience is how long another computer has to say that the name is its own
// (RFC 6762, 8.1: three questions, a quarter of a second apart).
const (
	patience = 750 * time.Millisecond
	pause    = 250 * time.Millisecond
)

// Read gives a name as it is answered for: lower case, ending in .local, which
// is the only domain that multicast DNS serves.
func Read(text string) (string, error) {
	name := strings.TrimSuffix(strings.ToLower(strings.TrimSpace(text)), ".")
	if !strings.Contains(name, ".") {
		name += ".local"
	}
	first, domain, _ := strings.Cut(name, ".")
	if domain != "local" || first == "" || len(first) > 63 || strings.HasPrefix(first, "-") || strings.HasSuffix(first, "-") ||
		strings.Trim(first, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return "", parts.Problemf(parts.Invalid, "local-name", "%q is not a name for this network.", text).
			Next("Use letters, digits and hyphens and end in .local, such as benchtally.local.")
	}
	return name, nil
}

// Answers is a name that is being answered for.
type Answers struct{ conn *mdns.Conn }

// Open answers for a name on the given interfaces, nil for all of this
// computer, until it is closed. A network without multicast is an error, and
// so is another computer that has the name.
func Open(ctx context.Context, name string, on []net.Interface) (*Answers, error) {
	if other, err := asked(ctx, name, on); err != nil {
		return nil, err
	} else if other.IsValid() && !mine(other) {
		return nil, fmt.Errorf("another computer on this network, at %s, has the name %s", other, name)
	}
	conn, err := open(on, mdns.WithLocalNames(name), mdns.WithRecordTypes(dnsmessage.TypeA, dnsmessage.TypeAAAA))
	if err != nil {
		return nil, err
	}
	return &Answers{conn}, nil
}

// Close stops answering.
func (a *Answers) Close() error { return a.conn.Close() }

// asked gives the number that somebody answers for a name with, none when
// nobody answers.
func asked(ctx context.Context, name string, on []net.Interface) (netip.Addr, error) {
	conn, err := open(on, mdns.WithQueryInterval(pause))
	if err != nil {
		return netip.Addr{}, err
	}
	defer conn.Close()
	short, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	_, number, err := conn.QueryAddr(short, name)
	if err != nil && short.Err() == nil {
		return netip.Addr{}, fmt.Errorf("ask who has the name %s: %w", name, err)
	}
	return number, ctx.Err()
}

// mine reports whether a number is one of this computer's.
func mine(number netip.Addr) bool {
	all, _ := net.InterfaceAddrs()
	return slices.ContainsFunc(all, func(a net.Addr) bool {
		p, err := netip.ParsePrefix(a.String())
		return err == nil && p.Addr().WithZone("") == number.Unmap().WithZone("")
	})
}

// open joins the group of the protocol over IPv4, and over IPv6 where there is
// any. The port is shared with whatever else on this computer speaks it.
func open(on []net.Interface, options ...mdns.ServerOption) (*mdns.Conn, error) {
	four, err4 := listen("udp4", mdns.DefaultAddressIPv4)
	six, err6 := listen("udp6", mdns.DefaultAddressIPv6)
	var v4 *ipv4.PacketConn
	var v6 *ipv6.PacketConn
	if err4 == nil {
		v4 = ipv4.NewPacketConn(four)
	}
	if err6 == nil {
		v6 = ipv6.NewPacketConn(six)
	}
	if v4 == nil && v6 == nil {
		return nil, fmt.Errorf("listen for multicast DNS: %w", errors.Join(err4, err6))
	}
	quiet := &logging.DefaultLoggerFactory{Writer: io.Discard, DefaultLogLevel: logging.LogLevelDisabled}
	options = append(options, mdns.WithLoggerFactory(quiet), mdns.WithCacheRefresh(false))
	if on != nil {
		options = append(options, mdns.WithInterfaces(on...), mdns.WithIncludeLoopback(true))
	}
	conn, err := mdns.NewServer(v4, v6, options...)
	if err != nil {
		if v4 != nil {
			v4.Close()
		}
		if v6 != nil {
			v6.Close()
		}
		return nil, fmt.Errorf("use multicast DNS: %w", err)
	}
	return conn, nil
}

func listen(network, address string) (*net.UDPConn, error) {
	at, err := net.ResolveUDPAddr(network, address)
	if err != nil {
		return nil, err
	}
	return net.ListenUDP(network, at)
}
