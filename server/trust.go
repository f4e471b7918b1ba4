package server

import (
	"net/http"
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
}

func (s *Server) trust(c *gin.Context) error {
	w := s.where()
	page := trustPage{Authority: w.Authority, Secure: w.secure(c.Request.Host), Here: c.Request.TLS != nil}
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

// strict tells browsers to come by HTTPS only (RFC 6797), where that is wise:
// with a certificate of the shop's own, once the labels hold an address of
// HTTPS too. It counts for a host and not for a port, so with the local
// authority, whose labels hold plain addresses so that every phone can open
// them, it would turn each label into an address that nobody answers, and a
// phone that lacks the authority could not go on at all.
func (s *Server) strict(c *gin.Context) {
	if c.Request.TLS != nil && s.where().Authority == nil {
		if set, err := s.bench.Settings(c.Request.Context()); err == nil && strings.HasPrefix(set.Address, "https://") {
			c.Header("Strict-Transport-Security", "max-age=2592000") // 30 days: a shop may change its mind
		}
	}
	c.Next()
}
