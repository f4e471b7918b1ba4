package server

import (
	"context"
	"fmt"
	"html/template"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
)

// addressPage is the choice of the address that the codes hold.
type addressPage struct {
	Offers  []addressOffer
	Own     string // what was written instead
	Format  string // the labels that the previews are for
	Lost    lostAddress
	Problem *parts.Problem
	Saved   bool
}

// addressOffer is one address with what its code comes to.
type addressOffer struct {
	Address string
	ByName  bool
	Chosen  bool
	Fit     labels.Fit
	Problem *parts.Problem // the code does not fit the labels
}

// Code is the code as large as on the label.
func (o addressOffer) Code() template.HTML { return template.HTML(o.Fit.SVG) }

// OnlyHere reports whether no phone can open the address.
func (o addressOffer) OnlyHere() bool { return onlyHere(o.Address) }

// Square is the side of a square of the code.
func (o addressOffer) Square() string {
	return fmt.Sprintf("%.2f\u00A0mm", float64(o.Fit.Square)/float64(parts.Millimetre))
}

// lostAddress is what the floor says of an address that leads nowhere, or that
// nobody has chosen. Both are empty when all is well.
type lostAddress struct {
	Choose  bool
	Address string // that the labels hold and that does not lead here
	Now     string // where the server is
	Number  string // that the router should give again, when the labels hold one
}

func (s *Server) lostAddress(ctx context.Context) (lostAddress, error) {
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return lostAddress{}, err
	}
	w := s.where()
	now := w.addresses()
	if set.Address == "" || len(now) == 0 {
		return lostAddress{}, nil
	}
	lost := lostAddress{Choose: set.Guessed}
	if w.Leads(set.Address) {
		return lost, nil
	}
	lost.Address, lost.Now = set.Address, now[0]
	if u, err := url.Parse(set.Address); err == nil {
		if ip, err := netip.ParseAddr(u.Hostname()); err == nil && !slices.Contains(w.Numbers, ip.Unmap()) {
			lost.Number = ip.String()
		}
	}
	return lost, nil
}

func (s *Server) address(c *gin.Context) error {
	page, err := s.addressPage(c)
	if err != nil {
		return err
	}
	page.Saved = c.Query("saved") != ""
	s.page(c, http.StatusOK, "address", "The address in the codes", page)
	return nil
}

func (s *Server) addressPage(ctx context.Context) (addressPage, error) {
	set, err := s.bench.Settings(ctx)
	if err != nil {
		return addressPage{}, err
	}
	format, err := s.bench.Format(ctx, set.Sheet)
	if err != nil {
		return addressPage{}, err
	}
	page := addressPage{Format: format.Name}
	if page.Lost, err = s.lostAddress(ctx); err != nil {
		return page, err
	}
	all := s.where().addresses()
	if set.Address != "" && page.Lost.Address == "" && !slices.Contains(all, set.Address) {
		all = append(all, set.Address)
	}
	for _, a := range all {
		page.Offers = append(page.Offers, offerOf(set, a, format))
	}
	return page, nil
}

func offerOf(set parts.Settings, address string, format bench.Format) addressOffer {
	u, err := url.Parse(address)
	o := addressOffer{Address: address, Chosen: address == set.Address && !set.Guessed}
	if err == nil {
		_, err := netip.ParseAddr(u.Hostname())
		o.ByName = err != nil
	}
	mark, _ := parts.NextMark(parts.FirstSerial)
	set.Address = address
	o.Fit, err = labels.FitOf(format.Format, set.CodeAddress()+"/P/"+string(mark))
	o.Problem = parts.AsProblem(err)
	return o
}

func (s *Server) saveAddress(c *gin.Context) error {
	set, err := s.bench.Settings(c.Request.Context())
	if err != nil {
		return err
	}
	set.Address, set.Guessed = writtenAddress(c.PostForm("address")), false
	err = s.bench.SaveSettings(c.Request.Context(), set)
	if p := parts.AsProblem(err); p != nil {
		page, err := s.addressPage(c)
		if err != nil {
			return err
		}
		page.Own, page.Problem = c.PostForm("address"), p
		s.page(c, statuses[p.Sort], "address", "The address in the codes", page)
		return nil
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/settings/address?saved=1")
	return nil
}

// writtenAddress is an address as a person writes it.
func writtenAddress(text string) string { return strings.TrimRight(strings.TrimSpace(text), "/") }
