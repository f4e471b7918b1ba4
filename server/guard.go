package server

import (
	"errors"
	"fmt"
	"maps"
	"net/http"
	"runtime/debug"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// policy is the content policy of every page: nothing comes from elsewhere,
// and no script or style stands in a page. What a person wrote is text
// wherever it lands; this is the second lock on that door.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; object-src 'none'; frame-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// scanPolicy is that of the scanning page: its reader of codes is compiled
// code, which no other page may run, and it shows pictures it has just taken.
var scanPolicy = strings.NewReplacer("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'", "img-src 'self' data:", "img-src 'self' data: blob:").Replace(policy)

// guards are the headers that every page has, and every file of one. The camera
// is for the scanning page; nothing here needs to know where a phone is.
var guards = map[string]string{
	"Content-Security-Policy":      policy,
	"X-Content-Type-Options":       "nosniff",
	"X-Frame-Options":              "DENY",
	"Referrer-Policy":              "same-origin",
	"Permissions-Policy":           "camera=(self), microphone=(), geolocation=(), payment=(), usb=()",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Cross-Origin-Resource-Policy": "same-origin",
}

// apiGuards are those of an answer to a program, which is no page and is in no
// frame. With what else such an answer has they are eight: a head of more has to
// be made twice.
var apiGuards = map[string]string{
	"Content-Security-Policy":      "default-src 'none'; frame-ancestors 'none'",
	"X-Content-Type-Options":       "nosniff",
	"Cross-Origin-Resource-Policy": "same-origin",
}

// Guards as a head has them: every answer shares them.
var guardLines, apiGuardLines = headLines(guards), headLines(apiGuards)

func headLines(guards map[string]string) map[string][]string {
	lines := map[string][]string{}
	for name, value := range guards {
		lines[name] = []string{value}
	}
	return lines
}

func (s *Server) guarded(c *gin.Context) {
	lines := guardLines
	if forPrograms(c.Request.URL.Path) {
		lines = apiGuardLines
	}
	maps.Copy(c.Writer.Header(), lines)
	c.Next()
}

// recovered turns a panic into a logged fault.
func (s *Server) recovered(c *gin.Context) {
	defer func() {
		if r := recover(); r != nil && r != http.ErrAbortHandler {
			s.fail(c, fmt.Errorf("panic: %v\n%s", r, debug.Stack()))
			c.Abort()
		}
	}()
	c.Next()
}

// mostFormMemory is how much of a form may be files in memory: all of it, so
// that nothing is ever written into a folder on the way.
const mostFormMemory = mostUpload

// formed reads a form before its handler does: one that is too large, has too
// many fields or arrives in pieces is refused instead of being taken for an
// empty one. Programs and the scanning page send no forms.
func (s *Server) formed(c *gin.Context) {
	r := c.Request
	if r.Method == http.MethodGet || strings.HasPrefix(r.URL.Path, "/api/") || strings.HasPrefix(r.URL.Path, "/scan/") {
		c.Next()
		return
	}
	err := r.ParseForm() // says what the next one keeps to itself
	if err == nil {
		err = r.ParseMultipartForm(mostFormMemory)
	}
	if err != nil && !errors.Is(err, http.ErrNotMultipart) {
		s.fail(c, badForm(err))
		c.Abort()
		return
	}
	c.Next()
}

func badForm(err error) error {
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		return err
	}
	return parts.Problemf(parts.Invalid, "form-unreadable", "The form did not arrive whole, or it has too many fields.").
		Next("Go back and send it again.")
}
