package authority

import (
	"crypto/x509"
	"net"
	"net/netip"
	"net/url"
	"slices"
	"strings"
)

// Names are the names and numbers that a certificate is good for.
type Names struct {
	DNS []string // lower case
	IPs []netip.Addr
}

// NamesOf sorts hosts, as they stand in addresses, into names and numbers.
// What could be neither is left out.
func NamesOf(hosts ...string) Names {
	var n Names
	for _, h := range hosts {
		h = strings.ToLower(strings.TrimSuffix(strings.Trim(h, "[] "), "."))
		if ip, err := netip.ParseAddr(h); err == nil {
			n.IPs = append(n.IPs, ip.Unmap().WithZone(""))
		} else if isName(h) {
			n.DNS = append(n.DNS, h)
		}
	}
	slices.Sort(n.DNS)
	slices.SortFunc(n.IPs, netip.Addr.Compare)
	return Names{slices.Compact(n.DNS), slices.Compact(n.IPs)}
}

// HostOf is the host of an address such as http://shop.lan:8080, "" for none.
func HostOf(address string) string {
	u, err := url.Parse(address)
	if err != nil {
		return ""
	}
	return u.Hostname()
}

// isName reports whether h is a host name: letters, digits and hyphens between
// dots (RFC 1123, 2.1).
func isName(h string) bool {
	if h == "" || len(h) > 253 {
		return false
	}
	for label := range strings.SplitSeq(h, ".") {
		if label == "" || len(label) > 63 || strings.HasPrefix(label, "-") || strings.HasSuffix(label, "-") ||
			strings.Trim(label, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
			return false
		}
	}
	return true
}

func (n Names) equal(m Names) bool { return slices.Equal(n.DNS, m.DNS) && slices.Equal(n.IPs, m.IPs) }

// namesOf is what a certificate is good for.
func namesOf(c *x509.Certificate) Names {
	hosts := slices.Clone(c.DNSNames)
	for _, ip := range c.IPAddresses {
		hosts = append(hosts, ip.String())
	}
	return NamesOf(hosts...)
}

// localDomains are those that no public site is in: multicast DNS (RFC 6762),
// home networks (RFC 8375), private use (ICANN 2024), this computer (RFC 6761),
// and what routers use (common practice, no source).
var localDomains = []string{"local", "home.arpa", "internal", "localhost", "lan", "home", "localdomain"}

// localRanges are the numbers of private networks: RFC 1918, RFC 6598, RFC
// 3927, RFC 4193, and this computer's own.
var localRanges = []netip.Prefix{
	netip.MustParsePrefix("10.0.0.0/8"), netip.MustParsePrefix("172.16.0.0/12"), netip.MustParsePrefix("192.168.0.0/16"),
	netip.MustParsePrefix("100.64.0.0/10"), netip.MustParsePrefix("169.254.0.0/16"), netip.MustParsePrefix("127.0.0.0/8"),
	netip.MustParsePrefix("fc00::/7"), netip.MustParsePrefix("::1/128"),
}

// ranges are the numbers that a new authority may sign for.
func ranges(own []netip.Addr) []*net.IPNet {
	var out []*net.IPNet
	for _, p := range localRanges {
		out = append(out, ipNet(p))
	}
	for _, ip := range own {
		if p := netip.PrefixFrom(ip, ip.BitLen()); !slices.ContainsFunc(localRanges, func(l netip.Prefix) bool { return l.Contains(ip) }) {
			out = append(out, ipNet(p))
		}
	}
	return out
}

func ipNet(p netip.Prefix) *net.IPNet {
	return &net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}
}

// within keeps the names that the authority may sign for.
func (a *Authority) within(n Names) Names {
	n = Names{slices.Clone(n.DNS), slices.Clone(n.IPs)}
	n.DNS = slices.DeleteFunc(n.DNS, func(name string) bool { return !a.mayName(name) })
	n.IPs = slices.DeleteFunc(n.IPs, func(ip netip.Addr) bool { return !a.mayNumber(ip) })
	return n
}

// May reports whether the authority may sign for a host.
func (a *Authority) May(host string) bool {
	n := a.within(NamesOf(host))
	return len(n.DNS)+len(n.IPs) == 1
}

func (a *Authority) mayName(name string) bool {
	return slices.ContainsFunc(a.cert.PermittedDNSDomains, func(d string) bool { return name == d || strings.HasSuffix(name, "."+d) })
}

func (a *Authority) mayNumber(ip netip.Addr) bool {
	return slices.ContainsFunc(a.cert.PermittedIPRanges, func(r *net.IPNet) bool { return r.Contains(ip.AsSlice()) })
}
