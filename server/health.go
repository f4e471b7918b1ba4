package server

import (
	"context"
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// running adds what those need who keep the server running.
func (s *Server) running(r *gin.Engine) {
	r.GET("/healthz", s.showHealth)
	r.GET("/metrics", s.showMetrics())
}

// health is what keeps the shop from being read or saved; nil for nothing.
func (s *Server) health(ctx context.Context) error { return s.bench.Health(ctx) }

// showHealth says in one line whether the server does its work. Anybody may
// ask, so it says nothing about the shop.
func (s *Server) showHealth(c *gin.Context) {
	c.Header("Cache-Control", "no-store")
	if err := s.health(c.Request.Context()); err != nil {
		p := parts.AsProblem(err) // the log has it since it began
		if p == nil {
			p, _ = s.problemOf(c, err)
		}
		c.String(http.StatusServiceUnavailable, "%s\n", s.words(c).Say(p))
		return
	}
	c.String(http.StatusOK, "ok\n")
}
