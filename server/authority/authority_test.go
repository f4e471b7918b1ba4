package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"io"
	"math/big"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"benchtally/parts"
	"benchtally/parts/shoptest"
)

// now is the clock's: what checks a certificate from outside goes by it too.
var now = time.Now()

var shopNames = NamesOf("localhost", "benchtally.local", "bench-laptop", "bench-laptop.local", "127.0.0.1", "::1", "192.168.1.20", "fd00::20")

func opened(t *testing.T, dir string, own ...string) *Authority {
	t.Helper()
	a, err := Open(dir, "bench-laptop", NamesOf(append(own, "bench-laptop")...), now)
	require.NoError(t, err)
	return a
}

// trusting asks a server by a name, with the authority installed.
func trusting(t *testing.T, a *Authority, conf *tls.Config, name string) error {
	t.Helper()
	l, err := tls.Listen("tcp", "127.0.0.1:0", conf)
	require.NoError(t, err)
	defer l.Close()
	go func() {
		if c, err := l.Accept(); err == nil {
			io.WriteString(c, "good")
			c.Close()
		}
	}()
	pool := x509.NewCertPool()
	require.True(t, pool.AppendCertsFromPEM(a.PEM()))
	c, err := tls.Dial("tcp", l.Addr().String(), &tls.Config{RootCAs: pool, ServerName: name})
	if err != nil {
		return err
	}
	defer c.Close()
	text, err := io.ReadAll(c)
	require.Equal(t, "good", string(text))
	return err
}

func TestAClientTrustsEachName(t *testing.T) {
	a := opened(t, filepath.Join(t.TempDir(), "trust"))
	_, err := a.Vouch(shopNames, now)
	require.NoError(t, err)
	for _, name := range []string{"localhost", "benchtally.local", "BENCHTALLY.LOCAL", "bench-laptop", "bench-laptop.local", "127.0.0.1", "::1", "192.168.1.20", "fd00::20"} {
		assert.NoError(t, trusting(t, a, a.TLS(), name), name)
	}
	for _, name := range []string{"other.local", "192.168.1.21"} {
		assert.Error(t, trusting(t, a, a.TLS(), name), name)
	}
	other := opened(t, filepath.Join(t.TempDir(), "trust"))
	assert.Error(t, trusting(t, other, a.TLS(), "localhost"), "another shop's authority")
}

// The key is the owner's alone, and a start finds the authority again.
func TestTheAuthorityIsKept(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "trust")
	first := opened(t, dir)
	if runtime.GOOS != "windows" {
		for file, mode := range map[string]os.FileMode{".": 0o700, secretFile: 0o600, publicFile: 0o644} {
			info, err := os.Stat(filepath.Join(dir, file))
			require.NoError(t, err)
			assert.Equal(t, mode, info.Mode().Perm(), file)
		}
		require.NoError(t, os.Chmod(filepath.Join(dir, secretFile), 0o644)) // copied carelessly
	}
	second := opened(t, dir)
	assert.Equal(t, first.DER(), second.DER())
	if runtime.GOOS != "windows" {
		info, err := os.Stat(filepath.Join(dir, secretFile))
		require.NoError(t, err)
		assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	}
	public, err := os.ReadFile(second.File())
	require.NoError(t, err)
	assert.Equal(t, string(first.PEM()), string(public))
	assert.NotContains(t, string(public), "PRIVATE")
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing half written stays")

	require.NoError(t, os.WriteFile(filepath.Join(dir, secretFile), []byte("sawdust"), 0o600))
	_, err = Open(dir, "bench-laptop", Names{}, now)
	require.Equal(t, "authority-broken", parts.CodeOf(err))
}

func TestWhenACertificateIsRenewed(t *testing.T) {
	a := opened(t, t.TempDir())
	vouch := func(n Names, at time.Time) bool {
		t.Helper()
		renewed, err := a.Vouch(n, at)
		require.NoError(t, err)
		return renewed
	}
	require.True(t, vouch(shopNames, now))
	leaf := a.leaf.Leaf
	assert.LessOrEqual(t, leaf.NotAfter.Sub(leaf.NotBefore), 397*day, "phones refuse longer ones")
	assert.True(t, leaf.NotBefore.Before(now.Add(-23*time.Hour)), "a phone's clock may be behind")
	assert.False(t, vouch(shopNames, now.Add(time.Hour)))
	assert.False(t, vouch(shopNames, leaf.NotAfter.Add(-renewDays-time.Hour)))
	assert.True(t, vouch(shopNames, leaf.NotAfter.Add(-renewDays)), "before its end")
	assert.True(t, vouch(NamesOf("localhost", "192.168.1.31"), leaf.NotAfter.Add(-renewDays)), "the router gave another number")
	assert.False(t, vouch(NamesOf("192.168.1.31", "LOCALHOST."), leaf.NotAfter.Add(-renewDays)), "the same, written otherwise")
	assert.True(t, vouch(NamesOf("localhost", "192.168.1.31"), now.Add(-30*day)), "the clock was put right")
}

