package main

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strconv"

	"benchtally/labels"
	"benchtally/parts/bench"
	"benchtally/server"
)

const aboutDemo = `
benchtally demo runs a server with an invented job under way: the locker fronts
and a bench back of the Tern Point Rowing Club. Its data is made new each time
and thrown away at the end. It is open to everybody who reaches this computer.

Example:
  benchtally demo -addr :8080`

func demo(ctx context.Context, t *terminal, args []string) error {
	addr := t.String("addr", ":8080", "`HOST:PORT` to listen on; the next free port when it is taken")
	logged := t.logging()
	if _, err := t.read(args); err != nil {
		return err
	}
	if err := logged.check(); err != nil {
		return err
	}
	host, err := hostOf("-addr", *addr)
	if err != nil {
		return err
	}
	l, err := listenNear(*addr)
	if err != nil {
		return err
	}
	here := addressOf(host, portOf(l))
	file, err := demoFile()
	if err != nil {
		l.Close()
		return err
	}
	defer throwAway(file)
	clock := &storyClock{}
	b, err := bench.Open(ctx, file, bench.Options{Alone: true, Clock: clock.Now})
	if err != nil {
		l.Close()
		return err
	}
	defer b.Close()
	if err := tellStory(ctx, b, clock, here); err != nil {
		l.Close()
		return fmt.Errorf("make the demo's job: %w", err)
	}
	return answerUntil(ctx, doors{plain: l}, server.Config{Bench: b, Log: logged.open(t.err), Demo: true}, func() {
		if port := ":" + strconv.Itoa(portOf(l)); port != portIn(*addr) && portIn(*addr) != ":0" {
			fmt.Fprintf(t.out, "Port %s is taken, so this is %s.\n", portIn(*addr)[1:], port[1:])
		}
		tellDemo(t, l, here, file)
	})
}

// tellDemo says where the demo is, and to whom it is open.
func tellDemo(t *terminal, l net.Listener, here, file string) {
	tellWhere(t.out, l, here)
	fmt.Fprintf(t.out, "  Data:               %s, thrown away at the end\n", file)
	fmt.Fprintln(t.out, "This is a demo with an invented job. Whoever reaches its address can see and change it.")
	if phonesReach(here) && !l.Addr().(*net.TCPAddr).IP.IsLoopback() {
		if code, err := labels.Terminal(here); err == nil {
			fmt.Fprintf(t.out, "\n%s\nOpen it with the camera of a phone on the same network: %s\n", code, here)
		}
	}
	fmt.Fprintln(t.out, "Ctrl+C stops it.")
}

// portsToTry is how many ports from the one asked for may be tried.
const portsToTry = 50

// listenNear listens on addr, or on the next port that is free.
func listenNear(addr string) (net.Listener, error) {
	host, text, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("listen on %s: %w", addr, err)
	}
	port, err := strconv.Atoi(text)
	if err != nil || port == 0 {
		return listen("-addr", addr)
	}
	l, first := listen("-addr", addr)
	for n := port + 1; first != nil && n < port+portsToTry && n < 1<<16; n++ {
		if l, err = listen("-addr", net.JoinHostPort(host, strconv.Itoa(n))); err == nil {
			return l, nil
		}
	}
	return l, first
}

// portIn is the ":PORT" of an address.
func portIn(addr string) string {
	_, port, _ := net.SplitHostPort(addr)
	return ":" + port
}

// demoFile makes a new file for the demo's data.
func demoFile() (string, error) {
	dir, err := os.UserCacheDir()
	if err != nil {
		dir = os.TempDir()
	}
	dir = filepath.Join(dir, "benchtally")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", fmt.Errorf("make a place for the demo's data: %w", err)
	}
	f, err := os.CreateTemp(dir, "demo-*.db")
	if err != nil {
		return "", fmt.Errorf("make a file for the demo's data: %w", err)
	}
	return f.Name(), f.Close()
}

// throwAway removes a file and what the database keeps beside it.
func throwAway(file string) {
	for _, end := range []string{"", "-wal", "-shm", ".lock"} {
		os.Remove(file + end)
	}
}
