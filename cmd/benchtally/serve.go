package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"path/filepath"
	"strings"
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
  benchtally serve -db shop.db -addr :8080`

func serve(ctx context.Context, t *terminal, args []string) error {
	dsn := t.db()
	addr := t.String("addr", ":8080", "`HOST:PORT` to listen on; without a host, the whole network")
	if _, err := t.read(args); err != nil {
		return err
	}
	host, err := hostOf(*addr)
	if err != nil {
		return err
	}
	b, err := bench.Open(ctx, *dsn, bench.Options{Alone: true})
	if err != nil {
		return err
	}
	defer b.Close()
	l, err := listen(*addr)
	if err != nil {
		return err
	}
	here := addressOf(host, portOf(l))
	set, err := settle(ctx, b, here)
	if err != nil {
		l.Close()
		return err
	}
	return answerUntil(ctx, l, server.Config{Bench: b, Log: logTo(t.err)}, func() {
		tellWhere(t.out, l, here)
		fmt.Fprintf(t.out, "  Data:               %s\n", dataOf(*dsn))
		fmt.Fprintf(t.out, "  For programs:       %s/api/v1/openapi.json (benchtally token makes the token)\n", here)
		if set.Address != here {
			fmt.Fprintf(t.out, "  Labels say %s, which is not where this server is now: see the settings page.\n", set.Address)
		}
		fmt.Fprintln(t.out, "Ctrl+C stops it.")
	})
}

func logTo(w io.Writer) *slog.Logger { return slog.New(slog.NewTextHandler(w, nil)) }

// hostOf gives the host of HOST:PORT.
func hostOf(addr string) (string, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return "", usageError(fmt.Sprintf("-addr %s is not HOST:PORT, such as :8080 or 127.0.0.1:8080", addr))
	}
	return host, nil
}

func listen(addr string) (net.Listener, error) {
	l, err := net.Listen("tcp", addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, parts.Problemf(parts.Busy, "port-taken", "Another program is listening on %s.", addr).
			Next("Stop it, or choose another port with -addr, such as -addr :8081.")
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
func answerUntil(ctx context.Context, l net.Listener, c server.Config, ready func()) error {
	s, err := server.New(c)
	if err != nil {
		l.Close()
		return err
	}
	defer s.Close()
	web := &http.Server{
		Handler: s, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
		ErrorLog: slog.NewLogLogger(c.Log.Handler(), slog.LevelWarn),
	}
	failed := make(chan error, 1)
	go func() { failed <- web.Serve(l) }()
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
