package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestReachable(t *testing.T) {
	tests := []struct{ name, asked, lan, want string }{
		{"the whole network", "", "192.168.1.20", "192.168.1.20"},
		{"the whole network by its number", "0.0.0.0", "192.168.1.20", "192.168.1.20"},
		{"both families", "::", "192.168.1.20", "192.168.1.20"},
		{"this computer only, on a network", "127.0.0.1", "192.168.1.20", "192.168.1.20"},
		{"this computer only, on none", "127.0.0.1", "", "127.0.0.1"},
		{"by name", "localhost", "", "localhost"},
		{"a host that was chosen", "10.0.0.7", "192.168.1.20", "10.0.0.7"},
		{"a name that was chosen", "shop.lan", "192.168.1.20", "shop.lan"},
		{"no network", "", "", "127.0.0.1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { require.Equal(t, tt.want, reachable(tt.asked, tt.lan)) })
	}
	require.Equal(t, "http://10.0.0.7:8080", addressOf("10.0.0.7", 8080))
	require.Equal(t, "http://10.0.0.7", addressOf("10.0.0.7", 80))
	require.Equal(t, "http://[fd00::7]:8080", addressOf("fd00::7", 8080))
	require.Equal(t, "http://[fd00::7]", addressOf("fd00::7", 80))
}

func TestPhonesReach(t *testing.T) {
	for address, want := range map[string]bool{"http://192.168.1.20:8080": true, "http://shop.lan": true,
		"http://127.0.0.1:8080": false, "http://localhost:8080": false, "http://[::1]:8080": false} {
		require.Equal(t, want, phonesReach(address), address)
	}
}

// The names are those of the IANA time zone database, which time/tzdata holds.
func TestZoneOf(t *testing.T) {
	tests := []struct {
		name, tz string
		set      bool
		link     string
		want     string
	}{
		{"TZ names it", "Europe/Berlin", true, "/usr/share/zoneinfo/Asia/Tokyo", "Europe/Berlin"},
		{"TZ with a colon", ":America/New_York", true, "", "America/New_York"},
		{"TZ is a file", "/usr/share/zoneinfo/Asia/Tokyo", true, "", "Asia/Tokyo"},
		{"TZ is empty, which means UTC", "", true, "/usr/share/zoneinfo/Asia/Tokyo", "UTC"},
		{"TZ is a rule that is no name", "EST5EDT,M3.2.0,M11.1.0", true, "", "UTC"},
		{"TZ points outside", "../../etc/passwd", true, "", "UTC"},
		{"TZ says nothing new", "Local", true, "", "UTC"},
		{"the link names it", "", false, "/usr/share/zoneinfo/Europe/Berlin", "Europe/Berlin"},
		{"the link on another system", "", false, "/var/db/timezone/zoneinfo/America/Chicago", "America/Chicago"},
		{"no link", "", false, "", "UTC"},
		{"a link to nowhere", "", false, "/usr/share/zoneinfo/Nowhere/Town", "UTC"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { require.Equal(t, tt.want, zoneOf(tt.tz, tt.set, tt.link)) })
	}
}
