package server

import (
	"net/netip"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/labels"
	"benchtally/parts"
)

func laptop() Where {
	return Where{
		Port: 8080, SecurePort: 8443, Numbers: []netip.Addr{netip.MustParseAddr("192.168.1.20"), netip.MustParseAddr("10.0.0.7")},
		Name: "benchtally.local", Names: []string{"bench-laptop", "bench-laptop.local"},
		Covers: func(host string) bool { return host != "old.lan" && host != "" },
	}
}

func TestAddressesThatLeadHere(t *testing.T) {
	tests := []struct {
		address string
		here    bool
	}{
		{"http://192.168.1.20:8080", true},
		{"http://10.0.0.7:8080", true},
		{"https://192.168.1.20:8443", true},
		{"http://192.168.1.21:8080", false},
		{"http://192.168.1.20:8081", false},
		{"http://192.168.1.20", false},
		{"http://BENCHTALLY.LOCAL:8080", true},
		{"http://benchtally.local.:8080", true},
		{"http://benchtally.local:9", false},
		{"http://bench-laptop.local:8080", true},
		{"http://bench-laptop:8080", true},
		{"http://other.local:8080", false},
		{"http://shop.lan:1", true}, // a router's name is believed
		{"https://bench.tern-point.example", true},
		{"http://127.0.0.1:8080", true}, // said elsewhere: only this computer opens it
		{"http://[fd00::7]:8080", false},
		{"::", true},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.here, laptop().Leads(tt.address), tt.address)
	}
	assert.True(t, Where{}.Leads("http://192.168.1.21:8080"), "on no network nothing is known")
	muted := laptop()
	muted.Name = ""
	assert.False(t, muted.Leads("http://benchtally.local:8080"), "another computer has the name")
}

func TestTheAddressByHTTPS(t *testing.T) {
	for host, want := range map[string]string{
		"192.168.1.20:8080": "https://192.168.1.20:8443", "Benchtally.local:8080": "https://Benchtally.local:8443", "[fd00::7]:8080": "https://[fd00::7]:8443",
		"localhost": "https://localhost:8443", "old.lan:8080": "https://benchtally.local:8443",
	} {
		assert.Equal(t, want, laptop().secure(host), host)
	}
	plain := laptop()
	plain.SecurePort = 0
	assert.Empty(t, plain.secure("192.168.1.20:8080"))
	usual := laptop()
	usual.SecurePort = 443
	assert.Equal(t, "https://10.0.0.7", usual.secure("10.0.0.7:80"))
}

// Whatever address a shop is offered at its first start, the code of a mark
// stays at version 2 on the smallest labels there are, at any level, and so has
// the largest squares that they can have. Marks are of four characters until
// the shop has made 32 thousand parts, then of five, then of six.
func TestOfferedAddressesMakeSmallCodes(t *testing.T) {
	roll, err := labels.FormatByKey("roll-38x18")
	require.NoError(t, err)
	marks := []parts.ID{"101S"}
	for _, serial := range []int64{1<<15 - 100, 1 << 20, 1<<25 - 100} {
		mark, _ := parts.NextMark(serial)
		marks = append(marks, mark)
	}
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOfN(rapid.Byte(), 4, 4).Draw(t, "number")
		w := Where{Port: rapid.IntRange(1, 65535).Draw(t, "port"), Numbers: []netip.Addr{netip.AddrFrom4([4]byte(b))}, Name: "benchtally.local"}
		mark := rapid.SampledFrom(marks).Draw(t, "mark")
		for _, address := range w.addresses() {
			fit, err := labels.FitOf(roll, parts.Settings{Address: address}.CodeAddress()+"/P/"+string(mark))
			require.NoError(t, err, address)
			require.LessOrEqual(t, fit.Version, 2, address)
		}
	})
	// As it would be without the capitals: finer squares, or too fine for the label.
	fit, err := labels.FitOf(roll, "http://benchtally.local:8080/P/101S")
	require.True(t, err != nil || fit.Version > 2)
}
