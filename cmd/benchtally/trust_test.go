package main

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"io"
	"log/slog"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// visit asks a server by HTTPS, with the authority in a file installed.
func visit(t *testing.T, address, authority string) (string, *x509.Certificate) {
	t.Helper()
	installed, err := os.ReadFile(authority)
	require.NoError(t, err)
	pool := x509.NewCertPool()
	require.True(t, pool.AppendCertsFromPEM(installed))
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
	defer phone.CloseIdleConnections()
	res, err := phone.Get(address)
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	require.Equal(t, 2, res.ProtoMajor, "live pages need more connections than HTTP/1 lends them")
	return string(body), res.TLS.PeerCertificates[0]
}

func TestServeByHTTPS(t *testing.T) {
	db := newShop(t)
	folder := strings.TrimSuffix(db, ".db") + "-trust"
	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-https", "127.0.0.1:0", "-db", db)
	found := regexp.MustCompile(`HTTPS here:\s+(https://\S+)`).FindStringSubmatch(r.told)
	require.NotNil(t, found, r.told)
	for _, want := range []string{filepath.Join(folder, "authority.crt"), "SHA-256 to compare:", "/trust says how"} {
		require.Contains(t, r.told, want)
	}
	require.NotContains(t, r.told, "No HTTPS")
	page, first := visit(t, found[1]+"/trust", filepath.Join(folder, "authority.crt"))
	require.Contains(t, page, "This page came by HTTPS")
	require.Contains(t, first.DNSNames, "localhost")
	require.Contains(t, first.DNSNames, usualName)
	plain, err := r.opens().Get(r.address + "/")
	require.NoError(t, err)
	plain.Body.Close()
	require.Equal(t, 200, plain.StatusCode, "plain HTTP goes on")
	r.stops()

	again := starts(t, "serve", "-addr", "127.0.0.1:0", "-https", "127.0.0.1:0", "-name=", "-db", db)
	found = regexp.MustCompile(`HTTPS here:\s+(https://\S+)`).FindStringSubmatch(again.told)
	_, second := visit(t, found[1], filepath.Join(folder, "authority.crt"))
	require.NotEqual(t, first.Raw, second.Raw, "the server's key is made at each start, the authority stays")
	require.NotContains(t, second.DNSNames, usualName)
	again.stops()
	require.Empty(t, again.stderr.String())
}

