package server

import (
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// staff has the addresses of who works here.
func (s *Server) staff(r *gin.Engine) {
	r.GET("/people", s.try(s.people))
	r.POST("/people", s.try(s.addMember))
	r.POST("/people/:person", s.try(s.changeMember))
}

// peoplePage lists who works here, and how they sign on.
type peoplePage struct {
	People  []bench.Member
	Problem *parts.Problem
}

func (s *Server) people(c *gin.Context) error { return s.showPeople(c, http.StatusOK, nil) }

func (s *Server) showPeople(c *gin.Context, status int, p *parts.Problem) error {
	people, err := s.bench.Members(c.Request.Context())
	if err != nil {
		return err
	}
	s.page(c, status, "people", "People", peoplePage{People: people, Problem: p})
	return nil
}

func (s *Server) addMember(c *gin.Context) error {
	return s.thenPeople(c, s.bench.AddPerson(c.Request.Context(), c.PostForm("name")))
}

// thenPeople shows the people after a change, or what is wrong with it.
func (s *Server) thenPeople(c *gin.Context, err error) error {
	if err != nil {
		return s.again(c, err, func(status int, p *parts.Problem) { s.showPeople(c, status, p) })
	}
	c.Redirect(http.StatusSeeOther, "/people")
	return nil
}

// changeMember does one thing to a person: another name, a PIN, an owner's
// password, or erasing the name.
func (s *Server) changeMember(c *gin.Context) error {
	id, err := strconv.ParseInt(c.Param("person"), 10, 64)
	if err != nil {
		return noSuchPage()
	}
	ctx := c.Request.Context()
	name, err := s.bench.PersonByID(ctx, id)
	if err != nil {
		return err
	}
	switch c.PostForm("do") {
	case "rename":
		err = s.bench.Rename(ctx, id, c.PostForm("name"))
	case "pin":
		err = s.bench.SetPIN(ctx, id, c.PostForm("pin"))
	case "no-pin":
		err = s.bench.SetPIN(ctx, id, "")
	case "owner":
		err = s.bench.SetOwner(ctx, name, c.PostForm("password"))
	case "no-owner":
		err = s.bench.NoOwner(ctx, id)
	case "erase":
		err = s.bench.Erase(ctx, id)
	default:
		err = noSuchPage()
	}
	return s.thenPeople(c, err)
}
