package server

import (
	"bytes"
	"net/http"
	"net/url"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// cartsPage is the list of the shop's carts.
type cartsPage struct {
	Carts []bench.CartRow
	Made  *bench.CartRow // the one that was added just now
}

// carts shows every cart, with how much lies on it.
func (s *Server) carts(c *gin.Context) error {
	all, err := s.bench.Carts(c.Request.Context())
	if err != nil {
		return err
	}
	page := cartsPage{Carts: all}
	for _, cart := range all {
		if string(cart.Part) == c.Query("made") {
			page.Made = &cart
		}
	}
	s.page(c, http.StatusOK, "carts", "Carts", page)
	return nil
}

// addCart makes the next cart. The id comes with the page: a button pressed
// twice makes one cart.
func (s *Server) addCart(c *gin.Context) error {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return err
	}
	a, err := s.bench.AddCart(c.Request.Context(), id, c.PostForm("name"), visitor(c).Name)
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/carts?made="+url.QueryEscape(string(a.Mark)))
	return nil
}

// cartTags sends the tags to print, of all carts or of one.
func (s *Server) cartTags(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WriteCartTags(c.Request.Context(), &out, c.Query("cart")); err != nil {
		return err
	}
	sendPDF(c, "cart-tags.pdf", out.Bytes())
	return nil
}
