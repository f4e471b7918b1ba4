package main

import (
	"context"
	"crypto/tls"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/netip"
	"path/filepath"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/server/authority"
)

// doors are the ports of a server. Without HTTPS secure and tls are nil.
type doors struct {
	plain, secure net.Listener
	tls           *tls.Config
}

func (d doors) close() {
	d.plain.Close()
	if d.secure != nil {
		d.secure.Close()
	}
}

// trustFolder is where a shop's authority is kept: beside its file, or where
// the server is started for a database elsewhere.
func trustFolder(dsn string) string {
	if isDatabase(dsn) {
		dsn = "benchtally"
	}
	folder := strings.TrimSuffix(dsn, filepath.Ext(dsn)) + "-trust"
	if whole, err := filepath.Abs(folder); err == nil {
		return whole
	}
	return folder
}

// open listens, and reads or makes what HTTPS needs. Folder is where the
// authority is kept.
func (n *network) open(ctx context.Context, b *bench.Bench, folder string, log *slog.Logger) (*reach, error) {
	r := &reach{network: *n, log: log}
	if err := r.openTrust(folder); err != nil {
		return nil, err
	}
	if err := r.certify(ctx, b); err != nil {
		return nil, err
	}
	var err error
	if r.plain, err = listen("-addr", n.addr); err != nil {
		return nil, err
	}
	if n.https == "" {
		return r, nil
	}
	if r.secure, err = listen("-https", n.https); err != nil {
		r.plain.Close()
		return nil, err
	}
	return r, nil
}

func (r *reach) openTrust(folder string) error {
	var err error
	switch {
	case r.cert != "":
		if r.own, err = authority.OpenOwn(r.cert, r.key); err == nil {
			r.tls = r.own.TLS()
		}
	case r.https != "":
		host := "this computer"
		names := ownNames()
		if len(names) > 0 {
			host = names[0]
		}
		if r.local, err = authority.Open(folder, host, authority.NamesOf(append(names, texts(publicNumbers())...)...), time.Now()); err == nil {
			r.tls = r.local.TLS()
		}
	}
	return err
}

// publicNumbers are those IPv4 addresses of this computer that belong to no
// local network: a few shops have one, and their authority must allow for it.
func publicNumbers() []netip.Addr {
	var out []netip.Addr
	for _, ip := range ownNumbers() {
		if ip.Is4() && !ip.IsPrivate() {
			out = append(out, ip)
		}
	}
	return out
}

func texts(ips []netip.Addr) []string {
	out := make([]string, len(ips))
	for i, ip := range ips {
		out[i] = ip.String()
	}
	return out
}

// certify makes another certificate when the one there is not right any more,
// for every name and number that leads here and for what the labels hold.
func (r *reach) certify(ctx context.Context, b *bench.Bench) error {
	switch {
	case r.own != nil:
		_, err := r.own.Refresh()
		return err
	case r.local == nil:
		return nil
	}
	set, err := b.Settings(ctx)
	if err != nil {
		return err
	}
	hosts := append([]string{"localhost", "127.0.0.1", "::1", r.network.name, authority.HostOf(set.Address)}, ownNames()...)
	_, err = r.local.Vouch(authority.NamesOf(append(hosts, texts(ownNumbers())...)...), time.Now())
	return err
}

// tellTrust says how HTTPS is reached, and what phones need for it.
func (r *reach) tellTrust(w io.Writer, here string, set parts.Settings) {
	if r.secure == nil {
		fmt.Fprintln(w, "  No HTTPS:           pages have no live camera and do not open while the Wi-Fi is away; -https :8443 turns it on")
		return
	}
	at := r.secure.Addr().(*net.TCPAddr)
	host := "localhost"
	if !at.IP.IsUnspecified() {
		host = at.IP.String()
	}
	if r.onlyHTTPS {
		fmt.Fprintln(w, "  Plain HTTP:         only leads to HTTPS, and shows phones how to trust it")
	}
	fmt.Fprintf(w, "  HTTPS here:         https://%s\n", net.JoinHostPort(host, fmt.Sprint(at.Port)))
	if r.own != nil {
		fmt.Fprintf(w, "  Its certificate:    %s, until %s\n", r.cert, r.own.Ends().In(set.Location()).Format("2 Jan 2006"))
		return
	}
	fmt.Fprintf(w, "  HTTPS on phones:    %s/trust says how\n", here)
	fmt.Fprintf(w, "  Its authority:      %s, the key beside it\n", r.local.File())
	fmt.Fprintf(w, "  SHA-256 to compare: %s\n", authority.Fingerprint(r.local.DER()))
	if host := authority.HostOf(set.Address); host != "" && !r.local.May(host) {
		fmt.Fprintf(w, "  Labels say %s, for which the authority may not vouch: bring a certificate with -cert and -key.\n", set.Address)
	}
}
