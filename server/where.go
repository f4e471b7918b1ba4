package server

import (
	"net"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// Where is how a server is reached at one moment. A router gives other
// numbers, and another computer may have the name.
type Where struct {
	Port       int
	SecurePort int          // of HTTPS, 0 without
	Numbers    []netip.Addr // of this computer on the shop's network, the usual one first
	Name       string       // that this server answers to there by multicast DNS, "" for none
	Names      []string     // others that lead to this computer, such as its own
	Covers     func(host string) bool
	Authority  *Authority // that phones have to install; nil for none
	OnlySecure bool       // plain HTTP shows the way to HTTPS, and nothing else
}

// Authority is what a phone has to install to trust the server.
type Authority struct {
	Name        string // as the phone's list says it
	DER         []byte // the certificate
	Fingerprint string
}

// addressAt is the address of a host and a port.
func addressAt(scheme, host string, port int) string {
	usual := map[string]int{"http": 80, "https": 443}[scheme]
	switch {
	case port != usual:
		host = net.JoinHostPort(host, strconv.Itoa(port))
	case strings.Contains(host, ":"):
		host = "[" + host + "]"
	}
	return scheme + "://" + host
}

// addresses are those that the codes may hold: by number, which every phone
// reads, then by name.
func (w Where) addresses() []string {
	var out []string
	for _, n := range w.Numbers {
		out = append(out, addressAt("http", n.String(), w.Port))
	}
	if w.Name != "" {
		out = append(out, addressAt("http", w.Name, w.Port))
	}
	return out
}

// Leads reports whether an address leads to this server. Names of a router or
// a provider are believed, and so is everything where this computer is on no
// network.
func (w Where) Leads(address string) bool {
	u, err := url.Parse(address)
	if err != nil || len(w.Numbers) == 0 && w.Name == "" {
		return true
	}
	host := strings.ToLower(strings.TrimSuffix(u.Hostname(), "."))
	if ip, err := netip.ParseAddr(host); err == nil {
		return ip.IsLoopback() || slices.Contains(w.Numbers, ip.Unmap()) && w.listens(u)
	}
	if host == w.Name || slices.Contains(w.Names, host) {
		return w.listens(u)
	}
	return !strings.HasSuffix(host, ".local") // nobody but the computer itself answers for those
}

// listens reports whether the port of an address is one of the server's.
func (w Where) listens(u *url.URL) bool {
	port := u.Port()
	if port == "" {
		port = map[string]string{"http": "80", "https": "443"}[u.Scheme]
	}
	return port == strconv.Itoa(w.Port) || port == strconv.Itoa(w.SecurePort)
}

// secure is the address by HTTPS for whoever came to a host, "" without HTTPS.
// A host that the certificate does not name would be met by a warning, so
// another one is given.
func (w Where) secure(host string) string {
	if w.SecurePort == 0 {
		return ""
	}
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	host = strings.Trim(host, "[]")
	choices := append([]string{host, w.Name}, w.Names...)
	for _, n := range w.Numbers {
		choices = append(choices, n.String())
	}
	for _, h := range choices {
		if h != "" && w.Covers(h) {
			return addressAt("https", h, w.SecurePort)
		}
	}
	return addressAt("https", host, w.SecurePort)
}
