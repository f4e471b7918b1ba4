package server_test

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"net/url"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
	"benchtally/server"
	"benchtally/server/authority"
)

// reached is a shop whose server knows how it is reached.
type reached struct {
	shop
	where  server.Where
	https  string // the address by HTTPS
	ca     *authority.Authority
	secure *http.Server
}

// reachable starts a shop over plain HTTP and over HTTPS, at numbers of its
// own invention.
func reachable(t testing.TB) *reached {
	r := &reached{shop: shop{clock: shoptest.NewClock()}}
	r.bench = shoptest.Open(t, r.clock)
	var err error
	r.ca, err = authority.Open(t.TempDir(), "bench-laptop", authority.Names{}, time.Now())
	require.NoError(t, err)
	_, err = r.ca.Vouch(authority.NamesOf("localhost", "127.0.0.1", "benchtally.local", "192.168.1.20"), time.Now())
	require.NoError(t, err)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	port := l.Addr().(*net.TCPAddr).Port
	r.https = "https://" + l.Addr().String()
	r.where = server.Where{
		Port: 8080, SecurePort: port, Numbers: []netip.Addr{netip.MustParseAddr("192.168.1.20")}, Name: "benchtally.local",
		Covers:    func(host string) bool { return host == "127.0.0.1" || host == "benchtally.local" },
		Authority: &server.Authority{Name: r.ca.Name(), DER: r.ca.DER(), Fingerprint: authority.Fingerprint(r.ca.DER())},
	}
	h, err := server.New(server.Config{Bench: r.bench, Log: slog.New(slog.NewTextHandler(t.Output(), nil)), Demo: true, Where: func() server.Where { return r.where }})
	require.NoError(t, err)
	web := httptest.NewServer(h)
	r.url = web.URL
	r.secure = &http.Server{Handler: h, TLSConfig: r.ca.TLS(), ErrorLog: slog.NewLogLogger(slog.DiscardHandler, slog.LevelWarn)}
	go r.secure.ServeTLS(l, "", "")
	t.Cleanup(func() {
		h.Close()
		web.CloseClientConnections()
		web.Close()
		r.secure.Close()
	})
	return r
}

func (r *reached) settings(t testing.TB, change func(*parts.Settings)) {
	t.Helper()
	set, err := r.bench.Settings(context.Background())
	require.NoError(t, err)
	change(&set)
	require.NoError(t, r.bench.SaveSettings(context.Background(), set))
}

// At the first start the floor asks for a choice, and says nothing of it after.
func TestTheAddressIsChosenOnce(t *testing.T) {
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address, set.Guessed = "http://192.168.1.20:8080", true })
	_, floor := get(t, r.url+"/")
	assert.Contains(t, floor, "Choose the address in the codes")
	_, page := get(t, r.url+"/settings/address")
	for _, want := range []string{"http://192.168.1.20:8080", "http://benchtally.local:8080", "reserve this one there", "squares of", `class="qr"`} {
		assert.Contains(t, page, want)
	}
	assert.NotContains(t, page, "In use")
	form := url.Values{"shop": {"Shop"}, "address": {"http://192.168.1.20:8080"}, "zone": {"Europe/Berlin"}, "unit": {"mm"}, "denominator": {"32"}, "paper": {"a4"}, "sheet": {"a4-3x8"}}
	status, _ := post(t, r.url+"/settings", form)
	require.Equal(t, 200, status)
	_, floor = get(t, r.url+"/")
	assert.Contains(t, floor, "Choose the address in the codes", "other settings are no choice of the address")

	status, page = post(t, r.url+"/settings/address", url.Values{"address": {" http://benchtally.local:8080/ "}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "Kept")
	assert.Contains(t, page, "In use")
	_, floor = get(t, r.url+"/")
	assert.NotContains(t, floor, "/settings/address")
	status, page = post(t, r.url+"/settings/address", url.Values{"address": {"the laptop"}})
	require.Equal(t, http.StatusBadRequest, status)
	assert.Contains(t, page, "the laptop")
	set, err := r.bench.Settings(t.Context())
	require.NoError(t, err)
	assert.Equal(t, "http://benchtally.local:8080", set.Address)
	assert.Equal(t, "Europe/Berlin", set.Zone)
}

// The host in a code is in capitals, and the mark is read all the same.
func TestACodeHoldsCapitals(t *testing.T) {
	r := reachable(t)
	job := shoptest.ListJob(t, r.bench, "Tern Point lockers", shoptest.FramesList, nil)
	r.settings(t, func(set *parts.Settings) { set.Address = "http://benchtally.local:8080" })
	_, err := r.bench.Print(t.Context(), bench.PrintRequest{ID: shoptest.NewID(), Job: job.Job.Code, What: "labels"})
	require.NoError(t, err)
	mark := named(t, &r.shop, job.Job.Code, "Rail 1", parts.Single)
	status, page := get(t, r.url+"/find?mark="+url.QueryEscape("http://BENCHTALLY.LOCAL:8080/P/"+mark))
	require.Equal(t, 200, status)
	assert.Contains(t, page, "Rail 1")
}

