package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/server"
)

const aboutServe = `
benchtally serve runs the server of a shop until Ctrl+C. Phones and computers
on the same network open its address. A file that is not there is made.

Example:
  benchtally serve -db shop.db -addr :8080 -https :8443 -backup /media/stick`

func serve(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	n := t.network()
	kept := t.backups()
	logged := t.logging()
	if _, err := t.read(args); err != nil {
		return err
	}
	if err := n.check(); err != nil {
		return err
	}
	if err := kept.check(*dsn); err != nil {
		return err
	}
	if err := logged.check(); err != nil {
		return err
	}
	b, err := bench.Open(ctx, *dsn, bench.Options{Alone: true, Backups: kept.folder})
	if err != nil {
		return err
	}
	defer b.Close()
	if err := t.askOwner(ctx, b); err != nil {
		return err
	}
	log := logged.open(t.err)
	r, err := n.open(ctx, b, trustFolder(*dsn), log)
	if err != nil {
		return err
	}
	here := addressOf(n.host, portOf(r.plain))
	set, err := settle(ctx, b, here)
	if err != nil {
		r.close()
		return err
	}
	collectSeldom()
	watched, stop := context.WithCancel(ctx)
	var watching sync.WaitGroup
	watching.Go(func() { r.watch(watched, b) })
	watching.Go(func() { kept.run(watched, b, *dsn, log) })
	defer watching.Wait() // the database outlives it
	defer stop()
	return answerUntil(ctx, r.doors, server.Config{Bench: b, Log: log, Where: r.where}, func() {
		r.tell(t.out, *dsn, here, set)
		kept.tell(t.out, *dsn)
		if err := tellEntry(ctx, t.out, b, here); err != nil {
			log.Error("make the link that sets the shop up", "err", err)
		}
		fmt.Fprintln(t.out, "Ctrl+C stops it.")
	})
}

// collectSeldom lets the server's garbage grow to 32 times what it keeps, which
// is little: about 15 MB for a shop of some thousand parts. Each collection is a
// moment in which phones wait. Go collects every two minutes by itself, so only
// a load that no shop has makes that much garbage; from half a gigabyte on,
// memory counts for more.
func collectSeldom() {
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(3200)
	}
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(512 << 20)
	}
}

// tell says where everything is.
func (r *reach) tell(w io.Writer, dsn, here string, set parts.Settings) {
	tellWhere(w, r.plain, here)
	if at := r.where(); at.Name != "" {
		fmt.Fprintf(w, "  By its name:        %s, on phones that know such names\n", "http://"+net.JoinHostPort(at.Name, strconv.Itoa(at.Port)))
	}
	r.tellTrust(w, here, set)
	fmt.Fprintf(w, "  Data:               %s\n", dataOf(dsn))
	fmt.Fprintf(w, "  For programs:       %s/api/v1/openapi.json (benchtally token makes the token)\n", here)
	fmt.Fprintf(w, "  Is it well:         %s/healthz, and what it counts at /metrics\n", here)
	if at := r.where(); set.Address != here && (len(at.Numbers) == 0 || !at.Leads(set.Address)) {
		fmt.Fprintf(w, "  Labels say %s, which is not where this server is now: see the settings page.\n", set.Address)
	}
}

// listen listens on an address that a flag said.
func listen(flag, addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, parts.Problemf(parts.Busy, "port-taken", "Another program is listening on %s.", addr).
			Next("Stop it, or choose another port with %s, such as %s :8081.", flag, flag)
	case err != nil:
		return nil, fmt.Errorf("listen on %s: %w", addr, err)
	}
	return l, nil
}

func portOf(l net.Listener) int { return l.Addr().(*net.TCPAddr).Port }

// tellWhere says how the server is reached.
func tellWhere(w io.Writer, l net.Listener, here string) {
	at := l.Addr().(*net.TCPAddr)
	fmt.Fprintln(w, "benchtally is running.")
	if at.IP.IsLoopback() {
		fmt.Fprintf(w, "  On this computer:   http://%s\n", at)
		fmt.Fprintln(w, "  From phones:        not at all; leave the host out of -addr for that")
		return
	}
	if at.IP.IsUnspecified() {
		fmt.Fprintf(w, "  On this computer:   http://localhost:%d\n", at.Port)
	}
	if !phonesReach(here) {
		here = "not yet: this computer is on no network"
	}
	fmt.Fprintf(w, "  From phones:        %s\n", here)
}

// dataOf is where the data is, without the password of a database.
func dataOf(dsn string) string {
	if isDatabase(dsn) {
		return "a PostgreSQL database"
	}
	if path, err := filepath.Abs(dsn); err == nil {
		return path
	}
	return dsn
}

func isDatabase(dsn string) bool { return strings.Contains(dsn, "://") }

// answerUntil answers requests until ctx is done, then lets those under way
// finish.
func answerUntil(ctx context.Context, d doors, c server.Config, ready func()) error {
	s, err := server.New(c)
	if err != nil {
		d.close()
		return err
	}
	defer s.Close()
	web := newWeb(s, c.Log, d.tls)
	failed := make(chan error, 2)
	go func() { failed <- web.Serve(d.plain) }()
	if d.secure != nil {
		go func() { failed <- web.ServeTLS(d.secure, "", "") }()
	}
	ready()
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	s.Close() // its streams would never finish by themselves
	patience, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer cancel()
	if err := web.Shutdown(patience); err != nil {
		c.Log.Warn("some requests were cut off", "err", err)
		return web.Close()
	}
	return nil
}

// newWeb bounds how long and how large the head of a request may be. The rest
// has its bounds in the server, by address: an upload may take longer than a
// tap.
func newWeb(h http.Handler, log *slog.Logger, secure *tls.Config) *http.Server {
	return &http.Server{
		Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn), TLSConfig: secure,
	}
}