func TestAnAuthorityThatEnds(t *testing.T) {
	dir := t.TempDir()
	a := opened(t, dir)
	later := a.cert.NotAfter.Add(-40 * day)
	_, err := a.Vouch(shopNames, later)
	require.NoError(t, err)
	assert.Equal(t, a.cert.NotAfter, a.leaf.Leaf.NotAfter, "no certificate outlives its authority")
	same, err := Open(dir, "bench-laptop", Names{}, later)
	require.NoError(t, err)
	assert.Equal(t, a.DER(), same.DER())
	next, err := Open(dir, "bench-laptop", Names{}, later.Add(11*day))
	require.NoError(t, err)
	assert.NotEqual(t, a.DER(), next.DER())
}

// The authority may sign for a local network and for nothing else, and leaves
// out what it may not.
func TestWhatAnAuthorityMaySign(t *testing.T) {
	a := opened(t, t.TempDir(), "bench.tern-point.example", "192.0.2.2")
	for host, may := range map[string]bool{
		"benchtally.local": true, "a.b.lan": true, "bench-laptop": true, "localhost": true, "bench.tern-point.example": true,
		"10.1.2.3": true, "172.31.0.1": true, "192.168.1.20": true, "192.0.2.2": true, "fd12::1": true, "::1": true,
		"tern-point.example": false, "local.example": false, "nonlocal": false, "172.32.0.1": false, "192.0.2.3": false, "2001:db8::1": false, "": false, "two words": false,
	} {
		assert.Equal(t, may, a.May(host), host)
	}
	_, err := a.Vouch(NamesOf("localhost", "shop.example", "2001:db8::1", "192.168.1.20"), now)
	require.NoError(t, err)
	assert.Equal(t, NamesOf("localhost", "192.168.1.20"), namesOf(a.leaf.Leaf))
	_, err = a.Vouch(NamesOf("shop.example"), now)
	assert.Error(t, err, "a certificate without a name")
}

// What the key of the authority signs beyond its limits is worth nothing, to
// Go and to OpenSSL.
func TestAStolenKeySignsForNobody(t *testing.T) {
	a := opened(t, t.TempDir())
	for _, host := range []string{"bank.example", "8.8.8.8"} {
		forged := forge(t, a, host)
		assert.Error(t, trusting(t, a, &tls.Config{Certificates: []tls.Certificate{forged}}, host))
		out, err := openssl(t, a, forged.Certificate[0], host)
		assert.Error(t, err, out)
		assert.Contains(t, out, "permitted subtree violation")
	}
}

func forge(t *testing.T, a *Authority, host string) tls.Certificate {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	c := &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: host}, NotBefore: now.Add(-time.Hour), NotAfter: now.Add(time.Hour),
		ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}, KeyUsage: x509.KeyUsageDigitalSignature}
	if ip := net.ParseIP(host); ip != nil {
		c.IPAddresses = []net.IP{ip}
	} else {
		c.DNSNames = []string{host}
	}
	der, err := x509.CreateCertificate(rand.Reader, c, a.cert, &key.PublicKey, a.key)
	require.NoError(t, err)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}
}

// openssl checks a certificate against the authority as a browser would: the
// chain, the purpose and the host.
func openssl(t *testing.T, a *Authority, leaf []byte, host string) (string, error) {
	t.Helper()
	tool, err := exec.LookPath("openssl")
	if err != nil {
		shoptest.SkipOrFail(t, "no openssl on this machine: nobody else checks the certificates")
	}
	file := filepath.Join(t.TempDir(), "server.crt")
	require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: leaf}), 0o600))
	check := "-verify_hostname"
	if net.ParseIP(host) != nil {
		check = "-verify_ip"
	}
	out, err := exec.Command(tool, "verify", "-x509_strict", "-purpose", "sslserver", "-CAfile", a.File(), check, host, file).CombinedOutput()
	return string(out), err
}

