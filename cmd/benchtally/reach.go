package main

import (
	"context"
	"log/slog"
	"net/netip"
	"slices"
	"sync"
	"time"

	"benchtally/parts/bench"
	"benchtally/server"
	"benchtally/server/authority"
	"benchtally/server/localname"
)

// watchEvery is how often a running server looks whether its certificate and
// its name are still right.
const watchEvery = 15 * time.Second

// reach is how a running server is reached. Its certificate and its name are
// kept right while it runs: numbers come and go, and certificates end.
type reach struct {
	network
	doors
	local *authority.Authority // nil without HTTPS, or with a certificate of the shop's own
	own   *authority.Own
	log   *slog.Logger

	mu   sync.Mutex
	name *localname.Answers // nil while the name is not answered for
	mute bool               // that was tried, and failed
	told server.Where       // what where told last, at a time
	at   time.Time
}

// where tells the server's pages how it is reached now. Every request asks, so
// it looks again once a second.
func (r *reach) where() server.Where {
	r.mu.Lock()
	defer r.mu.Unlock()
	if now := time.Now(); now.Sub(r.at) > time.Second {
		r.told, r.at = r.look(), now
	}
	return r.told
}

// look finds out how the server is reached; r is locked.
func (r *reach) look() server.Where {
	w := server.Where{Port: portOf(r.plain), Numbers: numbersAt(r.host), Names: ownNames(), Covers: r.covers, OnlySecure: r.onlyHTTPS}
	if r.secure != nil {
		w.SecurePort = portOf(r.secure)
	}
	if r.local != nil {
		w.Authority = &server.Authority{Name: r.local.Name(), DER: r.local.DER(), Fingerprint: authority.Fingerprint(r.local.DER())}
	}
	if len(w.Numbers) > 0 && !r.mute {
		w.Name = r.network.name
	}
	return w
}

// covers reports whether the certificate is good for a host.
func (r *reach) covers(host string) bool {
	if r.tls == nil {
		return false
	}
	c, err := r.tls.GetCertificate(nil)
	return err == nil && c.Leaf.VerifyHostname(host) == nil
}

// watch keeps certificate and name right until ctx is done.
func (r *reach) watch(ctx context.Context, b *bench.Bench) {
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	defer r.silence()
	var last []netip.Addr
	for {
		if now := numbersAt(r.host); !slices.Equal(now, last) {
			r.silence()
			r.answer(ctx)
			last = now
		}
		select {
		case <-ctx.Done():
			return
		case <-tick.C:
		}
		if err := r.certify(ctx, b); err != nil && ctx.Err() == nil {
			r.log.Error("the certificate for HTTPS is as it was", "err", err)
		}
	}
}

// answer begins to answer for the name. A network that carries no such
// questions is no fault of the shop's: the number works all the same.
func (r *reach) answer(ctx context.Context) {
	if r.network.name == "" || len(numbersAt(r.host)) == 0 {
		return
	}
	name, err := localname.Open(ctx, r.network.name, nil)
	if err != nil && ctx.Err() == nil {
		r.log.Warn("this computer is found by its number only", "name", r.network.name, "err", err)
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	r.name, r.mute = name, err != nil
}

// silence stops answering for the name.
func (r *reach) silence() {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.name != nil {
		r.name.Close() // its sockets are gone either way
	}
	r.name = nil
}
