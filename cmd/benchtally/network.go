package main

import (
	"fmt"
	"net"
	"net/netip"
	"os"
	"slices"
	"strings"

	"benchtally/server/localname"
)

// usualName is the name that the server answers to on the shop's network.
const usualName = "benchtally.local"

// network is what a command line says of how the server is reached.
type network struct {
	addr, https, cert, key, name string
	host                         string // of addr
	onlyHTTPS                    bool
}

// network adds the flags that say so.
func (t *terminal) network() *network {
	n := &network{}
	t.StringVar(&n.addr, "addr", ":8080", "`HOST:PORT` to listen on; without a host, the whole network")
	t.StringVar(&n.https, "https", "", "`HOST:PORT` to listen on for HTTPS too, such as :8443: phones lend a page the camera only there")
	t.BoolVar(&n.onlyHTTPS, "only-https", false, "let plain HTTP only lead to HTTPS")
	t.StringVar(&n.cert, "cert", "", "a certificate of your own for -https: a PEM `FILE` with those of its authorities")
	t.StringVar(&n.key, "key", "", "the key of -cert, a PEM `FILE`")
	t.StringVar(&n.name, "name", usualName, "the `NAME` that this computer answers to on the shop's network; -name= for none")
	return n
}

// check finds out what does not go together.
func (n *network) check() error {
	var err error
	if n.host, err = hostOf("-addr", n.addr); err != nil {
		return err
	}
	switch {
	case (n.cert == "") != (n.key == ""):
		return usageError("-cert and -key go together")
	case n.onlyHTTPS && n.https == "":
		return usageError("-only-https needs HTTPS: say -https :8443 too")
	case n.cert != "" && n.https == "":
		return usageError("-cert is for HTTPS: say -https :8443 too")
	}
	if n.https != "" {
		if _, err := hostOf("-https", n.https); err != nil {
			return err
		}
	}
	if n.name != "" {
		n.name, err = localname.Read(n.name)
	}
	return err
}

// hostOf gives the host of HOST:PORT, which a flag said.
func hostOf(flag, addr string) (string, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return "", usageError(fmt.Sprintf("%s %s is not HOST:PORT, such as :8080 or 127.0.0.1:8080", flag, addr))
	}
	return host, nil
}

// isAlone reports whether a host that is listened on is this computer only.
func isAlone(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// numbersAt are the numbers by which phones reach a server that listens on a
// host.
func numbersAt(host string) []netip.Addr {
	ip, err := netip.ParseAddr(host)
	switch {
	case isAlone(host):
		return nil
	case err == nil && !ip.IsUnspecified():
		return []netip.Addr{ip.Unmap()}
	}
	return lanNumbers()
}

// lanNumbers are the private IPv4 addresses of this computer. The one by which
// it reaches the rest of the world comes first: others may be those of
// networks inside it.
func lanNumbers() []netip.Addr {
	out := slices.DeleteFunc(ownNumbers(), func(ip netip.Addr) bool { return !ip.Is4() || !ip.IsPrivate() })
	usual := outward()
	slices.SortStableFunc(out, func(a, b netip.Addr) int {
		switch usual {
		case a:
			return -1
		case b:
			return 1
		}
		return 0
	})
	return slices.Compact(out)
}

// outward is the number that this computer speaks to others with. Nothing is
// sent: a socket of this kind only looks the way up. The number asked for is
// one that is kept for examples (RFC 5737).
func outward() netip.Addr {
	c, err := net.Dial("udp4", "203.0.113.1:9")
	if err != nil {
		return netip.Addr{}
	}
	defer c.Close()
	return c.LocalAddr().(*net.UDPAddr).AddrPort().Addr().Unmap()
}

// ownNumbers are the numbers of this computer's networks, without those that
// mean nothing to others.
func ownNumbers() []netip.Addr {
	all, err := net.Interfaces()
	if err != nil {
		return nil
	}
	var out []netip.Addr
	for _, i := range all {
		addrs, err := i.Addrs()
		if err != nil || i.Flags&net.FlagUp == 0 || i.Flags&net.FlagLoopback != 0 {
			continue
		}
		for _, a := range addrs {
			if p, err := netip.ParsePrefix(a.String()); err == nil && p.Addr().IsGlobalUnicast() {
				out = append(out, p.Addr().Unmap())
			}
		}
	}
	return out
}

// ownNames are what this computer calls itself, alone and on the network.
func ownNames() []string {
	name, err := os.Hostname()
	if err != nil || name == "" {
		return nil
	}
	name = strings.ToLower(name)
	first, _, _ := strings.Cut(name, ".")
	return slices.Compact([]string{name, first, first + ".local"})
}