func TestOpenSSLAgrees(t *testing.T) {
	a := opened(t, t.TempDir())
	_, err := a.Vouch(shopNames, now)
	require.NoError(t, err)
	for _, host := range []string{"localhost", "benchtally.local", "bench-laptop.local", "192.168.1.20", "127.0.0.1", "fd00::20"} {
		out, err := openssl(t, a, a.leaf.Certificate[0], host)
		assert.NoError(t, err, "%s: %s", host, out)
		assert.Contains(t, out, "OK")
	}
	out, err := openssl(t, a, a.leaf.Certificate[0], "other.local")
	assert.Error(t, err, out)
	fingerprint, err := exec.Command("openssl", "x509", "-in", a.File(), "-noout", "-fingerprint", "-sha256").Output()
	require.NoError(t, err)
	_, want, _ := strings.Cut(strings.TrimSpace(string(fingerprint)), "=")
	assert.Equal(t, want, strings.ReplaceAll(Fingerprint(a.DER()), " ", ":"))
}

func TestACertificateOfTheShopsOwn(t *testing.T) {
	a := opened(t, t.TempDir())
	dir := t.TempDir()
	certFile, keyFile := filepath.Join(dir, "own.crt"), filepath.Join(dir, "own.key")
	put := func(names Names, at time.Time) {
		leaf, err := a.sign(names, now)
		require.NoError(t, err)
		key, err := x509.MarshalPKCS8PrivateKey(leaf.PrivateKey)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(certFile, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: leaf.Certificate[0]}), 0o600))
		require.NoError(t, os.WriteFile(keyFile, pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key}), 0o600))
		require.NoError(t, os.Chtimes(certFile, at, at))
	}
	_, err := OpenOwn(certFile, keyFile)
	require.Equal(t, "certificate-broken", parts.CodeOf(err))
	put(NamesOf("one.lan"), now)
	o, err := OpenOwn(certFile, keyFile)
	require.NoError(t, err)
	assert.Equal(t, now.UTC().Add(leafDays-early).Truncate(time.Second), o.Ends())
	require.NoError(t, trusting(t, a, o.TLS(), "one.lan"))
	renewed, err := o.Refresh()
	require.NoError(t, err)
	assert.False(t, renewed)
	put(NamesOf("two.lan"), now.Add(time.Minute))
	renewed, err = o.Refresh()
	require.NoError(t, err)
	assert.True(t, renewed)
	require.NoError(t, trusting(t, a, o.TLS(), "two.lan"))
	require.NoError(t, os.WriteFile(keyFile, []byte("half"), 0o600))
	require.NoError(t, os.Chtimes(keyFile, now.Add(time.Hour), now.Add(time.Hour)))
	_, err = o.Refresh()
	require.Error(t, err)
	require.NoError(t, trusting(t, a, o.TLS(), "two.lan"), "the one of before stays")
}

// Whatever the hosts of a computer are called, sorting them twice changes
// nothing, and what comes out is a name or a number.
func TestNamesOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hosts := rapid.SliceOf(rapid.OneOf(rapid.String(), rapid.StringMatching(`[A-Za-z0-9-]{1,5}(\.[a-z]{1,4})?\.?`), rapid.StringMatching(`\[?(10|fd00:)\.?:?[0-9a-f.:]{0,8}\]?`))).Draw(t, "hosts")
		n := NamesOf(hosts...)
		again := append([]string{}, n.DNS...)
		for _, ip := range n.IPs {
			again = append(again, ip.String())
		}
		if !n.equal(NamesOf(again...)) {
			t.Fatalf("%v is not %v", n, NamesOf(again...))
		}
		for _, name := range n.DNS {
			if !isName(name) || name != strings.ToLower(name) {
				t.Fatalf("%q is no name", name)
			}
		}
	})
	assert.Equal(t, Names{DNS: []string{"shop.lan"}, IPs: []netip.Addr{netip.MustParseAddr("10.0.0.7"), netip.MustParseAddr("fe80::1")}},
		NamesOf("Shop.LAN.", "[fe80::1%eth0]", "::ffff:10.0.0.7", "shop.lan", "under_score", "-x", "", "a b"))
	assert.Equal(t, "fd00::7", HostOf("http://[fd00::7]:8080"))
	assert.Empty(t, HostOf("::"))
}
