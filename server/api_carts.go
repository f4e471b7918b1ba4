package server

import (
	"net/http"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
)

// cartAdded asks for a new cart.
type cartAdded struct {
	ID   string `json:"id"`
	Name string `json:"name"` // of its own; "" for a number
	By   string `json:"by"`
}

// loaded puts something on a cart; an empty one takes it off.
type loaded struct {
	deed
	Cart  string `json:"cart"`
	Count int    `json:"count"`
}

// cartJSON is a cart in a list.
type cartJSON struct {
	Mark  parts.ID `json:"mark"`
	Name  string   `json:"name"`
	Count int      `json:"count"` // pieces that lie on it
}

func (s *Server) apiCarts(c *gin.Context) error {
	all, err := s.bench.Carts(c.Request.Context())
	if err != nil {
		return err
	}
	out := make([]cartJSON, 0, len(all))
	for _, cart := range all {
		out = append(out, cartJSON{Mark: cart.Part, Name: cart.Name, Count: cart.Count})
	}
	return answer(c, http.StatusOK, out)
}

// apiAddCart makes the next cart. Like all that is made it has an address.
func (s *Server) apiAddCart(c *gin.Context) error {
	var b cartAdded
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	a, err := s.bench.AddCart(c.Request.Context(), id, b.Name, b.By)
	if err != nil {
		return err
	}
	c.Header("Location", "/api/v1/parts/"+string(a.Mark))
	return answer(c, http.StatusCreated, a)
}

func (s *Server) apiLoad(c *gin.Context) error {
	var b loaded
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	r, err := request(b.deed)
	if err != nil {
		return err
	}
	r.Cart, r.Count = b.Cart, b.Count
	return s.did(c)(s.bench.Load(c.Request.Context(), r))
}
