package authority

import (
	"crypto/tls"
	"fmt"
	"os"
	"sync"
	"time"

	"benchtally/parts"
)

// Own is a certificate that the shop brings itself. Whoever renews its files
// need not stop the server.
type Own struct {
	certFile, keyFile string

	mu   sync.Mutex
	pair *tls.Certificate
	read time.Time // the newer of the files' times
}

// OpenOwn reads a certificate, with those of its authorities behind it, and its
// key: PEM files.
func OpenOwn(certFile, keyFile string) (*Own, error) {
	o := &Own{certFile: certFile, keyFile: keyFile}
	if _, err := o.Refresh(); err != nil {
		p := parts.Problemf(parts.Invalid, "certificate-broken", "The certificate %s and the key %s cannot be used.", certFile, keyFile).
			Next("Give the two PEM files that belong together: -cert FILE -key FILE.")
		p.Err = err
		return nil, p
	}
	return o, nil
}

// Refresh reads the files again when they have changed, and reports whether
// they had. With an error the certificate of before stays.
func (o *Own) Refresh() (renewed bool, err error) {
	var newest time.Time
	for _, file := range []string{o.certFile, o.keyFile} {
		info, err := os.Stat(file)
		if err != nil {
			return false, fmt.Errorf("look at a file of the certificate: %w", err)
		}
		if info.ModTime().After(newest) {
			newest = info.ModTime()
		}
	}
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.pair != nil && newest.Equal(o.read) {
		return false, nil
	}
	pair, err := tls.LoadX509KeyPair(o.certFile, o.keyFile)
	if err != nil {
		return false, fmt.Errorf("read the certificate: %w", err)
	}
	o.pair, o.read = &pair, newest
	return true, nil
}

// Ends is when the certificate stops to count.
func (o *Own) Ends() time.Time {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.pair.Leaf.NotAfter
}

// TLS is the side of the server. It always shows the newest certificate.
func (o *Own) TLS() *tls.Config {
	return config(func() (*tls.Certificate, error) {
		o.mu.Lock()
		defer o.mu.Unlock()
		return o.pair, nil
	})
}
