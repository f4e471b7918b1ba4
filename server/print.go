package server

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"unicode"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/store"
)

// queuePage is the page of labels that wait and sheets that were printed.
type queuePage struct {
	Jobs   []bench.DueJob
	Remade []bench.RemadeJob
	Orders []orderRow
	Sheets []bench.Paper
	Typed  string // marks that could not be printed
	First  string
	Sheet  string // chosen with them

	Problem *parts.Problem
}

// orderRow is a print order with the name of its job.
type orderRow struct {
	store.Order
	Job parts.Job
}

// One is what a single one of it is called.
func (o orderRow) One() string { return strings.TrimSuffix(o.What, "s") }

// Range names its first and its last mark.
func (o orderRow) Range() string {
	switch n := len(o.Marks); n {
	case 0:
		return ""
	case 1:
		return string(o.Marks[0])
	default:
		return string(o.Marks[0]) + " – " + string(o.Marks[n-1])
	}
}

func (s *Server) labelQueue(c *gin.Context) error {
	return s.showQueue(c, http.StatusOK, queuePage{})
}

// showQueue shows the page, with marks that could not be printed, if any.
func (s *Server) showQueue(c *gin.Context, status int, page queuePage) error {
	ctx := c.Request.Context()
	var err error
	if page.Jobs, err = s.bench.LabelQueue(ctx); err != nil {
		return err
	}
	if page.Remade, err = s.bench.RemadeLately(ctx); err != nil {
		return err
	}
	if page.Sheets, err = s.bench.Papers(ctx); err != nil {
		return err
	}
	jobs, err := s.bench.Jobs(ctx)
	if err != nil {
		return err
	}
	names := map[int64]parts.Job{}
	for _, j := range jobs {
		names[j.ID] = j
	}
	orders, err := s.bench.Orders(ctx, 20)
	if err != nil {
		return err
	}
	for _, o := range orders {
		page.Orders = append(page.Orders, orderRow{Order: o, Job: names[o.Job]})
	}
	s.page(c, status, "labels", "Labels", page)
	return nil
}

// printLabels makes a print order. Marks come from tick boxes, or from what a
// person typed, and then a slip shows the page again with what was typed.
func (s *Server) printLabels(c *gin.Context) error {
	r, err := printRequest(c)
	typed := c.PostForm("marks")
	var o store.Order
	if err == nil {
		o, err = s.bench.Print(c.Request.Context(), r)
	}
	if p := parts.AsProblem(err); p != nil && typed != "" {
		return s.showQueue(c, statuses[p.Sort], queuePage{Typed: typed, First: c.PostForm("first"), Sheet: r.Sheet, Problem: p})
	}
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, fmt.Sprintf("/labels/%d", o.ID))
	return nil
}

// printRequest reads the form of what is to be printed.
func printRequest(c *gin.Context) (bench.PrintRequest, error) {
	r := bench.PrintRequest{Job: c.PostForm("job"), What: c.PostForm("what"), Marks: c.PostFormArray("mark"),
		Due: c.PostForm("due") != "", Sheet: c.PostForm("sheet"), Again: c.PostForm("again") != "", By: visitor(c).Name,
		Station: parts.Station(c.PostForm("station")), Remade: c.PostForm("remade") != ""}
	var err error
	if r.ID, err = parts.ParseCommandID(c.PostForm("id")); err != nil {
		return r, err
	}
	if text := c.PostForm("first"); text != "" {
		if r.First, err = strconv.Atoi(text); err != nil || r.First < 1 {
			return r, parts.Problemf(parts.Invalid, "first-out", "The first free label %q is not a number from 1 up.", text).Next("Count the labels of the sheet from the top left.")
		}
	}
	if text := c.PostForm("line"); text != "" {
		if r.Line, err = strconv.ParseInt(text, 10, 64); err != nil {
			return r, noSuchPage()
		}
	}
	r.Marks = append(r.Marks, marksIn(c.PostForm("with"))...)
	// A form of ticks without one must not print all the job.
	if _, ticks := c.GetPostForm("ticked"); ticks && len(r.Marks) == 0 {
		return r, parts.Problemf(parts.Invalid, "print-none", "No label is ticked.").Next("Go back and tick the labels you want.")
	}
	if typed, there := c.GetPostForm("marks"); there {
		r.Marks = append(r.Marks, marksIn(typed)...)
		if len(r.Marks) == 0 {
			return r, parts.Problemf(parts.Invalid, "print-none", "No mark was typed.").Next("Type the marks, one after the other.")
		}
	}
	return r, nil
}

// marksIn divides what a person typed, or scanned one after the other, into
// its marks.
func marksIn(text string) []string {
	return strings.FieldsFunc(text, func(r rune) bool { return unicode.IsSpace(r) || r == ',' || r == ';' })
}

func (s *Server) orderOf(c *gin.Context) (int64, error) {
	id, err := strconv.ParseInt(c.Param("order"), 10, 64)
	if err != nil {
		return 0, noSuchPage()
	}
	return id, nil
}

func (s *Server) order(c *gin.Context) error {
	id, err := s.orderOf(c)
	if err != nil {
		return err
	}
	o, err := s.bench.Sheet(c.Request.Context(), id)
	if err != nil {
		return err
	}
	s.page(c, http.StatusOK, "order", "Sheet "+strconv.FormatInt(id, 10), o)
	return nil
}

func (s *Server) orderPDF(c *gin.Context) error {
	id, err := s.orderOf(c)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := s.bench.WriteOrder(c.Request.Context(), &out, id); err != nil {
		return err
	}
	sendPDF(c, fmt.Sprintf("sheet-%d.pdf", id), out.Bytes())
	return nil
}

func sendPDF(c *gin.Context, name string, data []byte) {
	c.Header("Content-Disposition", fmt.Sprintf("inline; filename=%q", name))
	c.Data(http.StatusOK, "application/pdf", data)
}

func (s *Server) spoiled(c *gin.Context) error {
	order, err := s.orderOf(c)
	if err != nil {
		return err
	}
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return err
	}
	marks := c.PostFormArray("mark")
	if _, ticks := c.GetPostForm("ticked"); ticks && len(marks) == 0 { // without one it would be all of them
		return parts.Problemf(parts.Invalid, "spoiled-none", "No label is ticked.").Next("Go back and tick the labels that were spoiled.")
	}
	if err := s.bench.Spoil(c.Request.Context(), id, order, marks, visitor(c).Name); err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/labels")
	return nil
}

func (s *Server) placards(c *gin.Context) error {
	var out bytes.Buffer
	if err := s.bench.WritePlacards(c.Request.Context(), &out, parts.Station(c.Query("station"))); err != nil {
		return err
	}
	sendPDF(c, "placards.pdf", out.Bytes())
	return nil
}