// The router gave another number: the floor says so, and how it is put right.
func TestTheNumberHasChanged(t *testing.T) {
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.20:8080" })
	_, floor := get(t, r.url+"/")
	assert.NotContains(t, floor, "Put it right")
	r.where.Numbers = []netip.Addr{netip.MustParseAddr("192.168.1.31")}
	_, floor = get(t, r.url+"/")
	assert.Contains(t, floor, "They say</span> http://192.168.1.20:8080")
	assert.Contains(t, floor, "http://192.168.1.31:8080")
	assert.Contains(t, floor, "Put it right")
	_, page := get(t, r.url+"/settings/address")
	assert.Contains(t, page, "<b>192.168.1.20</b>", "the number to reserve")
	assert.Contains(t, page, "http://192.168.1.31:8080")
	_, page = post(t, r.url+"/settings/address", url.Values{"address": {"http://192.168.1.31:8080"}})
	assert.NotContains(t, page, "lead nowhere")
	r.where.Port = 8081
	_, page = get(t, r.url+"/settings/address")
	assert.Contains(t, page, "lead nowhere")
	assert.NotContains(t, page, "reserve it", "the number is right, the port is not")
}

func TestWhatAPhoneInstalls(t *testing.T) {
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.20:8080" })
	_, page := get(t, r.url+"/trust")
	for _, want := range []string{"/trust/ca.crt", authority.Fingerprint(r.ca.DER()), r.https + "/trust", "Profile Downloaded", "CA certificate", r.ca.Name()} {
		assert.Contains(t, page, want)
	}
	res, err := http.Get(r.url + "/trust/ca.crt")
	require.NoError(t, err)
	defer res.Body.Close()
	der, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	assert.Equal(t, "application/x-x509-ca-cert", res.Header.Get("Content-Type"))
	cert, err := x509.ParseCertificate(der)
	require.NoError(t, err)

	pool := x509.NewCertPool()
	pool.AddCert(cert)
	phone := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}, ForceAttemptHTTP2: true}}
	res, err = phone.Get(r.https + "/trust")
	require.NoError(t, err)
	defer res.Body.Close()
	body, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	assert.Equal(t, 2, res.ProtoMajor, "the live pages need more than six connections")
	assert.Contains(t, string(body), "This page came by HTTPS")
	assert.Empty(t, res.Header.Get("Strict-Transport-Security"), "it would shut the plain addresses of the labels")
	phone.CloseIdleConnections()
}

func TestTrustWithoutAnAuthority(t *testing.T) {
	r := reachable(t)
	r.settings(t, func(set *parts.Settings) { set.Address = "https://bench.tern-point.example" })
	r.where.Authority = nil
	_, page := get(t, r.url+"/trust")
	assert.Contains(t, page, "nothing to install")
	status, _ := get(t, r.url+"/trust/ca.crt")
	assert.Equal(t, http.StatusNotFound, status)
	blind := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{InsecureSkipVerify: true}}}
	strict := func() string {
		res, err := blind.Get(r.https + "/trust")
		require.NoError(t, err)
		res.Body.Close()
		return res.Header.Get("Strict-Transport-Security")
	}
	assert.NotEmpty(t, strict(), "a certificate and labels of the shop's own")
	res, err := http.Get(r.url + "/trust")
	require.NoError(t, err)
	res.Body.Close()
	assert.Empty(t, res.Header.Get("Strict-Transport-Security"), "never over plain HTTP")
	r.settings(t, func(set *parts.Settings) { set.Address = "http://192.168.1.20:8080" })
	assert.Empty(t, strict(), "labels that hold a plain address")
	r.where.SecurePort = 0
	_, page = get(t, r.url+"/trust")
	assert.Contains(t, page, "-https :8443")
	blind.CloseIdleConnections()
}

// Where plain HTTP only leads to HTTPS, a phone still gets what it installs,
// and browsers are told to come by HTTPS only where every port means so.
func TestOnlyHTTPS(t *testing.T) {
	r := reachable(t)
	r.where.OnlySecure = true
	stays := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := stays.Get(r.url + "/jobs?x=1")
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, http.StatusTemporaryRedirect, res.StatusCode)
	assert.Equal(t, "/trust?next=%2Fjobs%3Fx%3D1", res.Header.Get("Location"), "a phone that never came by HTTPS would be met by a warning")
	known, err := http.NewRequest("GET", r.url+"/jobs?x=1", nil)
	require.NoError(t, err)
	known.AddCookie(&http.Cookie{Name: "https", Value: "1"})
	res, err = stays.Do(known)
	require.NoError(t, err)
	res.Body.Close()
	assert.Equal(t, r.https+"/jobs?x=1", res.Header.Get("Location"))
	for path, want := range map[string]int{"/trust": 200, "/trust/ca.crt": 200} {
		status, _ := get(t, r.url+path)
		assert.Equal(t, want, status, path)
	}
	status, body := post(t, r.url+"/who", url.Values{"who": {"Rosa"}})
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, body, "open by HTTPS only")

	cert, err := x509.ParseCertificate(r.ca.DER())
	require.NoError(t, err)
	pool := x509.NewCertPool()
	pool.AddCert(cert)
	strict := func() string {
		trusting := &http.Client{Transport: &http.Transport{TLSClientConfig: &tls.Config{RootCAs: pool}}}
		defer trusting.CloseIdleConnections()
		res, err := trusting.Get(r.https + "/")
		require.NoError(t, err)
		res.Body.Close()
		return res.Header.Get("Strict-Transport-Security")
	}
	assert.Empty(t, strict(), "port 8080 would be asked for HTTPS too")
	r.where.Port, r.where.SecurePort = 80, 443
	assert.Equal(t, "max-age=2592000", strict())
}
