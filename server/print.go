package server

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"benchtally/labels"
	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/store"
)

// queuePage is the page of labels that wait and sheets that were printed.
type queuePage struct {
	Jobs   []queueJob
	Orders []orderRow
	Sheets []labels.Sheet
}

// queueJob is the labels of one job that wait to be printed.
type queueJob struct {
	Job    parts.Job
	Pieces []member
}

// orderRow is a print order with the name of its job.
type orderRow struct {
	store.Order
	Job parts.Job
}

func (s *Server) labelQueue(c *gin.Context) error {
	ctx := c.Request.Context()
	due, err := s.bench.LabelQueue(ctx)
	if err != nil {
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
	page := queuePage{Sheets: labels.Sheets()}
	for _, st := range due {
		p, err := s.bench.Look(ctx, string(st.Part))
		if err != nil {
			return err
		}
		if n := len(page.Jobs); n == 0 || page.Jobs[n-1].Job.ID != st.Job {
			page.Jobs = append(page.Jobs, queueJob{Job: names[st.Job]})
		}
		last := &page.Jobs[len(page.Jobs)-1]
		last.Pieces = append(last.Pieces, member{Mark: st.Part, Name: p.Name})
	}
	orders, err := s.bench.Orders(ctx, 20)
	if err != nil {
		return err
	}
	for _, o := range orders {
		page.Orders = append(page.Orders, orderRow{Order: o, Job: names[o.Job]})
	}
	s.page(c, http.StatusOK, "labels", "Labels", page)
	return nil
}

// printLabels makes a print order.
func (s *Server) printLabels(c *gin.Context) error {
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return err
	}
	r := bench.PrintRequest{ID: id, Job: c.PostForm("job"), What: c.PostForm("what"), Marks: c.PostFormArray("mark"),
		Due: c.PostForm("due") != "", Sheet: c.PostForm("sheet"), Again: c.PostForm("again") != "", By: cookie(c, "who")}
	if text := c.PostForm("first"); text != "" {
		if r.First, err = strconv.Atoi(text); err != nil || r.First < 1 {
			return parts.Problemf(parts.Invalid, "first-out", "The first free label %q is not a number from 1 up.", text).Next("Count the labels of the sheet from the top left.")
		}
	}
	o, err := s.bench.Print(c.Request.Context(), r)
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, fmt.Sprintf("/labels/%d", o.ID))
	return nil
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
	o, err := s.bench.Order(c.Request.Context(), id)
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
	if err := s.bench.Spoil(c.Request.Context(), id, order, cookie(c, "who")); err != nil {
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
