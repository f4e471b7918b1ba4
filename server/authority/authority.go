// Package authority makes the certificates that let phones on a shop's own
// network use HTTPS: a certificate authority of the shop's own, kept in a
// folder, and server certificates that it signs for the names and numbers of
// this computer. It owns keys, certificates and their renewal. It listens to
// nothing and knows no page.
package authority

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"benchtally/parts"
)

// The files of an authority's folder. One file holds key and certificate, so
// that a power cut leaves both or neither; the other is the certificate alone,
// to be carried to a phone or a computer.
const (
	secretFile = "authority.pem"
	publicFile = "authority.crt"
)

// Authority signs the certificate of one server. It may be used by several
// goroutines.
type Authority struct {
	cert *x509.Certificate
	key  *ecdsa.PrivateKey
	dir  string

	mu   sync.Mutex
	leaf *tls.Certificate
}

// Open reads the authority in a folder, and makes the folder and a new
// authority when there is none or when its time is over. Host is the name of
// this computer; own are names beside the usual ones of a local network for
// which a new authority may sign.
func Open(dir, host string, own Names, now time.Time) (*Authority, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the folder of the certificates: %w", err)
	}
	a, err := read(dir)
	if err != nil {
		return nil, err
	}
	if a == nil || a.cert.NotAfter.Sub(now) < lastDays {
		if a, err = found(dir, host, own, now); err != nil {
			return nil, err
		}
	}
	return a, a.publish()
}

// read gives the authority in a folder, nil for none. The key is the owner's
// alone, whatever the file was copied with.
func read(dir string) (*Authority, error) {
	path := filepath.Join(dir, secretFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, fmt.Errorf("read the authority: %w", err)
	}
	if err := os.Chmod(path, 0o600); err != nil {
		return nil, fmt.Errorf("keep the authority's key from others: %w", err)
	}
	pair, err := tls.X509KeyPair(data, data)
	if err != nil {
		return nil, broken(path, err)
	}
	key, ok := pair.PrivateKey.(*ecdsa.PrivateKey)
	if !ok || !pair.Leaf.IsCA {
		return nil, broken(path, errors.New("it holds no authority of this program"))
	}
	return &Authority{cert: pair.Leaf, key: key, dir: dir}, nil
}

func broken(path string, cause error) error {
	p := parts.Problemf(parts.Invalid, "authority-broken", "The file %s cannot be read as a certificate authority.", path).
		Next("Put it back from a backup, or move it away: a new one is made then, and each phone has to install it.")
	p.Err = cause
	return p
}

// found makes a new authority and keeps it.
func found(dir, host string, own Names, now time.Time) (*Authority, error) {
	a, err := newAuthority(host, own, now)
	if err != nil {
		return nil, err
	}
	a.dir = dir
	key, err := x509.MarshalPKCS8PrivateKey(a.key)
	if err != nil {
		return nil, fmt.Errorf("write the authority's key: %w", err)
	}
	var out bytes.Buffer
	pem.Encode(&out, &pem.Block{Type: "PRIVATE KEY", Bytes: key}) // into memory
	out.Write(a.PEM())
	return a, replace(filepath.Join(dir, secretFile), out.Bytes(), 0o600)
}

// publish writes the certificate for whoever wants to carry it by hand.
func (a *Authority) publish() error {
	return replace(a.File(), a.PEM(), 0o644)
}

// replace writes a file so that it is there whole or not at all.
func replace(path string, data []byte, mode fs.FileMode) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*") // its mode is 0600
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	defer os.Remove(f.Name()) // gone already when all went well
	_, err = f.Write(data)
	err = errors.Join(err, f.Sync(), f.Close(), os.Chmod(f.Name(), mode))
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return nil
}

// File is where the certificate lies for whoever wants to carry it by hand.
func (a *Authority) File() string { return filepath.Join(a.dir, publicFile) }

// DER is the authority's certificate as phones install it.
func (a *Authority) DER() []byte { return a.cert.Raw }

// PEM is the same as text.
func (a *Authority) PEM() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: a.cert.Raw})
}

// Name is what a phone calls the authority in its list.
func (a *Authority) Name() string { return a.cert.Subject.CommonName }

// Fingerprint is the SHA-256 of a certificate as people compare it: pairs of
// hexadecimal digits.
func Fingerprint(der []byte) string {
	sum := sha256.Sum256(der)
	digits := strings.ToUpper(hex.EncodeToString(sum[:]))
	pairs := make([]string, len(sum))
	for i := range pairs {
		pairs[i] = digits[2*i : 2*i+2]
	}
	return strings.Join(pairs, " ")
}
