package authority

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"errors"
	"fmt"
	"math/big"
	"net"
	"time"
)

const (
	day = 24 * time.Hour
	// early backdates a certificate: the clock of a phone may be behind.
	early = day
	// leafDays is how long a server's certificate counts. Browsers and phones
	// refuse server certificates of more than 398 days from the authorities
	// they come with, and of more than 825 from those a person installs (from
	// memory, vendors' notes of 2019 and 2020).
	leafDays = 396 * day
	// renewDays before its end a server's certificate is replaced.
	renewDays = 60 * day
	// authorityYears is how long an authority counts: each phone must install
	// the next one, so seldom.
	authorityYears = 10
	// lastDays before the end of an authority a start makes the next one.
	lastDays = 30 * day
)

// newAuthority makes a key and a certificate that signs with it. Its name
// constraints (RFC 5280, 4.2.1.10) keep whoever steals the key from passing for
// any site outside a local network.
func newAuthority(host string, own Names, now time.Time) (*Authority, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make the authority's key: %w", err)
	}
	begins := now.Add(-early).UTC()
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: "benchtally at " + host + ", " + now.UTC().Format("2 Jan 2006")},
		NotBefore: begins, NotAfter: begins.AddDate(authorityYears, 0, 0),
		IsCA: true, BasicConstraintsValid: true, MaxPathLenZero: true, KeyUsage: x509.KeyUsageCertSign,
		PermittedDNSDomainsCritical: true, PermittedDNSDomains: append(append([]string{}, localDomains...), own.DNS...),
		PermittedIPRanges: ranges(own.IPs),
	}
	cert, err := sign(t, t, &key.PublicKey, key)
	if err != nil {
		return nil, fmt.Errorf("make the authority: %w", err)
	}
	return &Authority{cert: cert, key: key}, nil
}

// Vouch sees to it that the server's certificate is good for names at a time.
// It makes another one when there is none, when names have changed and before
// its time is over, and reports whether it did. Names outside those that the
// authority may sign for are left out: see May.
func (a *Authority) Vouch(names Names, now time.Time) (renewed bool, err error) {
	names = a.within(names)
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.leaf != nil && names.equal(namesOf(a.leaf.Leaf)) && a.leaf.Leaf.NotAfter.Sub(now) > renewDays && !now.Before(a.leaf.Leaf.NotBefore) {
		return false, nil
	}
	leaf, err := a.sign(names, now)
	if err != nil {
		return false, err
	}
	a.leaf = leaf
	return true, nil
}

// sign makes a server's certificate with a key of its own. The key is kept in
// memory only: a start makes another one.
func (a *Authority) sign(names Names, now time.Time) (*tls.Certificate, error) {
	if len(names.DNS) == 0 {
		return nil, errors.New("a server's certificate needs a name")
	}
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		return nil, fmt.Errorf("make the server's key: %w", err)
	}
	begins := now.Add(-early).UTC()
	ends := begins.Add(leafDays)
	if ends.After(a.cert.NotAfter) {
		ends = a.cert.NotAfter
	}
	t := &x509.Certificate{
		SerialNumber: serial(), Subject: pkix.Name{CommonName: names.DNS[0]}, NotBefore: begins, NotAfter: ends,
		BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
		DNSNames: names.DNS,
	}
	for _, ip := range names.IPs {
		t.IPAddresses = append(t.IPAddresses, net.IP(ip.AsSlice()))
	}
	cert, err := sign(t, a.cert, &key.PublicKey, a.key)
	if err != nil {
		return nil, fmt.Errorf("make the server's certificate: %w", err)
	}
	return &tls.Certificate{Certificate: [][]byte{cert.Raw, a.cert.Raw}, PrivateKey: key, Leaf: cert}, nil
}

func sign(t, by *x509.Certificate, public *ecdsa.PublicKey, key *ecdsa.PrivateKey) (*x509.Certificate, error) {
	der, err := x509.CreateCertificate(rand.Reader, t, by, public, key)
	if err != nil {
		return nil, err
	}
	return x509.ParseCertificate(der)
}

// serial is a number nobody can guess, of at most 20 octets (RFC 5280, 4.1.2.2).
func serial() *big.Int {
	n, err := rand.Int(rand.Reader, new(big.Int).Lsh(big.NewInt(1), 126))
	if err != nil {
		panic(err) // crypto/rand never fails
	}
	return n.Add(n, big.NewInt(1))
}

// TLS is the side of the server. It always shows the newest certificate.
func (a *Authority) TLS() *tls.Config { return config(a.current) }

func (a *Authority) current() (*tls.Certificate, error) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.leaf == nil {
		return nil, errors.New("the server has no certificate yet")
	}
	return a.leaf, nil
}

func config(current func() (*tls.Certificate, error)) *tls.Config {
	return &tls.Config{
		MinVersion: tls.VersionTLS12,
		// Named here, since a server that also listens without TLS would
		// promise HTTP/2 and not keep it.
		NextProtos:     []string{"h2", "http/1.1"},
		GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return current() },
	}
}
