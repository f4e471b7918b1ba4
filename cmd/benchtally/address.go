package main

import (
	"context"
	"net"
	"net/url"
	"os"
	"strconv"
	"strings"
	"time"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// usualPort is the port that labels name when they are printed before the
// server was ever started.
const usualPort = 8080

// settle fills in, at the first start, what labels and pages need: the
// address phones reach this computer at, and its time zone.
func settle(ctx context.Context, b *bench.Bench, here string) (parts.Settings, error) {
	set, err := b.Settings(ctx)
	if err != nil || set.Address != "" {
		return set, err
	}
	set.Address, set.Guessed, set.Zone = here, true, systemZone()
	return set, b.SaveSettings(ctx, set)
}

// addressOf is how phones reach a server that listens on host and port.
func addressOf(host string, port int) string {
	host = reachable(host, lanHost())
	if port != 80 {
		host = net.JoinHostPort(host, strconv.Itoa(port))
	} else if strings.Contains(host, ":") {
		host = "[" + host + "]"
	}
	return (&url.URL{Scheme: "http", Host: host}).String()
}

// reachable chooses the host that phones should use. One that was asked for
// wins unless no phone could reach it.
func reachable(asked, lan string) string {
	ip := net.ParseIP(asked)
	everywhere := asked == "" || ip != nil && ip.IsUnspecified()
	alone := isAlone(asked)
	switch {
	case !everywhere && !alone:
		return asked
	case lan != "":
		return lan
	case alone:
		return asked
	}
	return "127.0.0.1"
}

// phonesReach reports whether an address of addressOf leads here from other
// machines.
func phonesReach(here string) bool {
	u, err := url.Parse(here)
	ip := net.ParseIP(u.Hostname())
	return err == nil && u.Hostname() != "localhost" && (ip == nil || !ip.IsLoopback())
}

// lanHost is the usual one of lanNumbers, "" for none.
func lanHost() string {
	all := lanNumbers()
	if len(all) == 0 {
		return ""
	}
	return all[0].String()
}

// systemZone is the IANA name of this computer's time zone, UTC when it does
// not tell.
func systemZone() string {
	tz, set := os.LookupEnv("TZ")
	link, _ := os.Readlink("/etc/localtime")
	return zoneOf(tz, set, link)
}

// zoneOf reads the zone from TZ, or else from where /etc/localtime points.
func zoneOf(tz string, set bool, link string) string {
	name := strings.TrimPrefix(tz, ":")
	if !set || strings.HasPrefix(name, "/") {
		if set {
			link = name
		}
		_, name, _ = strings.Cut(link, "zoneinfo/")
	}
	if _, err := time.LoadLocation(name); err != nil || name == "" || name == "Local" {
		return "UTC"
	}
	return name
}
