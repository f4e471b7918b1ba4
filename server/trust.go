package server

import (
	"net/http"
	"net/url"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// trustPage says how a phone gets to trust the server.
type trustPage struct {
	Authority *Authority // nil without one to install
	Secure    string     // the address by HTTPS, "" without
	Here      bool       // this page came by HTTPS
	Open      string     // the address of this page, for other phones
	Next      string     // where this phone was going
}

func (s *Server) trust(c *gin.Context) error {
	w := s.where()
	page := trustPage{Authority: w.Authority, Secure: w.secure(c.Request.Host), Here: c.Request.TLS != nil, Next: here(c.Query("next"), "/")}
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	if now := w.addresses(); w.Leads(set.Address) && !s.words(c).OnlyHere() {
		page.Open = set.Address + "/trust"
	} else if len(now) > 0 {
		page.Open = now[0] + "/trust"
	}
	s.page(c, http.StatusOK, "trust", "HTTPS", page)
	return nil
}

// authority sends the certificate that phones install. Phones know it by its
// type, and some take it only as a page, not as a file to keep.
func (s *Server) authority(c *gin.Context) error {
	a := s.where().Authority
	if a == nil {
		return parts.Problemf(parts.Missing, "no-authority", "This server has no certificate for phones to install.").
			Next("Start it with -https :8443, unless it has a certificate of your own.")
	}
	c.Header("Cache-Control", "no-store")
	c.Data(http.StatusOK, "application/x-x509-ca-cert", a.DER)
	return nil
}

// openPlain are the addresses that plain HTTP has where all else wants HTTPS:
// a phone that does not trust the server yet needs them.
var openPlain = map[string]bool{"/trust": true, "/trust/ca.crt": true, "/static/*file": true}

// secured leads to HTTPS where the shop wants nothing else.
func (s *Server) secured(c *gin.Context) {
	w := s.where()
	switch {
	case !w.OnlySecure || openPlain[c.FullPath()]:
		c.Next()
	case c.Request.TLS != nil:
		if cookie(c, "https") == "" {
			remember(c, "https", "1")
		}
		c.Next()
	case c.Request.Method == http.MethodGet && w.Authority != nil && cookie(c, "https") == "":
		// It never came by HTTPS, so perhaps it would be met by a warning.
		c.Redirect(http.StatusTemporaryRedirect, "/trust?next="+url.QueryEscape(c.Request.URL.RequestURI()))
		c.Abort()
	case c.Request.Method == http.MethodGet:
		c.Redirect(http.StatusTemporaryRedirect, w.secure(c.Request.Host)+c.Request.URL.RequestURI())
		c.Abort()
	default:
		s.fail(c, parts.Problemf(parts.Forbidden, "only-https", "This shop is open by HTTPS only.").Next("Open its page again: it leads there."))
		c.Abort()
	}
}

// strict tells browsers to come by HTTPS only (RFC 6797), where that is wise:
// with a certificate of the shop's own, once the labels hold an address of
// HTTPS too, or where plain HTTP leads to HTTPS at the usual ports. It counts for a host and not for a port, so with the local
// authority, whose labels hold plain addresses so that every phone can open
// them, it would turn each label into an address that nobody answers, and a
// phone that lacks the authority could not go on at all.
func (s *Server) strict(c *gin.Context) {
	w := s.where()
	usual := w.OnlySecure && w.Port == 80 && w.SecurePort == 443
	switch {
	case c.Request.TLS == nil:
	case usual:
		c.Header("Strict-Transport-Security", "max-age=2592000")
	case w.Authority == nil:
		if set, err := s.bench.Settings(c.Request.Context()); err == nil && strings.HasPrefix(set.Address, "https://") {
			c.Header("Strict-Transport-Security", "max-age=2592000") // 30 days: a shop may change its mind
		}
	}
	c.Next()
}
