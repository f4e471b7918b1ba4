package server

import (
	"fmt"
	"net/http"
	"strconv"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
)

// printing asks for a print order.
type printing struct {
	ID    string   `json:"id"`
	Job   string   `json:"job"`
	What  string   `json:"what"`
	Sheet string   `json:"sheet"`
	First int      `json:"first"`
	Due   bool     `json:"due"`
	Again bool     `json:"again"`
	Marks []string `json:"marks"`
	By    string   `json:"by"`

	Line    int64  `json:"line"`
	Station string `json:"station"`
	Remade  bool   `json:"remade"`
}

// orderJSON is a print order.
type orderJSON struct {
	Order int64  `json:"order"`
	PDF   string `json:"pdf"`
}

func (s *Server) apiPrint(c *gin.Context) error {
	var b printing
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	if b.Job == "" {
		return fieldMissing("job", "Send the code of the job whose labels or tickets are printed.")
	}
	o, err := s.bench.Print(c.Request.Context(), bench.PrintRequest{ID: id, Job: b.Job, What: b.What, Marks: b.Marks,
		Due: b.Due, Sheet: b.Sheet, First: b.First, Again: b.Again, By: b.By,
		Line: b.Line, Station: parts.Station(b.Station), Remade: b.Remade})
	if err != nil {
		return err
	}
	pdf := fmt.Sprintf("/api/v1/print-orders/%d/sheet.pdf", o.ID)
	c.Header("Location", pdf)
	return answer(c, http.StatusCreated, orderJSON{Order: o.ID, PDF: pdf})
}

// sheetSpoiled says that a printed sheet was spoiled.
type sheetSpoiled struct {
	ID    string   `json:"id"`
	By    string   `json:"by"`
	Marks []string `json:"marks"` // only these labels of it
}

// spoiledJSON answers that an order's labels wait again.
type spoiledJSON struct {
	Outcome string `json:"outcome"`
	Command string `json:"command"`
	Order   int64  `json:"order"`
}

// apiSpoil lets the labels of a spoiled sheet wait to be printed again.
func (s *Server) apiSpoil(c *gin.Context) error {
	ctx := c.Request.Context()
	order, err := s.orderOf(c)
	if err != nil {
		return err
	}
	var b sheetSpoiled
	if err := decode(c.Request.Body, &b); err != nil {
		return err
	}
	id, err := commandID(b.ID)
	if err != nil {
		return err
	}
	if _, err := s.bench.Order(ctx, order); err != nil {
		return err // there is none to be spoiled
	}
	err = s.bench.Spoil(ctx, id, order, b.Marks, b.By)
	if p := parts.AsProblem(err); p != nil && p.Sort == parts.Already {
		return s.did(c)(bench.Answer{Outcome: string(p.Sort), Command: id.String(), Problem: p}, nil)
	}
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, spoiledJSON{Outcome: "recorded", Command: id.String(), Order: order})
}

// number reads a whole number of the address, 0 when it is not there.
func number(c *gin.Context, name string, least int) (int, error) {
	text, there := c.GetQuery(name)
	if !there {
		return 0, nil
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < least {
		return 0, parts.Problemf(parts.Invalid, "number-unreadable", "The %s %q is not a whole number from %d up.", name, text, least).
			Next("Write it in digits, or leave it out.").Fact("field", name)
	}
	return n, nil
}