// A certificate of the shop's own, here one that was made with the authority of
// another.
func TestServeWithACertificateOfItsOwn(t *testing.T) {
	db, dir := newShop(t), t.TempDir()
	n := &network{https: "127.0.0.1:0", addr: "127.0.0.1:0", host: "127.0.0.1"}
	b, err := bench.Open(t.Context(), shoptest.DSN(t), bench.Options{})
	require.NoError(t, err)
	defer b.Close()
	other, err := n.open(t.Context(), b, filepath.Join(dir, "other-trust"), slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	other.close()
	pair, err := other.tls.GetCertificate(nil)
	require.NoError(t, err)
	certFile, keyFile := writePair(t, dir, pair)

	r := starts(t, "serve", "-addr", "127.0.0.1:0", "-https", "127.0.0.1:0", "-cert", certFile, "-key", keyFile, "-db", db)
	found := regexp.MustCompile(`HTTPS here:\s+(https://\S+)`).FindStringSubmatch(r.told)
	require.NotNil(t, found, r.told)
	require.Contains(t, r.told, certFile+", until "+pair.Leaf.NotAfter.Format("2 Jan 2006"))
	page, _ := visit(t, found[1]+"/trust", other.local.File())
	require.Contains(t, page, "nothing to install")
	require.NoDirExists(t, strings.TrimSuffix(db, ".db")+"-trust")
	r.stops()

	s := runs(t, "serve", "-addr", "127.0.0.1:0", "-https", "127.0.0.1:0", "-cert", keyFile, "-key", keyFile, "-db", db)
	require.Equal(t, exitProblem, s.code)
	require.Contains(t, s.err, "cannot be used")
}

func TestFlagsThatDoNotGoTogether(t *testing.T) {
	for _, args := range [][]string{
		{"-cert", "x"}, {"-key", "x"}, {"-cert", "x", "-key", "y"}, {"-https", "8443"}, {"-addr", "8080"}, {"-only-https"},
	} {
		s := runs(t, append([]string{"serve", "-db", filepath.Join(t.TempDir(), "shop.db")}, args...)...)
		assert.Equal(t, exitUsage, s.code, "%v: %s", args, s.err)
	}
	s := runs(t, "serve", "-name", "shop.lan", "-db", filepath.Join(t.TempDir(), "shop.db"))
	assert.Equal(t, exitProblem, s.code)
	assert.Contains(t, s.err, "end in .local")
}

// The certificate follows what the labels hold, and the clock of nobody else.
func TestTheCertificateFollowsTheLabels(t *testing.T) {
	b, err := bench.Open(t.Context(), shoptest.DSN(t), bench.Options{})
	require.NoError(t, err)
	defer b.Close()
	n := &network{https: "127.0.0.1:0", addr: "127.0.0.1:0", host: "127.0.0.1"}
	r, err := n.open(t.Context(), b, filepath.Join(t.TempDir(), "trust"), slog.New(slog.DiscardHandler))
	require.NoError(t, err)
	defer r.close()
	require.False(t, r.covers("bench.shop.lan"))
	require.True(t, r.covers("127.0.0.1"))
	set, err := settle(t.Context(), b, "http://192.168.1.20:8080")
	require.NoError(t, err)
	require.True(t, set.Guessed, "nobody has chosen it")
	set.Address = "http://BENCH.shop.lan:8080"
	require.NoError(t, b.SaveSettings(t.Context(), set))
	require.NoError(t, r.certify(t.Context(), b))
	require.True(t, r.covers("bench.shop.lan"))
	kept, err := r.tls.GetCertificate(nil)
	require.NoError(t, err)
	require.NoError(t, r.certify(t.Context(), b))
	same, err := r.tls.GetCertificate(nil)
	require.NoError(t, err)
	require.Same(t, kept, same, "nothing has changed")

	set.Address = "https://bench.tern-point.example"
	var told strings.Builder
	r.tellTrust(&told, "http://127.0.0.1:8080", set)
	require.Contains(t, told.String(), "may not vouch")
	w := r.where()
	require.Empty(t, w.Numbers, "no phone reaches a server that listens on this computer only")
	require.Empty(t, w.Name)
	require.Equal(t, portOf(r.secure), w.SecurePort)
	require.Equal(t, r.local.DER(), w.Authority.DER)
}

func TestTrustFolder(t *testing.T) {
	here, err := os.Getwd()
	require.NoError(t, err)
	require.Equal(t, "/srv/shop-trust", trustFolder("/srv/shop.db"))
	require.Equal(t, filepath.Join(here, "benchtally-trust"), trustFolder("postgres://ann@10.0.0.5/shop.db"))
}

// The numbers of a machine that is on no network are none; where there are
// some, each is one of its interfaces.
func TestNumbersAt(t *testing.T) {
	require.Empty(t, numbersAt("127.0.0.1"))
	require.Empty(t, numbersAt("localhost"))
	require.Equal(t, "10.0.0.7", numbersAt("10.0.0.7")[0].String())
	for _, ip := range numbersAt("") {
		require.True(t, ip.IsPrivate() && ip.Is4())
		require.Contains(t, ownNumbers(), ip)
	}
	require.Equal(t, numbersAt(""), numbersAt("0.0.0.0"))
}

// watch ends with its context, and what it opened with it.
func TestWatchEnds(t *testing.T) {
	b, err := bench.Open(t.Context(), shoptest.DSN(t), bench.Options{})
	require.NoError(t, err)
	defer b.Close()
	r := &reach{network: network{host: "127.0.0.1", name: usualName}, log: slog.New(slog.NewTextHandler(t.Output(), nil))}
	ended := make(chan struct{})
	ctx, stop := context.WithCancel(t.Context())
	go func() { r.watch(ctx, b); close(ended) }()
	stop()
	select {
	case <-ended:
	case <-time.After(10 * time.Second):
		t.Fatal("it goes on")
	}
	require.Nil(t, r.name)
}

// writePair writes a certificate and its key as PEM files.
func writePair(t *testing.T, dir string, pair *tls.Certificate) (certFile, keyFile string) {
	t.Helper()
	key, err := x509.MarshalPKCS8PrivateKey(pair.PrivateKey)
	require.NoError(t, err)
	certFile, keyFile = filepath.Join(dir, "own.crt"), filepath.Join(dir, "own.key")
	for file, block := range map[string]*pem.Block{certFile: {Type: "CERTIFICATE", Bytes: pair.Certificate[0]}, keyFile: {Type: "PRIVATE KEY", Bytes: key}} {
		require.NoError(t, os.WriteFile(file, pem.EncodeToMemory(block), 0o600))
	}
	return certFile, keyFile
}
