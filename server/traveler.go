package server

import (
	"bytes"
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// onPaper has the addresses of what works without a phone: travelers, what was
// signed on them, badges, and placards of racks.
func (s *Server) onPaper(r *gin.Engine) {
	r.GET("/P/:mark/traveler.pdf", s.try(s.traveler))
	r.GET("/P/:mark/signed", s.try(s.signedOnPaper))
	r.POST("/P/:mark/signed", s.try(s.enterSigned))
	r.GET("/jobs/:code/travelers.pdf", s.try(s.travelers))
	r.GET("/badges", s.try(s.badges))
	r.POST("/badges", s.try(s.addPerson))
	r.GET("/badges.pdf", s.try(s.badgeCards))
	r.GET("/W/:person", s.try(s.scanBadge))
	r.GET("/racks.pdf", s.try(s.rackPlacard))
}

// traveler sends the traveler of one assembly to print.
func (s *Server) traveler(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WriteTravelers(c.Request.Context(), &out, "", c.Param("mark")); err != nil {
		return err
	}
	id, err := parts.ParseMark(c.Param("mark"))
	if err != nil {
		return err
	}
	sendPDF(c, "traveler-"+string(id)+".pdf", out.Bytes())
	return nil
}

// travelers sends those of every assembly of a job that is not finished.
func (s *Server) travelers(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WriteTravelers(c.Request.Context(), &out, c.Param("code"), ""); err != nil {
		return err
	}
	sendPDF(c, "travelers-"+strings.ToLower(c.Param("code"))+".pdf", out.Bytes())
	return nil
}

// signedOnPaper shows the page on which it is entered what was signed on paper.
func (s *Server) signedOnPaper(c *gin.Context) error {
	page, err := s.lookSigned(c, signedPage{})
	if err != nil {
		return err
	}
	if in := page.State.In; in != "" { // what is done to the assembly is done to the part
		c.Redirect(http.StatusSeeOther, "/P/"+string(in)+"/signed")
		return nil
	}
	s.page(c, http.StatusOK, "signed", "Signed on paper", page)
	return nil
}

// enterSigned records what was signed on paper, and shows the page again with
// what was recorded and what was not.
func (s *Server) enterSigned(c *gin.Context) error {
	r, err := s.readSigned(c)
	var said bench.Signed
	if err == nil {
		said, err = s.bench.Sign(c.Request.Context(), r)
	}
	if err == nil && said.Problem != nil {
		err = said.Problem
	}
	page, status := signedPage{Recorded: said.Recorded, typed: c.Request.PostForm, kept: said.Left, stopped: said.Problem != nil}, http.StatusOK
	if err != nil {
		page.Problem, status = s.problemOf(c, err)
	}
	page, shown := s.lookSigned(c, page)
	if shown != nil {
		return shown
	}
	s.page(c, status, "signed", "Signed on paper", page)
	return nil
}
